"""Parts in the hand: the part alone, with nodes of its own."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace

from ohmtrail.netanalysis.diagnosis.paths import CommonPath
from ohmtrail.netanalysis.diagnosis.readings import hand_node
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.network.elements import Resistance

__all__ = ["hand_loads", "hand_paths"]


def hand_paths(
    view: CircuitView, resistances: Iterable[Resistance], refs: Collection[str]
) -> tuple[list[Resistance], list[str]]:
    """Return what is inside parts in the hand, and the nodes of their pins.

    Parameters
    ----------
    view : CircuitView
    resistances : iterable of Resistance
        Of the whole board.
    refs : collection of str
        Parts that are off, or were measured off the board.
    """
    made = [
        replace(one, a=hand_node(one.ref, one.a), b=hand_node(one.ref, one.b))
        for one in resistances
        if one.ref in refs and not one.assumed
    ]
    nodes = [hand_node(ref, net) for ref in sorted(refs) for net in view.nets(ref)]
    return made, nodes


def hand_loads(
    loads: Collection[tuple[str, str]],
    resistances: Iterable[Resistance],
    refs: Collection[str],
) -> Iterator[CommonPath]:
    """Yield what chips in the hand load a meter with: as wide as on the board."""
    for one in resistances:
        if one.ref not in refs or not one.assumed:
            continue
        if (one.ref, one.a) not in loads and (one.ref, one.b) not in loads:
            continue
        ends = hand_node(one.ref, one.a), hand_node(one.ref, one.b)
        yield CommonPath("", *ends, one.ohms, one.ohms_low, one.ohms_high, one.ref)
