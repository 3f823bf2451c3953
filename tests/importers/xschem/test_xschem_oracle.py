"""Examples and random schematics, pin by pin against xschem's own netlister."""

import re
from pathlib import Path

import pytest
from _oracles import absent, absent_params, corpus_file, partition_differences
from _xschem import compare, flat_devices
from _xschem_pages import design

from ohmtrail.importers import ImporterError, load

LIBRARY = Path("/usr/share/xschem/xschem_library")
#: xschem 2.8.1 itself dies of these two (signal 11), so there is no netlist.
CRASHES = ("mos_power_ampli", "0_top")
#: Nothing but symbols that the package does not have.
WITHOUT_SYMBOLS = ("diode",)
#: Schematics written for a simulator: no part in them, only code or labels.
WITHOUT_PARTS = frozenset(
    "verilog_delay LM5134A lm317 lm324 lm337 pump real_capa switch_rreal".split()
)
#: Parts that no SPICE netlist lists: gates with a Verilog format only, and the
#: board example's connectors, which xschem takes for labels unless it writes tEDAx.
NO_SPICE = frozenset(("xnor", "connector", "74ls00"))


def _examples(without=()):
    found = sorted(LIBRARY.glob("*/*.sch"))
    if not found:
        return absent_params("no library of the package xschem")
    return [
        pytest.param(p, id=f"{p.parent.name}-{p.stem}")
        for p in found
        if p.stem not in without
    ]


@pytest.mark.parametrize("path", _examples((*CRASHES, *WITHOUT_SYMBOLS)))
def test_every_node_is_that_of_the_netlist(path, tmp_path):
    """Oracle: xschem's SPICE netlist, its subcircuits flattened here."""
    board, ours, theirs, no_line, rest = compare(path, tmp_path)
    assert (not board.parts) == (path.stem in WITHOUT_PARTS)
    if ours:
        assert partition_differences(ours, theirs) == []
    assert set(no_line.values()) <= NO_SPICE
    # A coupling of two inductors has no pins.
    assert {
        name for name in rest if not name.rpartition("/")[2].startswith("K")
    } == set()
    listed = {pin for pin in ours if board.part_by_ref[pin[0]].pin(pin[1])}
    assert len(listed) == sum(len(p.pins) for p in board.parts if p.ref not in no_line)


@pytest.mark.parametrize("path", _examples(WITHOUT_SYMBOLS))
def test_no_part_of_an_example_is_lost(path):
    board = load(path)
    assert len({part.ref for part in board.parts}) == len(board.parts)
    assert (not board.parts) == (path.stem in WITHOUT_PARTS)


@pytest.mark.parametrize("name", WITHOUT_SYMBOLS)
def test_an_example_without_its_symbols_is_one_error_line(name):
    path = LIBRARY / "examples" / f"{name}.sch"
    if not path.is_file():
        absent("no library of the package xschem")
    with pytest.raises(ImporterError) as failed:
        load(path)
    told = re.search(
        r":(\d+): found no file of any part's symbol \('(.+?)' is the first\)",
        str(failed.value),
    )
    assert told is not None
    line = path.read_text(encoding="utf-8").split("\n")[int(told[1]) - 1]
    assert line.startswith(f"C {{{told[2]}")


@pytest.mark.parametrize("seed", range(15))
def test_random_buses_vectors_and_blocks(seed, tmp_path):
    """Oracle: xschem on vectors and blocks joined by buses, turned every way."""
    if not LIBRARY.is_dir():
        absent("no library of the package xschem")
    path = design(tmp_path, seed)
    _, ours, theirs, no_line, rest = compare(path, tmp_path)
    assert (no_line, rest) == ({}, set())
    assert partition_differences(ours, theirs) == []


def test_netlist_of_the_corpus():
    """Oracle: the corpus' netlist of xschem's example "buck"."""
    path = LIBRARY / "examples" / "buck.sch"
    if not path.is_file():
        absent("no library of the package xschem")
    text = corpus_file("formats/spice/buck.spice").read_text()
    board = load(path)
    for (_, name), rows in flat_devices(text, "buck").items():
        if name[0] in "RCL" and name in board.part_by_ref:
            nets = [pin.net for pin in board.part_by_ref[name].pins]
            for net, node in zip(nets, rows[0], strict=False):
                assert net is None or net.startswith("Net-") or f"/{net}" == node


def test_slots_of_the_board_example():
    """The drawing of xschem's example for boards, read by eye: 3 of 4 gates."""
    path = LIBRARY / "pcb" / "pcb_test1.sch"
    if not path.is_file():
        absent("no library of the package xschem")
    nets = {net.name: {pin.key for pin in net.pins} for net in load(path).nets}
    assert nets["A"] == {"U1.1", "U1.11"}
    assert nets["B"] == {"U1.2", "U1.6"}
    assert nets["VCC5"] == {"U0.3", "C4.1", "U1.14"}
    assert nets["GND"] == {"U1.7", "CONN15.1"}
    assert nets["OUTPUT_Y"] == {"U1.3", "CONN3.1"}
