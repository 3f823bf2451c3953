"""Star to mesh, point by point: what the solver falls back on."""

import itertools

import numpy as np
import pytest
from _resistors import network

from ohmtrail.netanalysis.network.elimination import eliminate
from ohmtrail.netanalysis.network.solve import Solver


def ohms_between(net, a, b):
    one = Solver(net).assembly
    factor = eliminate(one.tail, one.head, one.siemens, last=one.point(b))
    amps = np.zeros((one.count, 1))
    amps[one.point(a)] = 1.0
    return float(factor.solve(amps)[one.point(a), 0])


def groups(inside, across, size=20):
    """Two groups of points, all joined to all."""
    names = [f"{group}{k}" for group in "xy" for k in range(size)]
    return network(
        [
            (a, b, inside if a[0] == b[0] else across)
            for a, b in itertools.combinations(names, 2)
        ]
    )


@pytest.mark.parametrize("count", [2, 3, 12, 40])
def test_complete_graphs(count):
    """2/n: REFERENCES section G [C]; 40 is wider than sparse steps go."""
    net = network(itertools.combinations(range(count), 2))
    assert ohms_between(net, "0", "1") == pytest.approx(2 / count, rel=1e-12)


def test_two_groups_that_copper_joins_and_insulation_parts():
    """By symmetry: 2/20 within a group, 400 paths side by side between them."""
    net = groups(1e-12, 1e9)
    assert ohms_between(net, "x0", "x7") == pytest.approx(1e-13, rel=1e-12)
    assert ohms_between(net, "x0", "y3") == pytest.approx(1e9 / 400, rel=1e-12)
    # The solver finds out by itself that its factorisation does not serve here.
    solver = Solver(net)
    assert solver.resistance("x0", "x7") == pytest.approx(1e-13, rel=1e-12)
    assert solver.resistance("x0", "y3") == pytest.approx(1e9 / 400, rel=1e-12)


def test_shares_of_every_star_add_up():
    """Kirchhoff's current law: what enters a point leaves it."""
    one = Solver(groups(1.0, 3.0, size=14)).assembly
    factor = eliminate(one.tail, one.head, one.siemens, last=5)
    assert len(factor.steps) == one.count - 1
    assert all(shares.sum() == pytest.approx(1.0) for _, _, shares, _ in factor.steps)
