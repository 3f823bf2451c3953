"""Any network has an answer, and in it every current is accounted for.

Outside sources: Kirchhoff's current law at every node; passive networks bound every
voltage by the probes' own (maximum principle); Rayleigh's monotonicity.
"""

import random

import pytest
from _junction_networks import d, drawn, kirchhoff_error, network, r
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.network.junction_solve import JunctionSolver

SOURCES = [(1e-3, 3.0), (1e-3, 0.5), (1e-5, 0.5), (0.1, 0.05)]


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 2**32),
    nodes=st.integers(2, 14),
    resistances=st.integers(0, 20),
    junctions=st.integers(0, 25),
)
def test_random_networks_balance(seed, nodes, resistances, junctions):
    rng = random.Random(seed)
    net = drawn(rng, nodes, resistances, junctions)
    solver = JunctionSolver(net)
    plus, minus = rng.sample(net.nodes, 2)
    for amps, open_volts in SOURCES:
        answer = solver.solve(plus, minus, amps, open_volts)
        assert kirchhoff_error(net, answer, plus, minus) <= 1.0
        assert 0.0 <= answer.volts <= open_volts
        assert answer.amps <= amps * (1 + 1e-9)
        assert answer.limited or answer.amps >= amps * (1 - 1e-9)
        assert answer.steps <= 60
        # What only sleeping junctions hold is known less well: it moves no reading.
        inside = answer.node_volts.values()
        assert min(inside) >= -0.15
        assert max(inside) <= answer.volts + 0.15


def test_a_chip_with_hundreds_of_clamps():
    pins = [f"P{k}" for k in range(300)]
    clamps = [d(p, "VDD", 0.6, 1.2, 5.0, "U1") for p in pins]
    clamps += [d("GND", p, 0.55, 1.2, 5.0, "U1") for p in pins]
    net = network(*clamps, r("VDD", "GND", 47.0))
    up = JunctionSolver(net).solve("P7", "GND", 1e-3, 3.0)
    # Upper clamp with its 5 ohms, then the rail's load.
    assert up.volts == pytest.approx(0.6 + 5e-3 + 47e-3, abs=1e-6)
    assert kirchhoff_error(net, up, "P7", "GND") <= 1.0
    # Ground to rail: 300 chains of two clamps sleep beside 47 ohms.
    rail = JunctionSolver(net).solve("GND", "VDD", 1e-3, 3.0)
    assert rail.volts == pytest.approx(47e-3, abs=1e-6)


def test_thirty_chains_of_thirty_junctions():
    net = network(
        *(d(f"n{j}", f"n{j + 1}", 0.09, 1.0) for j in range(30) for _ in range(30))
    )
    answer = JunctionSolver(net).solve("n0", "n30", 1e-3, 3.0)
    assert kirchhoff_error(net, answer, "n0", "n30") <= 1.0
    assert answer.volts < 30 * 0.09


def test_megohm_beside_milliohm_and_an_island_on_sleeping_junctions():
    net = network(
        r("a", "b", 1e-3), r("b", "k", 1e6), r("c", "e", 1e-3),
        d("c", "b", 0.6, ref="D2"), d("e", "k", 0.6, ref="D3"), d("b", "k", 0.65),
    )  # fmt: skip
    answer = JunctionSolver(net).solve("a", "k", 1e-3, 3.0)
    assert answer.volts == pytest.approx(0.65, abs=2e-5)
    assert kirchhoff_error(net, answer, "a", "k") <= 1.0


@settings(max_examples=80, deadline=None)
@given(seed=st.integers(0, 2**32), ohms=st.floats(1e-3, 1e6))
def test_one_more_path_never_raises_a_reading(seed, ohms):
    rng = random.Random(seed)
    net = drawn(rng, 8, 10, 8)
    plus, minus, a, b = rng.sample(net.nodes, 4)
    before = JunctionSolver(net).solve(plus, minus, 1e-3, 3.0)
    for path in (r(a, b, ohms, "new"), d(a, b, 0.4, ref="new")):
        after = JunctionSolver(net.changed(add=[path])).solve(plus, minus, 1e-3, 3.0)
        # To a microvolt: a solution is exact to some tens of nanovolts.
        assert after.volts <= before.volts + 1e-6
