"""Healthy boards drawn at random: their readings fall in the range that was given.

The shares wanted of a board are this project's own; there is no outside source.
"""

import random

import pytest
from _healthy_boards import healthy_network, probed_pairs
from _labels import labelled, show

from ohmtrail.netanalysis.network.expect_ohms import ohms_between
from ohmtrail.netanalysis.network.solved_board import SolvedBoard

INSIDE_MIN, NARROW_MIN = 0.95, 0.70
#: Below this a factor says nothing: two counts of the lowest range, in ohms.
COUNTS_OHMS = 0.4


@pytest.mark.parametrize("labelled_board", labelled())
def test_a_healthy_board_reads_within_its_ranges(labelled_board):
    circuit = labelled_board.circuit
    solved = SolvedBoard(circuit)
    pairs = list(dict.fromkeys(probed_pairs(circuit, solved.scene.view)))
    wanted = ohms_between(solved.likely, "resistance", pairs)
    rng = random.Random(f"a healthy {labelled_board.name}")
    drawn = healthy_network(solved.for_ohms, rng)
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
