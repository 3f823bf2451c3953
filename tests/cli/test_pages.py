"""Printed and shown pages: in a real browser, on paper, with hostile names."""

import csv
import re
import subprocess

import pytest
from _browser import WIDTHS, axe, look, printed
from _oracles import absent, catalogue, program

from ohmtrail.fixtures import write_demo

ATTACK = "<img src=x onerror=ran=1>"
CLOSING = '</svg></table></td><script>ran=1</script>"><b onclick="ran=1">'
QUOTES = "\" onmouseover=ran=1 x='"

#: Two boards of the corpus with schematic and layout.
BOARDS = ["bms-c1", "mppt-2420-hc"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    write_demo(folder)
    return folder


def views(demo):
    return [demo / "sk4.kicad_sch", "--with", demo / "sk4.kicad_pcb"]


def html_of(ohmtrail, tmp_path, *words):
    out = tmp_path / "page.html"
    ran = ohmtrail(*words, "--format", "html", "--out", out)
    assert ran.status == 0, ran.err
    return out.read_text(encoding="utf-8")


def pdf_of(ohmtrail, tmp_path, *words):
    out = tmp_path / "page.pdf"
    ran = ohmtrail(*words, "--format", "pdf", "--out", out)
    assert ran.status == 0, ran.err
    return out


def check_shown(found, widths=WIDTHS):
    assert [one["width"] for one in found] == list(widths)
    for one in found:
        # Nothing to scroll sideways; targets of 24 px (WCAG 2.2, 2.5.8).
        assert one["scrolls"] <= 0, one["width"]
        assert one["small"] == 0, one["width"]
        assert one["spilt"] == 0, one["width"]
        assert (one["ran"], one["images"], one["handlers"]) == (False, 0, 0)
        assert one["scripts"] == 0
        if one["violations"] is not None:
            assert one["violations"] == []


def test_the_demo_board_on_every_screen(ohmtrail, tmp_path, demo):
    page = html_of(ohmtrail, tmp_path, "checklist", *views(demo), "--rail", "VMAIN")
    found = look(page, tmp_path, rules=axe())
    check_shown(found)
    steps = int(re.search(r"<p>(\d+) steps</p>", page)[1])
    for one in found:
        assert one["violations"] == []
        # A box for every step; room for every reading; maps and stage drawings.
        assert one["boxes"] == steps
        assert 0 < one["rooms"] < steps
        assert one["drawings"] > 2
        assert "Adapter, battery and coin cell off" in one["text"]
        assert "R411.1 - R411.2" in one["text"]


def test_the_report_on_every_screen(ohmtrail, tmp_path, demo):
    log = demo / "bench_log.csv"
    page = html_of(ohmtrail, tmp_path, "report", *views(demo), "--log", log)
    found = look(page, tmp_path, rules=axe())
    check_shown(found)
    assert "Replace together: Q501 Q502" in found[0]["text"]


@pytest.mark.parametrize("name", BOARDS)
def test_boards_of_the_corpus_on_every_screen(ohmtrail, tmp_path, name):
    root = corpus_root(name)
    page = html_of(ohmtrail, tmp_path, "checklist", *with_layout(root))
    check_shown(look(page, tmp_path, rules=axe()))


def corpus_root(name):
    found = [design.root for design in catalogue() if design.name == name]
    return found[0] if found else absent(f"the corpus lacks {name}")


def with_layout(root):
    layout = root.with_suffix(".kicad_pcb")
    return [root, *(["--with", layout] if layout.exists() else [])]


@pytest.fixture
def hostile(tmp_path):
    """A board and its log in which every text tries to become part of the page."""
    board = tmp_path / "hostile.csv"
    rows = [("ref", "pin", "net", "name", "value", "kind", "part number")]
    for ref, kind in (("C1", "capacitor"), ("R1", "resistor"), ("U1", "chip")):
        rows.append((ref + CLOSING, 1, ATTACK, CLOSING, ATTACK, kind, QUOTES))
        rows.append((ref + CLOSING, 2, "GND", QUOTES, "", "", ""))
    with board.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    log = tmp_path / "log.csv"
    with log.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow("when,action,part,mode,plus,minus,value,note".split(","))
        net = f"net:{ATTACK}"
        writer.writerow(
            [QUOTES, "measure", "", "resistance", net, "GND", "0.3", ATTACK]
        )
        writer.writerow([ATTACK, "lift", "C1" + CLOSING, "", "", "", "", CLOSING])
    return board, log


def test_scripts_in_names_values_and_notes_are_text(ohmtrail, tmp_path, hostile):
    board, log = hostile
    volts = ("--nominal", f"{ATTACK}=5")
    for words in (
        ("checklist", board, *volts, "--rail", ATTACK),
        ("report", board, *volts, "--log", log),
    ):
        page = html_of(ohmtrail, tmp_path, *words)
        [one] = look(page, tmp_path, widths=(820,))
        check_shown([one], (820,))
        assert ATTACK in one["text"]
        assert "</svg>" in one["text"]


def test_hostile_names_are_text_in_a_pdf_too(ohmtrail, tmp_path, hostile):
    board, log = hostile
    pdf = pdf_of(ohmtrail, tmp_path, "report", board, "--log", log)
    data = pdf.read_bytes()
    assert b"/JavaScript" not in data
    assert b"/URI" not in data
    text = subprocess.run(
        [program("pdftotext"), "-layout", pdf, "-"], capture_output=True, check=True
    ).stdout.decode()
    assert "onerror=ran=1" in "".join(text.split())


def test_nothing_is_fetched_and_nothing_may_run(ohmtrail, tmp_path, demo):
    page = html_of(ohmtrail, tmp_path, "checklist", *views(demo), "--rail", "VMAIN")
    assert "default-src 'none'" in page
    bare = page.replace("http://www.w3.org/2000/svg", "")
    assert (
        re.findall(r"(?:src|href)=\"(?!#)|url\(|@import|https?://|<script", bare) == []
    )


@pytest.mark.parametrize(
    ("paper", "points"), [("a4", (595, 842)), ("letter", (612, 792))]
)
def test_paper(ohmtrail, tmp_path, demo, paper, points):
    """A4 is 595 x 842 points (ISO 216), Letter 612 x 792 (ANSI/ASME Y14.1)."""
    words = ("checklist", *views(demo), "--rail", "VMAIN", "--paper", paper)
    pdf = pdf_of(ohmtrail, tmp_path, *words)
    told = subprocess.run(
        [program("pdfinfo"), pdf], capture_output=True, check=True, text=True
    ).stdout
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", told)
    assert tuple(round(float(number)) for number in size.groups()) == points
    pages = subprocess.run(
        [program("pdftotext"), "-layout", pdf, "-"], capture_output=True, check=True
    ).stdout.decode()
    sheets = pages.removesuffix("\f").split("\f")
    for number, sheet in enumerate(sheets, 1):
        assert f"{number} of {len(sheets)}" in sheet
        lines = [line.strip() for line in sheet.splitlines() if line.strip()]
        # The foot is last; above it stands no heading of a table or a phase.
        last = lines[-2]
        assert not last.startswith(("step ", "expect ", "COLD", "LOOK", "LIMITED"))


def test_a_page_prints_from_the_browser(ohmtrail, tmp_path, demo):
    html_of(ohmtrail, tmp_path, "checklist", *views(demo), "--rail", "VMAIN")
    data = printed(tmp_path / "page.html", tmp_path / "printed.pdf")
    assert data.startswith(b"%PDF")


def test_letters_that_a_pdf_lacks_are_written_out(ohmtrail, tmp_path):
    board = tmp_path / "b.csv"
    board.write_text(
        "ref,pin,net,name,value,kind\nC1,1,电源 Ω,,1u,capacitor\nC1,2,GND,,,\n"
        "U1,1,电源 Ω,VCC,,chip\nU1,2,GND,,,\n",
        encoding="utf-8",
    )
    pdf = pdf_of(ohmtrail, tmp_path, "checklist", board, "--rail", "电源 Ω")
    text = subprocess.run(
        [program("pdftotext"), pdf, "-"], capture_output=True, check=True
    ).stdout.decode()
    assert r"\u7535\u6e90 ohm" in text
