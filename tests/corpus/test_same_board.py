"""One board in several formats: the same parallel sets, stages and suspects.

The schematic is the measure.  Beside it: the layout, the two joined either way, and
what KiCad's own exporters write: of the layout IPC-2581 and IPC-D-356, of the
schematic the PADS net list.  A format must give the same unless the board stands in
`SHORT` for it, with what it reaches and what is lacking; ``pytest -s`` prints all
figures.
"""

import functools
import gzip
import subprocess
import tempfile
from pathlib import Path

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
from _same_board_short import LACKS, SHORT

from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.join import join
from ohmtrail.netanalysis.recognise import recognise

DEMO = "demo"
FORMATS = tuple(LACKS)
SUFFIXES = {"ipc2581": "xml", "d356": "d356", "pads": "asc"}


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


def pads_list(board):
    """Return the net list as KiCad writes it for PADS."""
    lines = ["*PADS-PCB*", "*PART*"]
    lines += [f"{part.ref} {part.footprint}" for part in board.parts if part.pins]
    lines.append("*NET*")
    for net in board.nets:
        pins = " ".join(f"{pin.ref}.{pin.number}" for pin in net.pins)
        lines += [f"*SIGNAL* {net.name}", pins]
    return "\n".join([*lines, "*END*", ""])


@functools.cache
def export(name, what):
    """Return the board as kicad-cli writes it in another format."""
    out = folder() / f"{name}.{what}.{SUFFIXES[what]}"
    if what == "pads" and schematic(name).suffix == ".sch":
        out.write_text(pads_list(load(layout(name))))  # kicad-cli reads no KiCad 5
        return load(out)
    if what == "pads":
        words = ["sch", "export", "netlist", "--format", "pads"]
        source = schematic(name)
    else:
        words = ["pcb", "export", "ipcd356" if what == "d356" else what]
        source = layout(name)
    # kicad-cli complains of a schema file that it does not need.
    subprocess.run(
        [program("kicad-cli"), *words, "-o", out, source],
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


@pytest.mark.parametrize("what", [f for f in FORMATS if f != "pads"])
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
