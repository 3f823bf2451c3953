"""Layouts and marked copies read by kiutils, a reference library of KiCad's formats.

Layouts before KiCad 6, and those with dimensions, kiutils 1.4 does not read.
"""

import math
from collections import defaultdict

import pytest
from _oracles import corpus_files
from kiutils.board import Board

from ohmtrail.cli import main
from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load

BOARDS = (
    "boards/bms-c1/kicad/bms-c1.kicad_pcb",
    "boards/mjpower-ss/**/*.kicad_pcb",
    "demos/kicad-demos-6/ecc83/*.kicad_pcb",
)


def pads_by_kiutils(path):
    """(ref, pad number) -> its nets and places, in millimetres with y down."""
    nets, places = defaultdict(set), defaultdict(list)
    for one in Board.from_file(str(path)).footprints:
        # A text in the layouts of KiCad 6 and 7, a property from 8 on.
        texts = [t for t in one.graphicItems if getattr(t, "type", "") == "reference"]
        ref = texts[0].text if texts else one.properties["Reference"]
        turn = math.radians(one.position.angle or 0.0)
        for pad in one.pads:
            dx, dy = pad.position.X, pad.position.Y
            x = one.position.X + dx * math.cos(turn) + dy * math.sin(turn)
            y = one.position.Y - dx * math.sin(turn) + dy * math.cos(turn)
            nets[ref, pad.number].add(pad.net.name if pad.net else None)
            places[ref, pad.number].append((x, y))
    return nets, places


def compare(path):
    """Hold every pad against kiutils'; return how many there were."""
    nets, places = pads_by_kiutils(path)
    board = load(path)
    pins = {(pin.ref, pin.number): pin for part in board.parts for pin in part.pins}
    # A pad without a number is copper or a hole, and a nameless reference no part.
    theirs = {key for key in nets if key[1] and key[0] and "*" not in key[0]}
    assert {key for key in pins if "*" not in key[0]} == theirs
    for key in theirs:
        pin = pins[key]
        assert nets[key] - {None} == ({pin.net} if pin.net else set()), key
        near = min(math.dist((pin.x_mm, pin.y_mm), at) for at in places[key])
        assert near < 1e-3, key
    return len(theirs)


def test_demo_layout(tmp_path):
    files = write_demo(tmp_path)
    (layout,) = [path for path in files if path.suffix == ".kicad_pcb"]
    assert compare(layout) > 1000


@pytest.mark.parametrize("path", corpus_files(*BOARDS))
def test_real_layouts(path):
    assert compare(path) > 20


def test_marked_layout_is_a_layout_with_drawings_on_it(tmp_path):
    """What a mark adds is read as drawings; footprints and nets are what they were."""
    files = write_demo(tmp_path / "demo")
    (layout,) = [path for path in files if path.suffix == ".kicad_pcb"]
    marked = tmp_path / "marked"
    assert main(["mark", str(layout), "--rail", "VMAIN", "--out", str(marked)]) == 0
    before = Board.from_file(str(layout))
    after = Board.from_file(str(marked / layout.name))
    assert after.footprints == before.footprints
    assert after.nets == before.nets
    assert after.traceItems == before.traceItems
    assert len(after.graphicItems) > len(before.graphicItems)
    kept = [one for one in after.graphicItems if one in before.graphicItems]
    assert kept == before.graphicItems
