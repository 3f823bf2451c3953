"""Injection on real boards: what is missing is named, and less is never more.

The rules are those of the trade (common practice): no limit above any rail in reach,
none while one is unknown.  Which rails a board has is not the point here.
"""

from dataclasses import replace

import pytest
from _oracles import designs

from ohmtrail.importers import load
from ohmtrail.netanalysis.board import make_board
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.injection_reach import InjectionIndex
from ohmtrail.netanalysis.recognise import recognise

#: What is stated for rails that tell nothing, in volts.
STATED = 7.77


def limits(board, stated):
    """By rail: the answer."""
    circuit = recognise(board, stated)
    index = InjectionIndex(circuit, view_of(circuit))
    return {
        rail.net: inject(circuit, rail.net, index=index)
        for rail in circuit.rails
        if rail.net not in circuit.ground
    }


def all_stated(board):
    """State what is asked for until nothing is."""
    stated = {}
    for _ in range(6):
        answers = limits(board, stated)
        more = {net for one in answers.values() for net in one.unknown} - set(stated)
        if not more:
            return stated, answers
        stated |= dict.fromkeys(sorted(more), STATED)
    raise AssertionError(f"asked again and again: {sorted(more)}")


def without_pin_names(board):
    parts = [
        replace(
            part,
            pins=tuple(replace(pin, name="", electrical="") for pin in part.pins),
        )
        for part in board.parts
    ]
    return make_board(
        name=board.name, format=board.format, version=board.version, parts=parts
    )


@pytest.mark.parametrize("design", designs("kicad6+", "kicad5", "kicad4"))
def test_what_is_asked_for_is_enough_and_fewer_names_give_no_higher_limit(design):
    board = load(design.root)
    bare = limits(board, {})
    for answer in bare.values():
        assert (answer.volts_max is None) == bool(answer.unknown)
        assert len(answer.missing) == len(answer.unknown)
    stated, answers = all_stated(board)
    for net, answer in answers.items():
        both_signs = any(one.reversed for one in answer.reach.details)
        assert (answer.volts_max is None) == both_signs, net
        if answer.volts_max is not None:
            told = [one for one in answer.reach.details if one.volts is not None]
            assert answer.volts_max <= min(abs(one.volts) for one in told)
        if bare.get(net) is not None and bare[net].volts_max is not None:
            assert answer.volts_max is None or answer.volts_max <= bare[net].volts_max
    nameless = limits(without_pin_names(board), stated)
    for net, answer in nameless.items():
        named = answers.get(net)
        if answer.volts_max is not None and named is not None:
            assert named.volts_max is not None
            assert answer.volts_max <= named.volts_max, net
