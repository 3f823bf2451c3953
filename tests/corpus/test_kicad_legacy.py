"""Real designs of KiCad 4 and 5: every pin in its net, and every net's name.

Oracles: pads of the board file of the same commit, and netlists that the
design's author committed; both come from KiCad's own netlister of that time.
"""

import re

import pytest
from _known_differences_legacy import (
    NETLIST_ONLY,
    NO_LIBRARY,
    OTHER_NAMES,
    OUTDATED_NETLIST,
    PADS_ONLY,
)
from _labels import all_labelled
from _oracles import (
    board_nodes,
    catalogue,
    corpus_file,
    corpus_files,
    designs,
    name_differences,
    partition_differences,
    unknown_pins,
)

from ohmtrail.importers import load
from ohmtrail.netanalysis.recognise import recognise

LEGACY = designs("kicad4", "kicad5")

#: Netlists beside the root, by design.
NETLISTS = {
    "vesc4": "boards/vesc4/design/BLDC_4.net",
    "teres-keyboard": "boards/teres-keyboard/HARDWARE/A64-TERES/TERES-PCB5-KEYBOARD/"
    "Rev.A.old/TERES-PCB5-KEYBOARD_Rev.A.net",
    "reform1-motherboard": "boards/reform1-motherboard/historic-reform1/"
    "reform-motherboard/reform-motherboard.net",
    "hackrf-operacake": "boards/hackrf-operacake/hardware/operacake/operacake.net",
    "video": "formats/legacy_demos/video/video.net",
    "pic_programmer": "formats/legacy_demos/pic_programmer/pic_programmer.net",
    "flat_hierarchy": "formats/legacy_demos/flat_hierarchy/flat_hierarchy.net",
    "complex_hierarchy": "kicad_qa/complex_hierarchy/complex_hierarchy.net",
    "test_global_promotion": "kicad_qa/test_global_promotion/test_global_promotion.net",
}


@pytest.mark.parametrize("design", LEGACY)
def test_pads_of_the_board(design):
    board = load(design.root)
    assert board.format == "kicad_legacy"
    if design.name in NO_LIBRARY:
        assert board.pin_count == 0
        missing = [u.count for u in board.unused if "no library holds (it" in u.what]
        assert sum(missing) == len(board.parts) > 0
        return
    assert partition_differences(board, design.pads) == []
    assert name_differences(board, design.pads) == []
    ours, theirs = unknown_pins(board, design.pads)
    assert ours == []
    assert set(theirs) == PADS_ONLY.get(design.name, (set(), ""))[0]


@pytest.mark.parametrize("name", NETLISTS)
def test_netlists_of_the_authors(name):
    path = corpus_file(NETLISTS[name])
    board, netlist = load(path.with_suffix(".sch")), load(path)
    nodes = board_nodes(netlist)
    assert partition_differences(board, nodes) == []
    assert unknown_pins(board, nodes) == (
        [],
        sorted(NETLIST_ONLY.get(name, (set(), ""))[0]),
    )
    if name not in OTHER_NAMES:
        assert name_differences(board, nodes) == []
    values = {part.ref: part.value for part in board.parts}
    assert values.keys() == {part.ref for part in netlist.parts}
    # The form before KiCad 4 has no spaces in values.
    differ = [
        (part.ref, part.value, values[part.ref])
        for part in netlist.parts
        if part.value.replace(" ", "_") != values[part.ref].replace(" ", "_")
    ]
    if name == "complex_hierarchy":  # its netlist lists nets only
        assert {part.value for part in netlist.parts} == {""}
    else:
        assert differ == []


@pytest.mark.parametrize("name", ["video", "flat_hierarchy"])
def test_other_programs_names_are_among_the_labels(name):
    """Old netlisters chose another of a net's labels; none is lost here."""
    path = corpus_file(NETLISTS[name])
    board, netlist = load(path.with_suffix(".sch")), load(path)
    nodes = board_nodes(board)
    labelled = 0
    for net in netlist.nets:
        if re.match(r"N-\d+$", net.name) or not net.pins:
            continue
        pin = net.pins[0]
        ours = board.net_by_name[nodes[pin.ref, pin.number]]
        assert net.name in (ours.name, *ours.aliases)
        labelled += 1
    assert labelled > 10


