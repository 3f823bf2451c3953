"""``map`` and ``draw``: files that open, names as text, one line where it fails."""

import csv
import json
import re
import xml.etree.ElementTree as ElementTree

import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.netanalysis.circuit import STAGE_KINDS

SVG = "{http://www.w3.org/2000/svg}"
#: Elements that a drawing is made of; nothing here runs or loads anything.
HARMLESS = {"svg", "title", "rect", "line", "polyline", "polygon", "circle", "text"}
HOSTILE = [
    "<img src=x onerror=alert(1)>",
    "</svg><script>alert(1)</script>",
    '"onload="alert(1)',
    "]]>&amp;<!--",
    "\x1b]0;x\x07\u202e电Ω",
]


@pytest.fixture
def demo(tmp_path):
    write_demo(tmp_path / "demo")
    return tmp_path / "demo"


def read_svg(path):
    """Parse a drawing; return its texts, having looked at every element."""
    root = ElementTree.parse(path).getroot()
    texts = []
    for one in root.iter():
        assert one.tag.removeprefix(SVG) in HARMLESS
        # No handlers, no links.
        for name in one.attrib:
            assert not name.startswith("on")
            assert "href" not in name
        texts.append(one.text or "")
    assert root.get("role") == "img"
    assert root.find(SVG + "title").text == root.get("aria-label")
    return texts


def pages(path):
    """Number of pages of a PDF, from its page tree (PDF 32000-1, 7.7.3)."""
    data = path.read_bytes()
    assert data.startswith(b"%PDF-")
    assert data.rstrip().endswith(b"%%EOF")
    return int(re.search(rb"/Count (\d+)", data)[1])


def both(demo):
    return demo / "sk4.kicad_sch", "--with", demo / "sk4.kicad_pcb"


def test_map_of_a_rail_as_svg(ohmtrail, demo, tmp_path):
    out = tmp_path / "map.svg"
    ran = ohmtrail("map", *both(demo), "--rail", "VMAIN", "--out", out)
    assert ran.status == 0
    files = ran.out.splitlines()
    assert files[:2] == [str(out), str(tmp_path / "map-2.svg")]
    assert "sk4: top side" in read_svg(out)
    # Every step of the checklist has its line in the table of the way.
    table = [text for path in files[1:] for text in read_svg(path)]
    listed = {int(text) for text in table if text.isdigit()}
    steps = ohmtrail("checklist", *both(demo), "--rail", "VMAIN", "--format", "json")
    (section,) = json.loads(steps.out)["sections"]
    assert {step["n"] for step in section["steps"]} <= listed


def test_a_part_on_the_bottom(ohmtrail, demo, tmp_path):
    out = tmp_path / "map.svg"
    layout = (demo / "sk4.kicad_pcb").read_text(encoding="utf-8")
    (ref,) = re.findall(r'"Reference" "(C704)"', layout)  # in the bank under the chip
    ran = ohmtrail("map", *both(demo), "--part", ref, "--out", out)
    assert ran.status == 0
    texts = read_svg(out)
    assert "sk4: bottom side, as seen when the board is turned over" in texts
    assert ref in texts


def test_map_as_pdf_has_the_same_pages(ohmtrail, demo, tmp_path):
    svg = ohmtrail("map", *both(demo), "--rail", "+5V", "--out", tmp_path / "a.svg")
    pdf = ohmtrail("map", *both(demo), "--rail", "+5V", "--out", tmp_path / "a.pdf")
    assert pdf.out == f"{tmp_path / 'a.pdf'}\n"
    assert pages(tmp_path / "a.pdf") == len(svg.out.splitlines())


def test_a_map_needs_positions(ohmtrail, demo, tmp_path):
    path = demo / "sk4.kicad_sch"
    ran = ohmtrail("map", path, "--out", tmp_path / "map.pdf")
    assert (ran.status, ran.out) == (1, "")
    assert ran.err == (
        f"ohmtrail: {path}: found no position of any point of the checklist, expected "
        "a layout; give one with --with FILE\n"
    )
    assert not (tmp_path / "map.pdf").exists()


