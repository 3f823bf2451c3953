"""Real designs: nets and names equal those of KiCad 9's own netlister."""

import re

import pytest
from _oracles import (
    board_nodes,
    designs,
    name_differences,
    partition_differences,
    read_oracle,
    unknown_pins,
)
from corpus.known_differences import SCHEMATIC_DIFFERENCES

from ohmtrail.importers.kicad_schematic import IMPORTER

FAMILIES = ("kicad6+", "kicad_qa", "kicad_demo")


@pytest.mark.parametrize("design", designs(*FAMILIES))
def test_same_nets_and_names_as_the_netlister(design):
    theirs = read_oracle(design.netlister)
    ours = IMPORTER.read(design.root)
    known = SCHEMATIC_DIFFERENCES.get(design.name, frozenset())
    found = partition_differences(ours, theirs) + name_differences(ours, theirs)
    assert [line for line in found if line not in known] == []
    assert known <= set(found), "a known difference is gone: take it off the list"


@pytest.mark.parametrize("design", designs(*FAMILIES))
def test_no_pin_is_lost(design):
    board = IMPORTER.read(design.root)
    extra, lost = unknown_pins(board, read_oracle(design.netlister))
    assert lost == []
    # The netlister leaves out pins of parts without a number (two of them: J? and J?2).
    assert [key for key in extra if not re.search(r"\?\d*$", key[0])] == []


@pytest.mark.parametrize("design", designs(*FAMILIES))
def test_every_pin_is_in_exactly_one_net(design):
    board = IMPORTER.read(design.root)
    in_nets = [(pin.ref, pin.number) for net in board.nets for pin in net.pins]
    assert len(in_nets) == len(set(in_nets))
    assert set(in_nets) == set(board_nodes(board))
    assert all(net.pins for net in board.nets)
    assert board.sheets[0] == "/"


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_no_pin_is_drawn_on_two_nets_unreported(design):
    """The netlister names such a pin twice; we keep one net and say so."""
    pins: dict = {}
    with open(design.netlister, encoding="utf-8") as file:
        for line in list(file)[1:]:
            net, ref, pin = line.rstrip("\n").split("\t")
            if not net.startswith("unconnected-("):
                pins.setdefault(f"{ref}.{pin}", set()).add(net)
    twice = {key for key, nets in pins.items() if len(nets) > 1}
    said = {u.where.split()[0] for u in IMPORTER.read(design.root).unused if u.where}
    assert twice <= said