@pytest.mark.parametrize("name", OUTDATED_NETLIST)
def test_outdated_netlists_differ_from_the_boards_pads_too(name):
    """The proof that the netlist, not the reading of the sheets, is to blame."""
    (design,) = (d for d in catalogue() if d.name == name)
    (path,) = design.root.parent.glob("*.net")
    assert partition_differences(load(path), design.pads) != [] or unknown_pins(
        load(path), design.pads
    ) != ([], [])


@pytest.mark.parametrize("design", LEGACY)
def test_counts_taken_from_the_text(design):
    """Parts by a plain search of all sheet files that the root reaches."""
    board = load(design.root)
    todo, seen, refs = [design.root], set(), set()
    while todo:
        path = todo.pop()
        if path in seen:
            continue
        seen.add(path)
        text = path.read_text(encoding="utf-8", errors="replace")
        for block in re.findall(r"^\$Comp$(.*?)^\$EndComp", text, re.M | re.S):
            found = re.findall(r'^AR Path="[^"]*" Ref="([^"]*)"', block, re.M)
            found.append(re.search(r'^F 0 "([^"]*)"', block, re.M)[1])
            refs.update(found)
        todo += [path.parent / f for f in re.findall(r'^F1 "([^"]*)"', text, re.M)]
    parts = {part.ref for part in board.parts}
    assert parts <= refs
    # What is left are power symbols and places of a sheet that is not used.
    left = {ref for ref in refs - parts if not ref.startswith("#")}
    assert {ref for ref in left if not ref.endswith("?")} <= RETIRED.get(
        design.name, set()
    )


def sheet_files():
    """Every legacy sheet file of the corpus."""
    return [
        param
        for param in corpus_files("**/*.sch")
        if param.values[0] is None
        or param.values[0].read_bytes()[:24] == b"EESchema Schematic File "
    ]


@pytest.mark.parametrize("path", sheet_files())
def test_a_sheet_alone_joins_no_more_than_within_its_design(path):
    """What a sheet joins by itself stays joined whatever is above it.

    Every sheet file opens as a root of its own; where its parts have other
    references in the design (``AR`` lines) there is nothing more to compare.
    """
    alone = load(path)
    if b"\nAR Path=" in path.read_bytes():
        return
    whole = [d for d in catalogue("kicad4", "kicad5") if d.root.parent == path.parent]
    if not whole or whole[0].name in NO_LIBRARY or whole[0].root == path:
        return
    design = load(whole[0].root)
    nodes = board_nodes(design)
    for net in alone.nets:
        there = {nodes.get((pin.ref, pin.number)) for pin in net.pins}
        assert len(there) == 1, net.name


#: References that ``AR`` lines give for paths that no sheet of the design has.
RETIRED: dict[str, set[str]] = {}


def switching(circuit):
    """Return the stages of a circuit, whatever the order of parts in a file."""
    return {
        (s.kind, frozenset(s.high_side), frozenset(s.low_side), s.driver)
        for s in circuit.stages
    }


@pytest.mark.parametrize("name", ["vesc4", "reform1-motherboard"])
def test_schematic_and_netlist_give_the_same_circuit(name):
    """One board in two formats: same stages, parallel sets and rails."""
    one = next((o for o in all_labelled() if o.name == name), None)
    if one is None:
        corpus_file("labels")
    drawn = recognise(load(corpus_file(NETLISTS[name]).with_suffix(".sch")))
    listed = one.circuit
    assert {(rail.net, rail.volts) for rail in drawn.rails} == {
        (rail.net, rail.volts) for rail in listed.rails
    }
    assert switching(drawn) == switching(listed)
    assert {frozenset(s.parts) for s in drawn.parallel_sets} == {
        frozenset(s.parts) for s in listed.parallel_sets
    }
