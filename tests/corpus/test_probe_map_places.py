"""Points of the probe map are where the layout files of real boards say.

The files are read again here, by other means than the importers: a small walk over
the brackets of KiCad's files, Python's own XML reader for EAGLE's, and for IPC-D-356
the layouts that KiCad wrote them from.
"""

import gzip
import math
import re
import statistics
import xml.etree.ElementTree as ElementTree
from collections import defaultdict

import pytest
from _oracles import NO_CORPUS, absent, corpus_files

from ohmtrail.cli.render.drawing import Circle, Polyline
from ohmtrail.cli.render.map_drawing import map_drawings
from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.probe_map.walk import make_probe_map
from ohmtrail.netanalysis.recognise import recognise

#: What the project allows, in millimetres.
NEAR = 0.1
TOKEN = re.compile(r'"((?:[^"\\]|\\.)*)"|([()])|([^\s()"]+)')


def text_of(path):
    data = path.read_bytes()
    return (gzip.decompress(data) if path.suffix == ".gz" else data).decode("utf-8")


def tree(text):
    """Brackets to lists; no more than this test needs."""
    stack = [[]]
    # Some releases of KiCad left this bracket out.
    text = text.replace(")filter_ratio", ")(filter_ratio")
    for string, bracket, word in TOKEN.findall(text):
        if bracket == "(":
            stack.append([])
        elif bracket == ")":
            done = stack.pop()
            stack[-1].append(done)
        else:
            stack[-1].append(word or string)
    return stack[0][0]


def lists(node, word):
    return [one for one in node if isinstance(one, list) and one[:1] == [word]]


def kicad_pads(text):
    """(ref, number) -> places of its pads, millimetres."""
    found = defaultdict(list)
    board = tree(text)
    for part in lists(board, "footprint") + lists(board, "module"):
        x, y, *angle = [float(v) for v in lists(part, "at")[0][1:] if v != "unlocked"]
        turn = math.radians(angle[0]) if angle else 0.0
        ref = [t[2] for t in lists(part, "property") if t[1] == "Reference"]
        ref += [t[2] for t in lists(part, "fp_text") if t[1] == "reference"]
        for pad in lists(part, "pad"):
            dx, dy = (float(v) for v in lists(pad, "at")[0][1:3])
            px = x + dx * math.cos(turn) + dy * math.sin(turn)
            py = y - dx * math.sin(turn) + dy * math.cos(turn)
            for name in ref:
                found[name, pad[1]].append((px, py))
    return found


def eagle_pads(path):
    """The same of an EAGLE board; y points up in the file, down here."""
    board = ElementTree.parse(path).getroot().find("drawing/board")
    packages = {}
    for library in board.iterfind("libraries/library"):
        for package in library.iterfind("packages/package"):
            key = library.get("name"), library.get("urn"), package.get("name")
            packages[key] = package
    found = defaultdict(list)
    for one in board.iterfind("elements/element"):
        key = one.get("library"), one.get("library_urn"), one.get("package")
        match = re.fullmatch(r"S?(M?)R([\d.]+)", one.get("rot", "R0"))
        turn = math.radians(float(match[2]))
        for pad in packages[key]:
            if pad.tag not in ("pad", "smd"):
                continue
            x, y = float(pad.get("x")), float(pad.get("y"))
            dx = x * math.cos(turn) - y * math.sin(turn)
            dy = x * math.sin(turn) + y * math.cos(turn)
            px = float(one.get("x")) + (-dx if match[1] else dx)
            found[one.get("name"), pad.get("name")].append(
                (px, -(float(one.get("y")) + dy))
            )
    return found


def check(path, found):
    """Hold every pad of the map against the file's; return how many there were."""
    circuit = recognise(load(path))
    sections = make_checklist(circuit).sections
    way = make_probe_map(circuit.board, (s for one in sections for s in one.steps))
    checked = 0
    for leg in way.legs:
        for stop in leg.stops:
            for one in stop.steps:
                places = [one.black] if one.black is not None else []
                places += [stop.place] if one.step.mode is not None else []
                for place in places:
                    ref, _, number = place.name.rpartition(".")
                    ref = re.sub(r"#\d+$", "", ref)
                    at = place.x_mm, place.y_mm
                    away = min(math.dist(at, pad) for pad in found[ref, number])
                    assert away <= NEAR, place
                    checked += 1
    return checked, circuit, sections


LAYOUTS = ("boards/**/*.kicad_pcb", "boards/**/*.kicad_pcb.gz")
DEMOS = ("demos/**/*.kicad_pcb", "demos/**/*.kicad_pcb.gz")


@pytest.mark.parametrize("path", corpus_files(*LAYOUTS, *DEMOS))
def test_kicad_layouts(path):
    check(path, kicad_pads(text_of(path)))


