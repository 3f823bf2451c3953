"""One board in several formats: the same parallel sets, stages and suspects.

The schematic is the measure.  Beside it: the layout, the two joined either way, and
what KiCad's own exporters write of the layout, IPC-2581 and IPC-D-356.  A format
must give the same unless the board stands in `SHORT` for it, with what it reaches
and what is lacking; ``pytest -s`` prints all figures.
"""

import functools
import gzip
import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

import pytest
from _labels import show
from _oracles import (
    NO_CORPUS,
    ROOT,
    absent_params,
    catalogue,
    corpus_or_none,
    program,
)
from _same_board import BOARDS, compare

from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.join import join
from ohmtrail.netanalysis.recognise import recognise

DEMO = "demo"
#: What a format does not hold at all.
LACKS = {
    "layout": "symbols, and before KiCad 6 pin names",
    "layout with schematic": "nothing",
    "schematic with layout": "nothing",
    "ipc2581": "symbols and pin names",
    "d356": "values, symbols, pin names and packages",
    "d356 with schematic": "nothing",
}
FORMATS = tuple(LACKS)


class Reached(NamedTuple):
    """At least so many sets, stages, chains and rails; at most so many false ones."""

    sets: int
    stages: int
    chains: int
    suspects: int
    more: int
    why: str


#: Where a format gives less than the schematic, what it gives and why.
SHORT: dict[tuple[str, str], Reached] = {
    ("demo", "d356"): Reached(
        6,
        13,
        14,
        15,
        0,
        "diodes that may be anything, transistors of unknown channel",
    ),
    ("bitaxe-ultra", "d356"): Reached(
        0,
        4,
        2,
        0,
        0,
        "nothing shows the current sensor whose conductor joins input and 5 V",
    ),
    ("bms-c1", "ipc2581"): Reached(
        2,
        2,
        1,
        4,
        2,
        "the driver's pin for Q6-Q9 has no name, and Q11, which pulls their "
        "gates low, is nearer: taken for their drive, so no pair",
    ),
    ("bms-c1", "d356"): Reached(
        2,
        2,
        4,
        3,
        1,
        "zeners and clamps read as diodes; Q12 may be bipolar",
    ),
    ("cheap-focer-2", "d356"): Reached(
        6,
        5,
        6,
        2,
        0,
        "a three-pin regulator without a value",
    ),
    ("mjpower-ss", "d356"): Reached(
        1,
        1,
        3,
        0,
        0,
        "a regulator without a value; its output has no supply's name",
    ),
    ("moteus-c1", "d356"): Reached(
        0,
        6,
        6,
        1,
        0,
        "connectors whose refdes says nothing, such as AUX1",
    ),
    ("mppt-1210-hus", "layout"): Reached(
        0,
        6,
        5,
        3,
        0,
        "suppressor arrays with refdes U are chips without their symbols",
    ),
    ("mppt-1210-hus", "ipc2581"): Reached(
        0,
        6,
        5,
        3,
        0,
        "suppressor arrays with refdes U are chips without their symbols",
    ),
    ("mppt-1210-hus", "d356"): Reached(
        0,
        4,
        4,
        1,
        0,
        "regulator and load switch without values, arrays as chips",
    ),
    ("mppt-2420-hc", "d356"): Reached(
        1,
        2,
        2,
        3,
        0,
        "single transistors of no known family, shunts without values",
    ),
    ("mppt-2420-lc", "d356"): Reached(
        0,
        4,
        1,
        0,
        0,
        "single transistors of no known family, shunts without values",
    ),
    ("mppt-2420-rc", "layout"): Reached(
        0,
        5,
        4,
        2,
        0,
        "R12 is marked as not fitted in the schematic alone",
    ),
    ("mppt-2420-rc", "ipc2581"): Reached(
        0,
        5,
        4,
        2,
        0,
        "R12 is marked as not fitted in the schematic alone",
    ),
    ("mppt-2420-rc", "d356"): Reached(
        0,
        2,
        2,
        2,
        0,
        "single transistors of no known family",
    ),
    ("reform1-motherboard", "d356"): Reached(
        0,
        1,
        0,
        0,
        1,
        "regulators, power switches and single transistors without values on "
        "rails without names",
    ),
    ("vesc4", "d356"): Reached(
        0,
        5,
        6,
        1,
        0,
        "a three-pin regulator without a value",
    ),
}


@functools.cache
def folder() -> Path:
    """Where this run's exports go."""
    return Path(tempfile.mkdtemp(prefix="same-board-"))