@pytest.mark.parametrize("command", ["map", "draw"])
def test_only_svg_and_pdf(ohmtrail, demo, command):
    ran = ohmtrail(command, demo / "sk4.kicad_sch", "--out", "map.png")
    assert (ran.status, ran.out) == (2, "")
    assert "--out: found 'map.png', expected FILE.svg or FILE.pdf" in ran.err


def test_a_file_that_cannot_be_written(ohmtrail, tmp_path):
    out = tmp_path / "none" / "x.svg"
    ran = ohmtrail("draw", "@one_buck", "--out", out)
    assert ran.status == 1
    assert ran.err == f"ohmtrail: {out}: no such file or directory (--out)\n"


def test_a_stage_with_its_refs_pins_and_blanks(ohmtrail, demo, tmp_path):
    out = tmp_path / "a.svg"
    stage = "synchronous buck at /Core/Phase A/SW"
    ran = ohmtrail("draw", demo / "sk4.kicad_sch", "--stage", stage, "--out", out)
    assert (ran.status, ran.err) == (0, "")
    texts = read_svg(out)
    # What the demo board's phase has, from its schematic.
    for word in ("Q401", "Q402", "Q403", "Q404", "U401", "L401", "SW", "HG 5", "LG 6"):
        assert word in texts
    assert "R411 2R2" in texts
    assert "1,2,3" in texts  # sources of a power package
    # Marked 2R2 with the meter's error: the range of the checklist.
    steps = ohmtrail(
        "checklist", demo / "sk4.kicad_sch", "--stage", stage, "--format", "json"
    )
    step = next(
        s
        for s in json.loads(steps.out)["sections"][0]["steps"]
        if s["plus"] == "R411.1"
    )
    low, high = step["expect"]["low"], step["expect"]["high"]
    assert f"{low:.3g} to {high:.3g} Ω" in texts


def test_readings_of_the_log_stand_where_they_were_taken(ohmtrail, demo, tmp_path):
    out = tmp_path / "b.svg"
    stage = "synchronous buck at /Core/Phase B/SW"
    ran = ohmtrail(
        "draw", demo / "sk4.kicad_sch", "--stage", stage, "--out", out,
        "--log", demo / "bench_log.csv",
    )  # fmt: skip
    assert ran.status == 0
    texts = read_svg(out)
    # Rows of the demo's log: Q501 gate to source, drain to source.
    assert "11.8" in texts
    assert "0.2" in texts
    # Phase A's reading is no reading of phase B.
    assert "4k98" not in texts


@pytest.mark.parametrize("kind", STAGE_KINDS)
def test_every_kind_of_stage_is_drawn(ohmtrail, tmp_path, kind):
    table = tmp_path / "stage.csv"
    table.write_text(ohmtrail("table", "--stage", kind).out, encoding="utf-8")
    out = tmp_path / "stage.svg"
    ran = ohmtrail("draw", table, "--out", out)
    assert ran.status == 0
    texts = read_svg(out)
    stages = json.loads(ohmtrail("stages", table, "--json").out)["stages"]
    stage = next(one for one in stages if one["kind"] == kind)
    assert stage["id"] in texts
    words = " ".join(texts)
    parts = ("high_side", "low_side", "inductors", "bootstrap", "current_sense")
    for ref in (ref for name in parts for ref in stage[name]):
        assert re.search(rf"\b{ref}\b", words), ref
    for ref in (*stage["input_caps"], *stage["output_caps"]):
        assert re.search(rf"\b{ref}\b", words), ref


def test_no_stage_nothing_drawn(ohmtrail, tmp_path):
    path = tmp_path / "r.csv"
    path.write_text("ref,pin,net\nR1,1,A\nR1,2,B\n", encoding="utf-8")
    ran = ohmtrail("draw", path, "--out", tmp_path / "r.svg")
    assert (ran.status, ran.out) == (1, "")
    assert "no stage recognised, nothing to draw" in ran.err


