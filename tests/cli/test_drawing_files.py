"""Drawings as SVG and PDF: sizes, text that stays text, letters a font lacks."""

import re
import xml.etree.ElementTree as ElementTree
import zlib

import pytest

from ohmtrail.cli.render.drawing import Circle, Drawing, Line, Polyline, Rect, Text
from ohmtrail.cli.render.drawing_pdf import latin, pdf_bytes, put, sheet_bytes
from ohmtrail.cli.render.drawing_svg import svg_text
from ohmtrail.cli.render.text_width import cut, text_width, wrapped

SVG = "{http://www.w3.org/2000/svg}"
ITEMS = (
    Line(1, 1, 20, 20, dashed=True),
    Polyline(((1, 1), (10, 5), (5, 10)), closed=True, fill="grey"),
    Polyline(((1, 1), (10, 5), (5, 10))),
    Rect(20, 20, 10, 10, fill="black"),
    Rect(20, 20, 10, 10, stroke_mm=0),
    Circle(40, 10, 3, stroke_mm=0, fill="white"),
    Text(30, 35, "4.7 kΩ", 4, "middle", bold=True),
)


def streams(data):
    """Page contents of a PDF, unpacked (PDF 32000-1, 7.3.8)."""
    found = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL)
    texts = []
    for one in found:
        try:
            texts.append(zlib.decompress(one))
        except zlib.error:
            texts.append(one)
    return b"\n".join(texts)


def test_svg_is_in_millimetres_and_closed_in_itself():
    text = svg_text(Drawing(60, 40, ITEMS, "A board"))
    root = ElementTree.fromstring(text)
    assert (root.get("width"), root.get("height")) == ("60mm", "40mm")
    assert root.get("viewBox") == "0 0 60 40"
    assert root.get("role") == "img"
    assert root.get("aria-label") == root.find(SVG + "title").text == "A board"
    for word in ("script", "href", "url(", "<style", "foreignObject", "@import"):
        assert word not in text


@pytest.mark.parametrize(
    "name",
    ["<script>alert(1)</script>", "</text></svg><b>", "\"'&amp;&", "]]>", "a\x00b\x1b"],
)
def test_names_are_text_in_svg(name):
    drawing = Drawing(9, 9, (Text(1, 1, name),), name)
    root = ElementTree.fromstring(svg_text(drawing))
    shown = name.replace("\x00", "\\x00").replace("\x1b", "\\x1b")
    assert [one.tag.removeprefix(SVG) for one in root] == ["title", "rect", "text"]
    assert root.find(SVG + "text").text == shown
    assert root.find(SVG + "title").text == shown


def test_black_white_and_grey_only():
    text = svg_text(Drawing(60, 40, ITEMS, ""))
    assert set(re.findall(r"#[0-9a-f]+", text)) <= {"#000", "#fff", "#ddd"}


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        # The built-in fonts of PDF have the letters of Latin-1 alone.
        ("4.7 kΩ", "4.7 kohm"),
        ("1 → 2", "1 -> 2"),
        ("10 µF", "10 µF"),
        ("电源", "\\u7535\\u6e90"),
        ("\U0001f600", "\\U0001f600"),
        ("a\x1bb", "a\\x1bb"),
    ],
)
def test_letters_that_a_pdf_font_lacks_are_written_out(text, shown):
    assert latin(text) == shown
    data = pdf_bytes(Drawing(50, 20, (Text(1, 10, text),), text))
    escaped = shown.replace("\\", "\\\\").encode("latin-1")
    assert escaped in streams(data)


def test_brackets_stay_text_in_pdf():
    data = pdf_bytes(Drawing(50, 20, (Text(1, 10, "x) Tj ET (y"),), ""))
    assert b"x\\) Tj ET \\(y" in streams(data)


def test_one_page_a_drawing_of_its_size():
    data = pdf_bytes([Drawing(60, 40, ITEMS, "a"), Drawing(180, 245, (), "b")])
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    sizes = [(float(w) / 72 * 25.4, float(h) / 72 * 25.4) for w, h in boxes]
    # The first is the default of the page tree.
    assert sizes[1:] == [
        pytest.approx((60, 40), abs=0.1),
        pytest.approx((180, 245), abs=0.1),
    ]


def test_sheets_are_a4():
    # ISO 216: 210 by 297 mm.
    data = sheet_bytes([Drawing(400, 100, ITEMS, "wide"), Drawing(10, 900, (), "tall")])
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert boxes
    for width, height in boxes:
        assert float(width) / 72 * 25.4 == pytest.approx(210, abs=0.1)
        assert float(height) / 72 * 25.4 == pytest.approx(297, abs=0.1)


def test_a_drawing_within_a_page_keeps_its_proportions():
    from fpdf import FPDF

    pdf = FPDF(unit="mm", format="A4")
    pdf.set_compression(False)
    pdf.add_page()
    put(pdf, Drawing(100, 50, (Rect(0, 0, 100, 50),), ""), 20, 30, 50)
    numbers = re.search(
        rb"([\d.]+) ([\d.]+) ([\d.]+) (-?[\d.]+) re S", bytes(pdf.output())
    )
    x, y, width, height = (float(one) * 25.4 / 72 for one in numbers.groups())
    assert (x, width, abs(height)) == pytest.approx((20, 50, 25), abs=0.01)
    assert y == pytest.approx(297 - 30, abs=0.1)


def test_text_fits_where_it_is_cut():
    # Adobe's metrics of Helvetica: a digit is 0.556 of the size.
    assert text_width("0123456789", 10) == pytest.approx(55.6)
    for width in (3, 10, 30):
        assert text_width(cut("a long name of a net", 2, width), 2) <= max(width, 2.0)
        for line in wrapped("a long-winded " + "W" * 40, 2, width):
            assert text_width(line, 2) <= width
