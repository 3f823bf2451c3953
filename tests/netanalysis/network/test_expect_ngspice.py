"""Real boards against ngspice: the same network, 200 random pairs of probes a board.

The expected values are ngspice's, from a deck written out of the network, and for
resistances exact elimination in fractions as well.
"""

import math
import random

import numpy as np
import pytest
from _labels import labelled, show
from _ngspice import readings, takes
from _resistors import exact_ohms

from ohmtrail.netanalysis.network.board_state import AS_DRAWN
from ohmtrail.netanalysis.network.build import build_network
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.junction_solve import JunctionSolver
from ohmtrail.netanalysis.network.solve import Solver

PAIRS = 200
#: Diode mode of a common handheld (REFERENCES: about 1 mA, up to 3 V).
TEST_AMPS, OPEN_VOLTS = 1e-3, 3.0
#: ngspice finds no operating point for a few pairs behind sleeping junctions only.
CONVERGED_MIN = 0.95


def _state(board, faulty):
    """The board as drawn, or with five seeded shorts and leaks across its parts."""
    if not faulty:
        return AS_DRAWN
    rng = random.Random(f"faults of {board.name}")
    parts = [
        (part.ref, nets)
        for part in board.parts
        if len(nets := sorted({p.net for p in part.pins if p.net is not None})) > 1
    ]
    faults = []
    for ref, nets in rng.sample(parts, 5):
        a, b = rng.sample(nets, 2)
        ohms = rng.choice([0.05, 0.7, 15.0, 3e3])
        faults.append(Resistance(ref, a, b, ohms, ohms, ohms, "a fault of the test"))
    return AS_DRAWN.break_(*faults)


def _pairs(board):
    rng = random.Random(f"probes on {board.name}")
    nets = [net.name for net in board.nets if net.pins]
    return [tuple(rng.sample(nets, 2)) for _ in range(PAIRS)]


def _check_kirchhoff(network, solution, plus, minus, amps):
    """What flows into a node flows out of it: Kirchhoff's current law."""
    number = {node: k for k, node in enumerate(network.nodes)}
    left = np.zeros(len(number))
    left[number[plus]] += amps
    left[number[minus]] -= amps
    elements = [
        *(
            (r.a, r.b, i)
            for r, i in zip(*_of(network.resistances, solution[0]), strict=True)
        ),
        *(
            (j.anode, j.cathode, i)
            for j, i in zip(*_of(network.junctions, solution[1]), strict=True)
        ),
    ]
    for a, b, flow in elements:
        left[number[a]] -= flow
        left[number[b]] += flow
    assert np.abs(left).max() <= 1e-6 * abs(amps) + 1e-15


def _of(elements, amps):
    assert len(elements) == len(amps)
    return elements, amps


@pytest.mark.parametrize("faulty", [False, True], ids=["healthy", "faulty"])
@pytest.mark.parametrize("labelled_board", labelled())
def test_resistances_are_ngspices(labelled_board, faulty):
    board = labelled_board.board
    network = build_network(labelled_board.circuit, _state(board, faulty))
    pairs = _pairs(board)
    solver = Solver(network)
    ours = solver.resistances(pairs)
    joined = [k for k in range(PAIRS) if math.isfinite(ours[k])]
    theirs = readings(network, [pairs[k] for k in joined], 1.0, junctions=False)
    assert ours == pytest.approx([exact_ohms(network, *p) for p in pairs], rel=1e-9)
    worst = 0.0
    for k, ohms in zip(joined, theirs, strict=True):
        error = abs(ours[k] - ohms) / ohms
        worst = max(worst, error)
        assert error <= 1e-6, pairs[k]
        flows = solver.voltages(*pairs[k]).amps
        _check_kirchhoff(
            network, (flows, [0.0] * len(network.junctions)), *pairs[k], 1.0
        )
    assert len(joined) >= 20
    show(f"{board.name}: {len(joined)} pairs joined, worst {worst:.1e} relative")


@pytest.mark.parametrize("faulty", [False, True], ids=["healthy", "faulty"])
@pytest.mark.parametrize("labelled_board", labelled())
def test_diode_mode_is_ngspices(labelled_board, faulty):
    board = labelled_board.board
    network = build_network(labelled_board.circuit, _state(board, faulty))
    solver = JunctionSolver(network)
    pairs = _pairs(board)
    found = [solver.solve(*pair, TEST_AMPS, OPEN_VOLTS) for pair in pairs]
    reads = [k for k in range(PAIRS) if not found[k].limited]
    opens = [k for k in range(PAIRS) if found[k].limited]
    volts = readings(network, [pairs[k] for k in reads], TEST_AMPS)
    worst, converged = 0.0, 0
    for k, theirs in zip(reads, volts, strict=True):
        if math.isnan(theirs):
            continue
        converged += 1
        worst = max(worst, abs(found[k].volts - theirs))
        assert found[k].volts == pytest.approx(theirs, abs=1e-3), pairs[k]
    # "OL": at its open voltage the board takes less than the meter's current.
    drawn = takes(network, [pairs[k] for k in opens], OPEN_VOLTS)
    for k, theirs in zip(opens, drawn, strict=True):
        if math.isnan(theirs):
            continue
        converged += 1
        assert theirs <= TEST_AMPS * (1 + 1e-3), pairs[k]
    for k in range(PAIRS):
        if not np.isnan(found[k].resistance_amps).any():
            flows = found[k].resistance_amps, found[k].junction_amps
            _check_kirchhoff(network, flows, *pairs[k], found[k].amps)
    assert converged >= CONVERGED_MIN * PAIRS
    show(f"{board.name}: {len(reads)} read, {converged} converged, worst {worst:.1e} V")