def schematic(name):
    if name == DEMO:
        return ROOT / "fixtures" / "demo" / "sk4.kicad_sch"
    return next(d.root for d in catalogue() if d.name == name)


@functools.cache
def layout(name):
    """Return a plain copy of the board's layout."""
    if name == DEMO:
        found = [ROOT / "fixtures" / "demo" / "sk4.kicad_pcb"]
    else:
        here = schematic(name).parent
        found = sorted((*here.glob("*.kicad_pcb"), *here.glob("*.kicad_pcb.gz")))
    data = found[0].read_bytes()
    data = gzip.decompress(data) if found[0].suffix == ".gz" else data
    copy = folder() / f"{name}.kicad_pcb"
    copy.write_bytes(data)
    return copy


@functools.cache
def export(name, what):
    """Return the layout as kicad-cli writes it in another format."""
    out = folder() / f"{name}.{what}.{'xml' if what == 'ipc2581' else 'd356'}"
    command = "ipcd356" if what == "d356" else what
    # kicad-cli complains of a schema file that it does not need.
    subprocess.run(
        [program("kicad-cli"), "pcb", "export", command, "-o", out, layout(name)],
        capture_output=True,
        timeout=120,
        check=False,
    )
    assert out.exists(), f"kicad-cli wrote no {what}"
    return load(out)


@functools.cache
def circuit(name, what):
    if what == "schematic":
        return recognise(load(schematic(name)))
    if what == "layout":
        return recognise(load(layout(name)))
    first, _, second = what.partition(" with ")
    if second:
        boards = {"schematic": lambda: load(schematic(name))}
        boards["layout"] = lambda: load(layout(name))
        boards["d356"] = lambda: export(name, "d356")
        return recognise(join(boards[first](), boards[second](), second))
    return recognise(export(name, what))


def boards():
    if corpus_or_none() is None:
        return [DEMO, *absent_params(NO_CORPUS)]
    return [DEMO, *BOARDS]


@functools.cache
def likeness(name, what):
    return compare(circuit(name, "schematic"), circuit(name, what))


@pytest.mark.parametrize("what", FORMATS)
@pytest.mark.parametrize("name", boards())
def test_a_format_gives_what_the_schematic_gives(name, what):
    found = likeness(name, what)
    show(f"{name} as {what}: {found.line()}")
    least = SHORT.get((name, what))
    if least is None:
        assert not found.notes, found.notes
        return
    show(f"  {what} lacks {LACKS[what]}: {least.why}")
    for note in found.notes:
        show(f"    {note}")
    assert found.sets[0] >= least.sets
    assert found.stages[0] >= least.stages
    assert found.chains[0] >= least.chains
    assert found.suspects[0] >= least.suspects
    assert found.sets[2] + found.stages[2] <= least.more, found.notes


@pytest.mark.parametrize("what", [f for f in FORMATS if f != "schematic"])
@pytest.mark.parametrize("name", boards())
def test_every_reading_has_a_place(name, what):
    """Layouts and both IPC formats hold positions: then every step has one."""
    checklist = make_checklist(circuit(name, what))
    steps = [s for section in checklist.sections for s in section.steps if s.mode]
    here = {part.ref for part in circuit(name, what).board.parts if part.pins}
    bare = {part for s in steps if s.x_mm is None for part in s.parts}
    show(f"{name} as {what}: {len(steps)} readings, without a place: {sorted(bare)}")
    assert steps
    if what == "schematic with layout":
        # Parts that only the schematic has (no footprint) have no place.
        placed = {part.ref for part in circuit(name, "layout").board.parts}
        assert not [s for s in steps if s.x_mm is None and set(s.parts) <= placed]
    else:
        assert not [s for s in steps if s.x_mm is None], here


def test_names_worked_out_stay_out_of_the_board():
    """The board says what its file says; what was inferred is in the roles."""
    board = load(layout(DEMO))
    again = circuit(DEMO, "layout").board
    assert [p.name for part in board.parts for p in part.pins] == [
        p.name for part in again.parts for p in part.pins
    ]


@pytest.mark.parametrize("name", boards())
def test_roles_without_a_pin_name_say_that_they_are_inferred(name):
    found = circuit(name, "ipc2581")
    for (ref, number), role in found.roles.items():
        pin = found.board.part_by_ref[ref].pin(number)
        if not pin.name and not pin.electrical and pin.number.isdigit():
            assert role.inferred, f"{ref}.{number}: {role}"
            assert role.because