def test_enough_points_are_compared():
    """The comparison above is not an empty one."""
    files = corpus_files("boards/bms-c1/kicad/bms-c1.kicad_pcb")
    (path,) = files[0].values
    if path is None:
        absent(NO_CORPUS)
    checked, _, _ = check(path, kicad_pads(text_of(path)))
    assert checked > 100


@pytest.mark.parametrize("path", corpus_files("boards/**/*.brd"))
def test_eagle_boards(path):
    checked, _, _ = check(path, eagle_pads(path))
    assert checked


@pytest.mark.parametrize("name", ["StickHub", "carte_test", "pic_programmer"])
def test_ipc_d356(name):
    """KiCad wrote the file from a layout; its origin is moved, so one pad is held."""
    (found,) = corpus_files(f"formats/ipc356/kicad6/{name}.d356")
    (layout,) = corpus_files(f"demos/kicad-demos-6/**/{name}.kicad_pcb.gz")
    for one in (found, layout):
        if one.values[0] is None:
            absent(NO_CORPUS)
    pads = kicad_pads(text_of(layout.values[0]))
    board = load(found.values[0])
    pins = [
        pin
        for part in board.parts
        for pin in part.pins
        if len(pads.get((pin.ref, pin.number), ())) == 1
    ]
    (dx, dy) = (
        statistics.median(
            (pin.x_mm, pin.y_mm)[axis] - pads[pin.ref, pin.number][0][axis]
            for pin in pins
        )
        for axis in (0, 1)
    )
    moved = {key: [(x + dx, y + dy) for x, y in at] for key, at in pads.items()}
    checked, _, _ = check(found.values[0], moved)
    assert checked


def edges(text):
    """Left, top, right, bottom of the straight edges and the ends of arcs."""
    xs, ys = [], []
    for one in tree(text):
        if one[0] in ("gr_line", "gr_arc") and lists(one, "layer")[0][1] == "Edge.Cuts":
            for word in ("start", "end", "mid"):
                for _, x, y in lists(one, word):
                    xs.append(float(x))
                    ys.append(float(y))
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("mirrored", [False, True], ids=["top", "bottom"])
def test_marks_on_paper(tmp_path, mirrored):
    """Discs and rings of the demo board's map, measured with the paper's outline.

    The bottom is drawn as seen when the board is turned over: left to right.
    """
    write_demo(tmp_path)
    path = tmp_path / "sk4.kicad_pcb"
    text = text_of(path)
    _, circuit, sections = check(path, kicad_pads(text))
    steps = [step for one in sections for step in one.steps]
    if mirrored:
        below = [part.ref for part in circuit.board.parts if part.side == "bottom"]
        made = (make_checklist(circuit, part=ref).sections for ref in below[:12])
        steps = [s for several in made for one in several for s in one.steps]
    drawings = map_drawings(circuit, steps)
    side = "bottom" if mirrored else "top"
    (page,) = (one for one in drawings if f"{side} side" in one.title[:40])
    left, top, right, bottom = edges(text)
    outline = [
        point
        for item in page.items
        if isinstance(item, Polyline) and item.stroke_mm > 0.3
        for point in item.points_mm
    ]
    paper_left, paper_top = (min(p[axis] for p in outline) for axis in (0, 1))
    paper_right, paper_bottom = (max(p[axis] for p in outline) for axis in (0, 1))
    scale = (paper_right - paper_left) / (right - left)
    assert scale == pytest.approx((paper_bottom - paper_top) / (bottom - top))
    places = [pad for at in kicad_pads(text).values() for pad in at]
    marks = [
        item
        for item in page.items
        if isinstance(item, Circle) and paper_top < item.y_mm < paper_bottom
    ]
    assert len(marks) > 5
    for mark in marks:
        across = (mark.x_mm - paper_left) / scale
        x = right - across if mirrored else left + across
        y = top + (mark.y_mm - paper_top) / scale
        assert min(math.dist((x, y), pad) for pad in places) <= NEAR


def test_ipc_2581_has_the_outline_of_its_layout():
    (exported,) = corpus_files("formats/ipc2581/mjpower_ss.ipc2581.xml")
    (layout,) = corpus_files("boards/mjpower-ss/**/mjpower_ss.kicad_pcb")
    for one in (exported, layout):
        if one.values[0] is None:
            absent(NO_CORPUS)
    points = [p for line in load(exported.values[0]).outline_mm for p in line]
    found = (
        min(x for x, _ in points),
        min(y for _, y in points),
        max(x for x, _ in points),
        max(y for _, y in points),
    )
    assert found == pytest.approx(edges(text_of(layout.values[0])), abs=NEAR)
