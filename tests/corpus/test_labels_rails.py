"""Supply rails of the labelled boards: found, volts, source; figures printed.

The labels know some volts that no file states (a divider with the reference of a
data sheet, a zener follower); None is right there for a program that must not
guess, a wrong number is not.
"""

from dataclasses import dataclass

import pytest
from _labels import DISPUTED, all_labelled, labelled, show
from _oracles import corpus

LABELLED = labelled()


@dataclass
class Score:
    wanted: int = 0
    found: int = 0
    extra: int = 0
    volts: int = 0
    wrong: int = 0
    unknown: int = 0
    source: int = 0

    def __iadd__(self, other):
        for name in self.__dataclass_fields__:
            setattr(self, name, getattr(self, name) + getattr(other, name))
        return self


def score(one):
    result = Score()
    wanted = {rail["net"]: rail for rail in one.labels["rails"]}
    found = {rail.net: rail for rail in one.circuit.rails}
    result.wanted, result.extra = len(wanted), len(found.keys() - wanted.keys())
    for net, label in wanted.items():
        if net not in found:
            continue
        rail = found[net]
        result.found += 1
        result.source += rail.source == label["source"]
        if agree(rail.volts, label["volts"]):
            result.volts += 1
        elif rail.volts is None:
            result.unknown += 1
        elif (one.name, net) not in DISPUTED:
            result.wrong += 1
    return result


def agree(a, b):
    if a is None or b is None:
        return a is b
    # Labels give what a divider makes (6.05 V), names the nominal (6 V).
    return abs(a - b) <= 0.03 * abs(b)


@pytest.mark.parametrize("one", LABELLED)
def test_no_wrong_volts(one):
    found = score(one)
    show(
        f"{one.name}: {found.found} of {found.wanted} rails, {found.extra} more; volts "
        f"{found.volts} right, {found.unknown} unknown, {found.wrong} wrong; "
        f"source {found.source} as labelled"
    )
    assert found.wrong == 0


def test_figures_over_all_boards():
    corpus()
    total = Score()
    for one in all_labelled():
        total += score(one)
    recall = total.found / total.wanted
    precision = total.found / (total.found + total.extra)
    show(
        f"rails: recall {recall:.1%}, precision {precision:.1%}, volts right "
        f"{total.volts}/{total.found}, unknown {total.unknown}, wrong {total.wrong}, "
        f"source {total.source}/{total.found}"
    )
    assert recall >= 0.95
    assert precision >= 0.85
    assert total.volts >= 0.9 * total.found


@pytest.mark.parametrize("one", LABELLED)
def test_no_rail_is_ground_or_a_switch_node(one):
    swinging = set()
    for stage in one.labels["stages"]:
        node = stage["switch_node"]
        swinging.update(node if isinstance(node, list) else [node])
    stages = {node for stage in one.circuit.stages for node in stage.switch_nodes}
    for rail in one.circuit.rails:
        assert rail.net not in one.circuit.ground
        assert rail.net not in swinging | stages, rail.because
