"""What is read between two nodes: laws, accuracy, and other programs."""

import math
import random

import numpy as np
import pytest
from _ngspice import readings
from _oracles import absent
from _resistors import all_pairs, exact_ohms, network, random_network, resistor
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.solve import Solver

#: From tenths of a milliohm to a gigaohm on one board.
ALL_DECADES = (-4, 9)
SEEDS = st.integers(0, 10**6)


def lacking(net, solution, a, b, amps):
    """Return the largest breach of Kirchhoff's current law at any node, in amps."""
    at = dict.fromkeys(net.nodes, 0.0)
    at[a] += amps
    at[b] -= amps
    for one, flow in zip(net.resistances, solution.amps, strict=True):
        at[one.a] -= flow
        at[one.b] += flow
    return max(map(abs, at.values()))


# Laws -------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_kirchhoff_holds_at_every_node(seed):
    net = random_network(seed, ALL_DECADES, odd=0.2)
    solver = Solver(net)
    for a, b in all_pairs(net):
        if math.isfinite(solver.resistance(a, b)):
            solution = solver.voltages(a, b, 1e-3)
            assert lacking(net, solution, a, b, 1e-3) < 1e-12


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_ohms_law_in_every_element(seed):
    net = random_network(seed, (0, 6), odd=0.2)
    a, b = net.resistances[0].a, net.resistances[0].b
    solver = Solver(net)
    assume(math.isfinite(solver.resistance(a, b)))
    solution = solver.voltages(a, b)
    assert solution.volts[b] == 0.0
    assert solution.volts[a] == pytest.approx(solver.resistance(a, b), rel=1e-12)
    for one, amps in zip(net.resistances, solution.amps, strict=True):
        if one.a in solution.volts and one.ohms < math.inf:
            drop = solution.volts[one.a] - solution.volts[one.b]
            assert drop == pytest.approx(one.ohms * amps, abs=1e-9 * solution.volts[a])
        else:
            assert amps == 0.0


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_resistance_is_a_metric(seed):
    """Klein and Randic 1993 [M]: zero to itself, symmetric, triangle inequality."""
    net = random_network(seed, ALL_DECADES, nodes=7, paths=12)
    solver = Solver(net)
    ohms = {
        (a, b): float(r)
        for a in net.nodes
        for b, r in zip(
            net.nodes, solver.resistances([(a, b) for b in net.nodes]), strict=True
        )
    }
    for a in net.nodes:
        assert ohms[a, a] == 0.0
        for b in net.nodes:
            assert ohms[a, b] == ohms[b, a]
            assert a == b or ohms[a, b] > 0.0
            for c in net.nodes:
                assert ohms[a, c] <= (ohms[a, b] + ohms[b, c]) * (1 + 1e-9)


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_foster(seed):
    """The sum over edges of R/r is nodes less islands (Foster, [M])."""
    net = random_network(seed, ALL_DECADES)
    solver = Solver(net)
    edges = [one for one in net.resistances if one.a != one.b]
    ohms = solver.resistances([(one.a, one.b) for one in edges])
    total = sum(r / one.ohms for r, one in zip(ohms, edges, strict=True))
    islands = len(set(solver.assembly.island.tolist()))
    assert total == pytest.approx(len(net.nodes) - islands, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(SEEDS, st.floats(1.0, 1e6))
def test_rayleigh_no_reading_falls_when_a_resistance_rises(seed, factor):
    """Rayleigh's monotonicity law [M]; REFERENCES G, *Check*."""
    net = random_network(seed, ALL_DECADES, odd=0.1)
    first = net.resistances[0]
    more = resistor("R1", first.a, first.b, first.ohms * factor)
    pairs = all_pairs(net)
    before = Solver(net).resistances(pairs)
    risen = Solver(net.changed(without=["R1"], add=[more])).resistances(pairs)
    lifted = Solver(net.changed(without=["R1"])).resistances(pairs)
    assert (risen >= before * (1 - 1e-12)).all()
    assert (lifted >= risen * (1 - 1e-12)).all()


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.randoms(use_true_random=False))
def test_no_order_matters(seed, chance: random.Random):
    net = random_network(seed, ALL_DECADES, odd=0.2)
    pairs = all_pairs(net)
    want = Solver(net).resistances(pairs)
    nodes, paths = list(net.nodes), list(net.resistances)
    chance.shuffle(nodes)
    chance.shuffle(paths)
    other = Solver(Network(tuple(nodes), tuple(paths)))
    back = [(b, a) for a, b in reversed(pairs)]
    assert other.resistances(back)[::-1] == pytest.approx(want, rel=1e-12)


# Accuracy ---------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.sampled_from([(0, 6), ALL_DECADES, (-6, 12)]), st.booleans())
def test_badly_scaled_networks_against_fractions(seed, decades, extremes):
    """Exact elimination in fractions; 1e-12 where 1e-6 was asked for."""
    net = random_network(seed, decades, nodes=9, paths=18)
    if extremes:  # only the two ends of the scale, nothing between
        middle = 10.0 ** (sum(decades) / 2)
        ends = (10.0 ** decades[0], 10.0 ** decades[1])
        net = network(
            [(one.a, one.b, ends[one.ohms > middle]) for one in net.resistances],
            nodes=net.nodes,
        )
    pairs = all_pairs(net)
    want = [exact_ohms(net, a, b) for a, b in pairs]
    assert Solver(net).resistances(pairs) == pytest.approx(want, rel=1e-12)


