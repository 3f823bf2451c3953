"""Real EDIF files: spydrnet's view of them, and the netlists they were made from."""

import importlib.util
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from _oracles import (
    absent,
    board_nodes,
    corpus_file,
    corpus_files,
    name_differences,
    partition_differences,
    unknown_pins,
)

from ohmtrail.importers import importers, load

FILES = corpus_files("formats/edif/*.edf", "formats/edif/boards/*.edf")


def spydrnet_python():
    """Return a Python that has spydrnet: $OHMTRAIL_SPYDRNET_PYTHON, or this one."""
    stated = os.environ.get("OHMTRAIL_SPYDRNET_PYTHON")
    if stated:
        return stated
    if importlib.util.find_spec("spydrnet") is not None:
        return sys.executable
    absent("no spydrnet here, and OHMTRAIL_SPYDRNET_PYTHON names no Python with it")


def bit_name(port, bit, width):
    """Name of a bit as people write it: d[7:0] bit 0 from the left is d[7]."""
    if width == 1 and not re.search(r"[\[(]\d+:\d+[\])]$", port):
        return port
    match = re.fullmatch(r"(.*)([\[(])(\d+):(\d+)([\])])", port)
    return f"{match[1]}{match[2]}{int(match[3]) - bit}{match[5]}"


def spydrnet_nodes(path):
    script = Path(__file__).with_name("_spydrnet_nodes.py")
    done = subprocess.run(
        [spydrnet_python(), str(script), str(path)],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    nodes = {}
    for line in done.stdout.splitlines():
        net, instance, port, bit, width = line.split("\t")
        nodes[instance, bit_name(port, int(bit), int(width))] = net or None
    return nodes


@pytest.mark.parametrize("path", FILES)
def test_spydrnet_sees_the_same_nets(path):
    theirs = spydrnet_nodes(path)
    board = load(path)
    assert partition_differences(board, theirs) == []
    assert unknown_pins(board, theirs) == ([], [])


@pytest.mark.parametrize("name", ["ecc83-pp", "complex_hierarchy"])
def test_boards_equal_the_netlist_they_were_made_from(name):
    ours = load(corpus_file(f"formats/edif/boards/{name}.edf"))
    source = load(corpus_file(f"formats/edif/boards/{name}.net"))
    # EDIF has no place for pins in no net; a symbol's free pins are only there.
    theirs = {key: net for key, net in board_nodes(source).items() if net}
    assert partition_differences(ours, theirs) == []
    assert name_differences(ours, theirs) == []
    here, there = unknown_pins(ours, theirs)
    assert (here, there) == ([], [])


def test_and_gate_has_its_known_size():
    """Counted by eye in the file of the spydrnet project."""
    board = load(corpus_file("formats/edif/AND_gate.edf"))
    assert len(board.parts) == 4
    assert len(board.nets) == 6
    [ports] = [u for u in board.unused if u.what == "port of the whole design"]
    assert ports.count == 3
    # Each net joins two ports; three of them are the design's own.
    assert sum(len(net.pins) for net in board.nets) == 2 * 6 - 3
    lut = board.part_by_ref["q_OBUF_inst_i_1"]
    assert lut.field("INIT") == "4'h8"


def test_only_this_importer_claims_them():
    paths = [p.values[0] for p in FILES if p.values[0] is not None]
    if not paths:
        absent("no corpus")
    for path in paths:
        head = path.read_bytes()[:65536]
        claims = [i.name for i in importers().values() if i.sniff(head)]
        assert claims == ["edif"], path
