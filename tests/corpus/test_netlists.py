"""Real netlists: every pin in its net, as other readers have it."""

import re
import subprocess

import pytest
from _oracles import (
    board_nodes,
    catalogue,
    corpus_file,
    corpus_files,
    designs,
    name_differences,
    partition_differences,
    program,
    read_oracle,
    unknown_pins,
)

from ohmtrail.importers import load

#: Netlists that KiCad's QA wrote beside its designs, by the names of the oracles.
GOLDEN = corpus_files("kicad_qa/*/*.net")

#: Netlists that a design's author committed, and the pads of the same commit.
AUTHORS = {
    "vesc4": "boards/vesc4/design/BLDC_4.net",
    "teres-keyboard": "boards/teres-keyboard/HARDWARE/A64-TERES/TERES-PCB5-KEYBOARD/"
    "Rev.A.old/TERES-PCB5-KEYBOARD_Rev.A.net",
    "reform1-motherboard": "boards/reform1-motherboard/historic-reform1/"
    "reform-motherboard/reform-motherboard.net",
    "hackrf-operacake": "boards/hackrf-operacake/hardware/operacake/operacake.net",
    "diybms-v421": "boards/diybms-v421/ModuleV421/ModuleV421.net",
}
# Not among them, for the committed netlist is of another revision than the board:
# cheap-focer-2 (its netlist is vesc4's, of 2016), diybms-controller (40 pads that
# the netlist lacks, 48 pins that the board lacks), reform2-trackball (netlist of
# May 2020; the board has parts more).  `test_a_plain_reading` covers their files.

EXPORTS = corpus_files("**/*.net")


@pytest.mark.parametrize("path", GOLDEN)
def test_golden_netlists(path):
    name = f"kicad_qa/{path.parent.name}"
    (design,) = (d for d in catalogue("kicad_qa") if d.name == name)
    board = load(path)
    assert partition_differences(board, design.netlister) == []
    assert unknown_pins(board, design.netlister) == ([], [])
    differ = name_differences(board, design.netlister)
    # legacy_power's was written by KiCad 5.99, which named a net after the pad.
    known = {"legacy_power": ["Net-(D1001-Pad2) here, Net-(D1001-A) there"]}
    assert differ == known.get(path.parent.name, [])


@pytest.mark.parametrize("name", AUTHORS)
def test_authors_netlists_against_the_boards_pads(name):
    path = corpus_file(AUTHORS[name])
    (design,) = (d for d in catalogue() if d.name == name)
    assert partition_differences(load(path), design.pads) == []
    assert name_differences(load(path), design.pads) == []


def plain_reading(text):
    """Nets of an s-expression netlist by one regular expression."""
    word = r'\s+(?:"((?:[^"\\]|\\.)*)"|([^\s()]+))\s*\)'
    wanted = re.compile(rf"\((?:net\s+\(code{word}|name{word}|ref{word}|pin{word})")
    nets, nodes = 0, {}
    net = ref = None
    for match in wanted.finditer(text[text.rindex("(nets") :]):
        code, name, ref_, pin = (match[i] or match[i + 1] for i in (1, 3, 5, 7))
        if code is not None:
            nets += 1
        elif name is not None:
            net = name
        elif ref_ is not None:
            ref = ref_
        else:
            nodes[ref, pin] = net
    return nets, nodes


@pytest.mark.parametrize("path", EXPORTS)
def test_a_plain_reading(path):
    text = path.read_text(encoding="utf-8", errors="replace")
    if not text.lstrip().startswith("(export"):
        return
    nets, nodes = plain_reading(text)
    board = load(path)
    ours = {key: net for key, net in board_nodes(board).items() if net is not None}
    assert ours == nodes
    assert len(board.nets) == nets
    refs = re.findall(r'\(comp\s+\(ref\s+"?([^\s()"]+)', text)
    assert [part.ref for part in board.parts] == refs


def test_the_plain_reading_met_most_files():
    files = [p.values[0] for p in EXPORTS if p.values[0] is not None]
    corpus_file("manifest.json")
    kinds = [p.read_bytes()[:7] == b"(export" for p in files]
    assert sum(kinds) >= 20


@pytest.mark.parametrize("name", ["flat_hierarchy", "video"])
def test_old_netlists_say_the_same_twice(name):
    """The form before KiCad 4 lists its nets a second time, by net."""
    path = corpus_file(f"formats/legacy_demos/{name}/{name}.net")
    text = path.read_text(encoding="latin-1")
    nodes, net = {}, None
    for line in text[text.index("{ Pin List by Nets") :].splitlines()[1:]:
        if line.startswith("}"):
            break
        if line.startswith(" "):
            ref, pin = line.split()
            nodes[ref, pin] = net
        else:
            net = line
    board = load(path)
    assert len(nodes) > 100
    assert partition_differences(board, nodes) == []
    assert unknown_pins(board, nodes)[1] == []


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_xml_that_kicad_writes(design, tmp_path):
    kicad = program("kicad-cli")
    out = tmp_path / "out.xml"
    subprocess.run(
        [kicad, "sch", "export", "netlist", "--format", "kicadxml", "-o", out,
         design.root],
        capture_output=True,
        check=False,
    )  # fmt: skip
    if not out.exists():
        pytest.fail("kicad-cli wrote no netlist")
    board = load(out)
    assert partition_differences(board, design.netlister) == []
    here, there = unknown_pins(board, design.netlister)
    assert there == []
    # Pins of units that the sheet does not place are on the part, in no net.
    assert {board_nodes(board)[key] for key in here} <= {None}
    # The XML form has its slashes plain, the oracle's form has some escaped.
    theirs = read_oracle(design.netlister)
    for key, net in board_nodes(board).items():
        if net is not None:
            assert net == theirs[key].replace("{slash}", "/")
