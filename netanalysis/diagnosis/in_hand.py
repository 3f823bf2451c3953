"""Parts in the hand: the part alone, with nodes of its own."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.least_volts import volts_at_least
from ohmtrail.netanalysis.diagnosis.paths import CommonPath, raised
from ohmtrail.netanalysis.diagnosis.readings import hand_node
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.load_classes import is_load
from ohmtrail.netanalysis.network.scene import Scene

__all__ = ["hand_loads", "hand_paths", "ties_of"]


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
    circuit: Circuit,
    scene: Scene,
    resistances: Iterable[Resistance],
    refs: Collection[str],
) -> Iterator[CommonPath]:
    """Yield what chips in the hand load a meter with: as wide as on the board."""
    bounds = volts_at_least(circuit)
    for raw in resistances:
        if raw.ref not in refs or not is_load(raw):
            continue
        one = raised(raw, scene, bounds)
        ends = hand_node(one.ref, one.a), hand_node(one.ref, one.b)
        yield CommonPath("", *ends, one.ohms, one.ohms_low, one.ohms_high, one.ref)


def ties_of(common: Sequence[CommonPath]) -> NDArray[np.intp]:
    """Return which loads in the hand are which on the board, shape (T, 2).

    A chip draws through its supply pins the same wherever it is: what was read of it in
    the hand is no second chance of a healthy chip to be at the low end.
    """
    board = {
        (one.ref, hand_node(one.ref, one.a), hand_node(one.ref, one.b)): i
        for i, one in enumerate(common)
        if one.ref and not one.hand
    }
    found = [
        (i, board[one.hand, one.a, one.b])
        for i, one in enumerate(common)
        if one.hand and (one.hand, one.a, one.b) in board
    ]
    return np.array(found, np.intp).reshape(-1, 2)
