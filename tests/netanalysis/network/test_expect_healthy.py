"""Healthy boards drawn at random: their readings fall in the range that was given.

Every resistance and drop is drawn within its own range (clamps of chips from their
usual drop up, see `awake.settled_clamps`), what may be absent is absent now and then,
and loads lie about the usual one of their class: the whole range, not only the likely
part of it that the expected reading counts on.
The shares wanted of a board are this project's own; there is no outside source.
"""

import math
import random
from dataclasses import replace

import pytest
from _labels import labelled, show

from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.expect_ohms import ohms_between
from ohmtrail.netanalysis.network.load_classes import is_load, is_unknown_load
from ohmtrail.netanalysis.network.solved_board import SolvedBoard

INSIDE_MIN, NARROW_MIN = 0.95, 0.70
#: Below this a factor says nothing: two counts of the lowest range, in ohms.
COUNTS_OHMS = 0.4


def _drawn(network, rng):
    def between(r):
        low, high = r.ohms_low, r.ohms_high
        if is_load(r) and not is_unknown_load(r):
            return low * (r.ohms / low) ** (2 * rng.random())
        if math.isinf(high):
            return math.inf if rng.random() < 0.2 else low * 10 ** rng.uniform(0, 4)
        return low * (high / low) ** rng.random()

    return Network(
        network.nodes,
        tuple(
            replace(r, ohms=ohms, ohms_low=ohms, ohms_high=ohms)
            for r in network.resistances
            for ohms in [between(r)]
        ),
        tuple(
            replace(j, volts=volts, volts_low=volts, volts_high=volts)
            for j in network.junctions
            for volts in [rng.uniform(j.volts_low, j.volts_high)]
        ),
    )


def _pairs(circuit, view):
    """Across every resistor, and gate to source of every switch."""
    for part in circuit.board.parts:
        nets = view.nets(part.ref)
        if not view.fitted(part.ref):
            continue
        if view.kind(part.ref) == "resistor" and len(nets) == 2:
            yield nets[0], nets[1]
        elif view.kind(part.ref) == "mosfet":
            gate = view.net_with_role(part.ref, "gate")
            source = view.net_with_role(part.ref, "source")
            if gate is not None and source is not None and gate != source:
                yield gate, source


@pytest.mark.parametrize("labelled_board", labelled())
def test_a_healthy_board_reads_within_its_ranges(labelled_board):
    circuit = labelled_board.circuit
    solved = SolvedBoard(circuit)
    pairs = list(dict.fromkeys(_pairs(circuit, solved.scene.view)))
    wanted = ohms_between(solved.likely, "resistance", pairs)
    rng = random.Random(f"a healthy {labelled_board.name}")
    drawn = _drawn(solved.for_ohms, rng)
    healthy = SolvedBoard(circuit, scene=solved.scene, network=drawn)
    read = ohms_between(healthy, "resistance", pairs)
    inside = sum(
        w.low <= r.typical <= w.high for w, r in zip(wanted, read, strict=True)
    )
    narrow = sum(w.high < 3 * max(w.low, COUNTS_OHMS) for w in wanted)
    show(f"{labelled_board.name}: {inside} inside, {narrow} narrow of {len(pairs)}")
    assert inside >= INSIDE_MIN * len(pairs)
    # A small board may have all its resistors at a driver or a rail.
    assert len(pairs) < 20 or narrow >= NARROW_MIN * len(pairs)