def hostile_board(folder):
    """A buck whose names try to become part of the page."""
    path = folder / "hostile.csv"
    source = folder / "buck.csv"
    with source.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    start = next(n for n, row in enumerate(rows) if row[:1] == ["ref"])
    head = {name: place for place, name in enumerate(rows[start])}
    nets = {"VIN": HOSTILE[0], "VOUT": HOSTILE[1], "SW": HOSTILE[2]}
    for row in rows[start + 1 :]:
        net, ref, value = head["net"], head["ref"], head["value"]
        row[net] = nets.get(row[net], row[net])
        if row[ref] == "Q1":
            row[value] = HOSTILE[3]
        if row[ref] == "L1":
            row[ref] = f"L1{HOSTILE[4]}"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    return path


@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_hostile_names_are_text(ohmtrail, tmp_path, suffix):
    made = ohmtrail("table", "--stage", "synchronous buck").out
    (tmp_path / "buck.csv").write_text(made, encoding="utf-8")
    out = tmp_path / f"x.{suffix}"
    ran = ohmtrail("draw", hostile_board(tmp_path), "--out", out)
    assert ran.status == 0
    if suffix == "pdf":
        assert pages(out) == 1
        return
    words = " ".join(read_svg(out))
    assert "alert(1)" in words
    assert "\\x1b]0;x\\x07\\u202e" in words


LAYOUT = """\
(kicad_pcb (version 20211014)
 (net 1 "{net}") (net 2 "GND")
 (gr_rect (start 0 0) (end 20 10) (layer "Edge.Cuts"))
 (footprint "x:y" (layer "F.Cu") (at 5 5)
  (property "Reference" "{ref}") (property "Value" "1u")
  (pad "1" smd rect (at -1 0) (size 1 1) (layers "F.Cu") (net 1 "{net}"))
  (pad "2" smd rect (at 1 0) (size 1 1) (layers "F.Cu") (net 2 "GND"))))
"""


@pytest.mark.parametrize("number", range(len(HOSTILE)))
def test_hostile_names_on_the_map(ohmtrail, tmp_path, number):
    name = HOSTILE[number]
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    path = tmp_path / "x.kicad_pcb"
    path.write_text(LAYOUT.format(net=quoted, ref=f"C{quoted}"), encoding="utf-8")
    out = tmp_path / "x.svg"
    ran = ohmtrail("map", path, "--rail", f"net:{name}", "--out", out)
    if ran.status == 1 and "no net" in ran.err:
        ran = ohmtrail("map", path, "--rail", name, "--out", out)
    assert ran.status == 0, ran.err
    for file in ran.out.splitlines():
        read_svg(file)
    assert (
        ohmtrail("map", path, "--rail", name, "--out", tmp_path / "x.pdf").status == 0
    )


def test_a_part_beside_the_outline_is_on_the_map(ohmtrail, tmp_path):
    # KiCad leaves parts that were never placed beside the board.
    path = tmp_path / "x.kicad_pcb"
    text = LAYOUT.format(net="VIN", ref="C1").replace("(at 5 5)", "(at 500 -40)")
    path.write_text(text, encoding="utf-8")
    out = tmp_path / "x.svg"
    assert ohmtrail("map", path, "--rail", "VIN", "--out", out).status == 0
    root = ElementTree.parse(out).getroot()
    width, height = (float(v) for v in root.get("viewBox").split()[2:])
    discs = [one for one in root.iter(SVG + "circle") if one.get("r") == "0.9"]
    assert len(discs) >= 2  # the point and the one in the legend
    for one in discs:
        assert 0 < float(one.get("cx")) < width
        assert 0 < float(one.get("cy")) < height


def test_labels_do_not_cover_one_another(ohmtrail, demo, tmp_path):
    out = tmp_path / "map.svg"
    ran = ohmtrail("map", *both(demo), "--rail", "VMAIN", "--out", out)
    for file in ran.out.splitlines():
        root = ElementTree.parse(file).getroot()
        if "side" not in root.find(SVG + "title").text[:50]:
            continue
        boxes = []
        for one in root.iter(SVG + "text"):
            size = float(one.get("font-size"))
            half = 0.25 * size * len(one.text)  # narrower than any type is set
            shift = {"middle": 0, "end": -half, None: half}[one.get("text-anchor")]
            x, y = float(one.get("x")) + shift, float(one.get("y"))
            boxes.append((x - half, y - 0.6 * size, x + half, y, one.text))
        for number, a in enumerate(boxes):
            for b in boxes[number + 1 :]:
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, (a, b)
