"""Every layout of the corpus, against what KiCad says about its pads and parts."""

import re

import pytest
from _oracles import (
    board_nodes,
    corpus_files,
    designs,
    name_differences,
    partition_differences,
    read_oracle,
    unknown_pins,
)

from ohmtrail.importers import load

LAYOUTS = corpus_files("**/*.kicad_pcb", "**/*.kicad_pcb.gz")


def _with_pads():
    def has_pads(param):
        design = param.values[0]
        return design is None or (
            design.pads is not None and design.pads.name == "pcb_nodes.tsv"
        )

    return [param for param in designs() if has_pads(param)]


def _layout(design):
    """The one layout beside the schematic's root."""
    (path,) = design.root.parent.glob("*.kicad_pcb*")
    return path


@pytest.mark.parametrize("design", _with_pads())
def test_nets_of_pads(design):
    """Oracle: pads of the board file, read by another program (corpus README)."""
    board = load(_layout(design))
    assert partition_differences(board, design.pads) == []
    assert name_differences(board, design.pads) == []
    ours, theirs = unknown_pins(board, design.pads)
    assert theirs == []
    # The oracle leaves out pads in no net, and footprints with a nameless reference.
    nodes = board_nodes(board)
    assert [key for key in ours if nodes[key] and "*" not in key[0]] == []


def _base(key, ours):
    """KiCad 9 makes names unique in IPC-2581: J2 beside a net J2 becomes J2_1."""
    ref, number = key
    shorter = re.sub(r"_\d+$", "", ref), re.sub(r"_\d+$", "", number)
    for a in (ref, shorter[0]):
        for b in (number, shorter[1]):
            if (a, b) in ours:
                return a, b
    return key


def _overbar(net):
    """KiCad 6 shows the ``~RESET`` of older files as ``~{RESET}``."""
    return re.sub(r"~\{([^}]*)\}", r"~\1", net or "")


@pytest.mark.parametrize("path", LAYOUTS)
def test_pads_are_where_kicad_has_them(path, kicad):
    """Oracle: KiCad 6's Python module; newer files: KiCad 9's IPC-2581 export."""
    board = load(path)
    if not board.parts:
        assert path.stat().st_size < 100  # an empty layout
        return
    ours = {(pin.ref, pin.number): pin for part in board.parts for pin in part.pins}
    there: dict = {}
    holes = set()
    for ref, number, net, x, y, sides in kicad(path, "pads"):
        # KiCad 9 numbers what has no number in IPC-2581: PAD0, PAD1 ...
        if re.fullmatch(r"(PAD\d+)?", number) and (ref, number) not in ours:
            holes.add((ref, round(x, 3), round(y, 3)))
            continue  # bare copper, or a hole whose number KiCad 6 drops
        key = _base((ref or "REF**", number), ours)
        there.setdefault(key, []).append((_overbar(net), x, y, sides))
    # Footprints with one reference that stand on several nets: told apart by us only.
    numbered = {key for key in ours if re.search(r"#\d+$", key[0])}
    unplated = {
        key
        for key, pin in ours.items()
        if (key[0], round(pin.x_mm, 3), round(pin.y_mm, 3)) in holes
    }
    assert ours.keys() - numbered - (unplated - there.keys()) == there.keys()
    for key, pads in there.items():
        pin = ours[key]
        here = [
            (net, set(sides))
            for net, x, y, sides in pads
            if abs(x - pin.x_mm) < 0.001 and abs(y - pin.y_mm) < 0.001
        ]
        assert here, f"{pin.key} at {pin.x_mm}, {pin.y_mm}; KiCad has {pads}"
        sides = {"top", "bottom"} if pin.side == "both" else {pin.side} - {""}
        assert (_overbar(pin.net), sides) in here, (pin, pads)


@pytest.mark.parametrize("path", LAYOUTS)
def test_parts_are_where_kicad_places_them(path, kicad):
    """Oracle: ``kicad-cli pcb export pos``, within 0.01 mm."""
    board = load(path)
    by_ref: dict = {}
    for ref, value, x, y, side in kicad(path, "positions"):
        by_ref.setdefault(ref, []).append((value, x, y, side))
    for ref, places in by_ref.items():
        if ref not in board.part_by_ref:
            assert not ref or "*" in ref, f"{ref} is missing"
            continue
        part = board.part_by_ref[ref]
        # A reference that several footprints have is one part, at the first of them.
        assert any(
            abs(x - part.x_mm) <= 0.01
            and abs(y - part.y_mm) <= 0.01
            and side == part.side
            and value == part.value
            for value, x, y, side in places
        ), (part, places)


def test_malformed_teardrops_are_read_with_a_warning():
    """A demo project of KiCad 9 has ``(curved_edges no)filter_ratio 0.9)``."""
    (param,) = corpus_files("demos/kicad-demos-9/*/RoyalBlue54L-Feather.kicad_pcb.gz")
    path = param.values[0]
    if path is None:
        pytest.skip("no corpus")
    board = load(path)
    first = board.unused[0]
    assert first.what == "missing '(' behind a ')', read as if it were there"
    assert first.where == "RoyalBlue54L-Feather.kicad_pcb.gz:602"
    assert first.count == 349
    oracle = read_oracle(
        path.parents[3] / "nets/demos/18_RoyalBlue54L-Feather.tsv",
    )
    ours, theirs = unknown_pins(board, oracle)
    assert (ours, theirs) == ([], [])
