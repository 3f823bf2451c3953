"""A sick board's own log leaves the healthy board within its ranges.

Each healthy board drawn gets shorts and leaks, and its rails are read sick.  The share
wanted is this project's own; there is no outside source.
"""

import csv
import io
import math
import random

import pytest
from _bench_logs import HEADER
from _healthy_boards import healthy_network, probed_pairs
from _labels import labelled, show

from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.evidence import gather
from ohmtrail.netanalysis.network.expect_good import narrowed_board
from ohmtrail.netanalysis.network.expect_ohms import ohms_between
from ohmtrail.netanalysis.network.solved_board import SolvedBoard

INSIDE_MIN = 0.95


def _faults(network, rng):
    """Three paths that should not be there, each across a part."""
    for number in range(3):
        one = rng.choice([r for r in network.resistances if r.ohms > 1.0])
        ohms = rng.choice([0.05, 3.0, 100.0, 2e3])
        yield Resistance(f"F{number}", one.a, one.b, ohms, ohms, ohms)


def _log(board, pairs, read):
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADER.split(","))
    for (net, ground), one in zip(pairs, read, strict=True):
        value = "OL" if math.isinf(one.typical) else f"{one.typical:.4g}"
        ends = f"net:{net}", f"net:{ground}"
        writer.writerow(["", "measure", "", "resistance", *ends, value, ""])
    return read_log(text.getvalue(), board)


@pytest.mark.parametrize("labelled_board", labelled())
def test_a_sick_boards_rails_say_nothing_wrong_of_the_healthy_one(labelled_board):
    circuit = labelled_board.circuit
    solved = SolvedBoard(circuit)
    rng = random.Random(f"a sick {labelled_board.name}")
    ground = circuit.ground[0]
    rails = [(r.net, ground) for r in circuit.rails if r.net not in circuit.ground]
    drawn = healthy_network(solved.for_ohms, rng)
    healthy = SolvedBoard(circuit, scene=solved.scene, network=drawn)
    faults = list(_faults(drawn, rng))
    sick = SolvedBoard(circuit, scene=solved.scene, network=drawn.changed(add=faults))
    log = _log(circuit.board, rails, ohms_between(sick, "resistance", rails))
    narrowed, doubts = narrowed_board(solved, gather(circuit, own=log))
    assert doubts == ()
    pairs = list(dict.fromkeys([*rails, *probed_pairs(circuit, solved.scene.view)]))
    wide = ohms_between(solved.likely, "resistance", pairs)
    found = ohms_between(narrowed.likely, "resistance", pairs)
    read = ohms_between(healthy, "resistance", pairs)
    inside = before = raised = 0
    for old, new, true in zip(wide, found, read, strict=True):
        # Only low ends rise; where a junction now wakes the likely end is dropped.
        assert new.low >= 0.95 * old.low
        assert new.high == pytest.approx(old.high, rel=1e-6)
        raised += new.low > 1.1 * old.low
        before += old.low <= true.typical <= old.high
        inside += new.low <= true.typical <= new.high
    show(f"{labelled_board.name}: {raised} raised, {inside} ({before}) of {len(pairs)}")
    assert inside >= INSIDE_MIN * len(pairs)
    assert inside >= before - 0.01 * len(pairs)