def test_a_chain_of_milliohms_behind_gigaohms():
    """A shunt between two insulated islands of copper; exact by hand."""
    copper = [(f"c{k}", f"c{k + 1}", 1e-3) for k in range(200)]
    far = [("gnd", "c0", 1e9), ("gnd", "c200", 1e9), ("gnd", "x", 1e-4)]
    solver = Solver(network([*copper, *far]))
    # 0.2 ohm with 2e9 across it; half of 1e9, and 0.05 ohm, to ground from the middle.
    assert solver.resistance("c0", "c200") == pytest.approx(
        1 / (1 / 0.2 + 1 / 2e9), rel=1e-11
    )
    assert solver.resistance("c100", "gnd") == pytest.approx((1e9 + 0.1) / 2, rel=1e-11)
    assert solver.resistance("c7", "c8") == pytest.approx(1e-3, rel=1e-8)


def test_thirty_decades_in_one_network():
    """Two series paths of 1e-15 and 1e15 ohm: where factoring alone is lost."""
    edges = [("a", "b", 1e-15), ("b", "c", 1e15), ("a", "d", 1e-15), ("d", "c", 1e15)]
    solver = Solver(network(edges))
    assert solver.resistance("a", "b") == pytest.approx(1e-15, rel=1e-12)
    assert solver.resistance("a", "c") == pytest.approx(5e14, rel=1e-12)


# What is joined, and what is apart --------------------------------------------


def test_paths_of_zero_ohm_join_and_missing_paths_do_not():
    net = network(
        [("a", "b", 0.0), ("b", "c", 10.0), ("c", "d", 0.0), ("d", "e", math.inf)],
        nodes=["alone"],
    )
    solver = Solver(net)
    assert solver.resistance("a", "b") == 0.0
    assert solver.resistance("a", "a") == 0.0
    assert solver.resistance("a", "d") == 10.0
    assert solver.resistance("a", "e") == math.inf
    assert solver.resistance("alone", "a") == math.inf
    assert solver.voltages("a", "d", 2.0).amps == (2.0, 2.0, 2.0, 0.0)


def test_equal_jumpers_side_by_side_share_the_current():
    """By symmetry."""
    net = network([("a", "b", 0.0), ("b", "a", 0.0), ("b", "c", 5.0)])
    assert Solver(net).voltages("a", "c").amps == pytest.approx((0.5, -0.5, 1.0))


def test_a_network_of_nothing():
    assert Solver(Network(())).resistances([]).shape == (0,)
    assert Solver(Network(("a", "b"))).resistance("a", "b") == math.inf


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda s: s.resistance("a", "x"), "no node 'x' in the network"),
        (lambda s: s.voltages("a", "c"), "expected a path from 'a' to 'c', found none"),
    ],
)
def test_bad_questions(ask, message):
    with pytest.raises(ValueError, match=f"^{message}$"):
        ask(Solver(network([("a", "b")], nodes=["c"])))


@pytest.mark.parametrize(
    ("ohms", "corner", "message"),
    [
        (-1.0, "typical", "R1: expected 0 ohm or more, found -1.0 ohm"),
        (math.nan, "typical", "R1: expected 0 ohm or more, found nan ohm"),
        (1.0, "mean", "expected a corner of low, typical, high, found 'mean'"),
    ],
)
def test_bad_networks(ohms, corner, message):
    with pytest.raises(ValueError, match=f"^{message}$"):
        Solver(network([("a", "b", ohms)]), corner)


# Other programs ---------------------------------------------------------------


@pytest.mark.parametrize("decades", [(0, 6), (-3, 7)])
@pytest.mark.parametrize("seed", range(3))
def test_ngspice_reads_the_same(seed, decades):
    net = random_network(seed, decades, nodes=30, paths=90, odd=0.05)
    solver = Solver(net)
    pairs = [p for p in all_pairs(net) if 0 < solver.resistance(*p) < math.inf][::9]
    assert len(pairs) > 20
    want = readings(net, pairs, 1.0)
    assert solver.resistances(pairs) == pytest.approx(want, rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_elecsolver_reads_the_same(seed):
    """ElecSolver builds the system of branch currents, scipy solves it."""
    try:
        from ElecSolver import FrequencySystemBuilder
    except ImportError:
        absent("no ElecSolver here: pip install ElecSolver")
    from scipy.sparse.linalg import spsolve

    chain = [(f"n{k}", f"n{k + 1}", 10.0) for k in range(7)]
    more = random_network(seed, (0, 5), nodes=8, paths=12).resistances
    net = network([*chain, *((o.a, o.b, o.ohms) for o in more if o.a != o.b)])
    place = {node: k for k, node in enumerate(net.nodes)}
    ends = np.array([[place[o.a], place[o.b]] for o in net.resistances]).T
    ohms = np.array([o.ohms for o in net.resistances], dtype=complex)
    none = np.zeros((2, 0), dtype=int)
    for a, b in all_pairs(net):
        system = FrequencySystemBuilder(ends, ohms, none, np.zeros(0))
        system.set_ground(place[b])
        system.add_current_source(1.0, place[a], place[b])
        system.build_system()
        system.build_second_member()
        matrix, feed = system.get_system(sparse_rhs=False)
        found = system.build_intensity_and_voltage_from_vector(
            spsolve(matrix.tocsc(), feed)
        )
        want = abs(found.potentials[place[a]] - found.potentials[place[b]])
        assert Solver(net).resistance(a, b) == pytest.approx(want, rel=1e-9)
