"""Ranges of a reading: worst case, root-sum-square, and what sets them."""

import math

import numpy as np
import pytest
from _resistors import all_pairs, network, random_network, resistor
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.solve import Solver
from ohmtrail.netanalysis.network.tolerance import Corners

SEEDS = st.integers(0, 10**6)


def spread(net, seed, most):
    """Give every path a range: down and up by factors of at most ``most``."""
    rng = np.random.default_rng([seed, 2])
    paths = []
    for one in net.resistances:
        low, high = most ** rng.uniform(0, 1, size=2)
        paths.append(
            resistor(one.ref, one.a, one.b, one.ohms, one.ohms / low, one.ohms * high)
        )
    return Network(net.nodes, tuple(paths))


def with_value(net, ref, ohms):
    one = next(o for o in net.resistances if o.ref == ref)
    return net.changed(without=[ref], add=[resistor(ref, one.a, one.b, ohms)])


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_no_board_reads_outside_the_worst_case(seed):
    net = spread(random_network(seed, (-2, 7), nodes=8, paths=14), seed, 3.0)
    pairs = all_pairs(net)
    ranges = Corners(net).ranges(pairs)
    rng = np.random.default_rng([seed, 3])
    for _ in range(10):
        drawn = Network(
            net.nodes,
            tuple(
                resistor(
                    o.ref,
                    o.a,
                    o.b,
                    # At an end as often as between: that is where ranges break.
                    float(
                        rng.choice(
                            [o.ohms_low, o.ohms_high]
                            + [rng.uniform(o.ohms_low, o.ohms_high)] * 2
                        )
                    ),
                )
                for o in net.resistances
            ),
        )
        for ohms, found in zip(Solver(drawn).resistances(pairs), ranges, strict=True):
            assert found.ohms_low * (1 - 1e-12) <= ohms <= found.ohms_high * (1 + 1e-12)


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_a_range_lies_in_order_about_the_typical_reading(seed):
    net = spread(random_network(seed, (-2, 7), odd=0.1), seed, 50.0)
    for found in Corners(net).ranges(all_pairs(net)):
        tiny = 1 + 1e-12
        assert found.ohms_low <= found.ohms_low_rss * tiny
        assert found.ohms_low_rss <= found.ohms * tiny
        assert found.ohms <= found.ohms_high_rss * tiny
        assert found.ohms_high_rss <= found.ohms_high * tiny


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_sensitivities_are_the_squares_of_currents(seed):
    """Cohn's theorem [M], against differences: dR/dr_k = i_k^2."""
    net = random_network(seed, (0, 3), nodes=6, paths=10)
    solver = Solver(net)
    a, b = net.resistances[0].a, net.resistances[0].b
    if a == b:
        return
    amps = solver.voltages(a, b).amps
    for one, flow in zip(net.resistances, amps, strict=True):
        step = 1e-4 * one.ohms
        up = Solver(with_value(net, one.ref, one.ohms + step)).resistance(a, b)
        down = Solver(with_value(net, one.ref, one.ohms - step)).resistance(a, b)
        assert (up - down) / (2 * step) == pytest.approx(flow**2, rel=1e-5, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_root_sum_square_is_that_of_the_parts_one_by_one(seed):
    net = spread(random_network(seed, (0, 3), nodes=6, paths=10), seed, 1.0001)
    a, b = net.resistances[0].a, net.resistances[0].b
    found = Corners(net).range(a, b)
    if a == b:
        return
    up = down = 0.0
    for one in net.resistances:
        more = Solver(with_value(net, one.ref, one.ohms_high)).resistance(a, b)
        less = Solver(with_value(net, one.ref, one.ohms_low)).resistance(a, b)
        up += (more - found.ohms) ** 2
        down += (less - found.ohms) ** 2
    assert found.ohms_high_rss - found.ohms == pytest.approx(up**0.5, rel=1e-3)
    assert found.ohms - found.ohms_low_rss == pytest.approx(down**0.5, rel=1e-3)


def test_parts_in_series_are_named_by_their_spread():
    """By hand: in series each adds its own spread; R4 carries nothing."""
    net = Network(
        ("a", "b", "c", "d", "e"),
        (
            resistor("R1", "a", "b", 100.0, 99.0, 101.0),
            resistor("R2", "b", "c", 1000.0, 950.0, 1050.0),
            resistor("R3", "c", "d", 0.01, 0.005, 0.02),
            resistor("R4", "a", "e", 1e6, 1e5, 1e7),
        ),
    )
    found = Corners(net).range("a", "d")
    assert (found.ohms_low, found.ohms_high) == pytest.approx((1049.005, 1151.02))
    assert found.ohms == pytest.approx(1100.01)
    spread_up = math.sqrt(1.0**2 + 50.0**2 + 0.01**2)
    assert found.ohms_high_rss - found.ohms == pytest.approx(spread_up)
    # R3 sets 0.015 of 102 ohm: not worth a name.
    assert found.because == ("R2", "R1")
    assert not found.assumed


def test_a_load_that_nobody_knows_is_named_first_and_called_assumed():
    """By hand: 10 k, 5 %, in parallel with 100 ohm to 1 Mohm."""
    net = Network(
        ("rail", "gnd"),
        (
            resistor("R1", "rail", "gnd", 10e3, 9.5e3, 10.5e3),
            resistor("U1", "rail", "gnd", 10e3, 100.0, 1e6, assumed=True),
        ),
    )
    found = Corners(net).range("rail", "gnd")
    assert found.ohms_low == pytest.approx(1 / (1 / 9.5e3 + 1 / 100.0))
    assert found.ohms_high == pytest.approx(1 / (1 / 10.5e3 + 1e-6))
    assert found.because == ("U1", "R1")
    assert found.assumed


def test_a_link_that_may_be_open_sets_a_range_without_end():
    """By hand: a jumper of 0 ohm that may be missing, behind 100 ohm."""
    net = Network(
        ("a", "b", "c"),
        (
            resistor("R1", "a", "b", 100.0, 99.0, 101.0),
            resistor("J1", "b", "c", 0.0, 0.0, math.inf),
        ),
    )
    found = Corners(net).range("a", "c")
    assert (found.ohms_low, found.ohms, found.ohms_high) == (99.0, 100.0, math.inf)
    assert found.ohms_high_rss == math.inf
    assert found.because[0] == "J1"


def test_a_path_that_may_be_there_sets_the_low_end():
    """By hand: nothing is known to lie across R1, 100 ohm might."""
    net = Network(
        ("a", "b"),
        (
            resistor("R1", "a", "b", 100.0),
            resistor("D1", "a", "b", math.inf, 100.0, math.inf),
        ),
    )
    found = Corners(net).range("a", "b")
    assert (found.ohms_low, found.ohms, found.ohms_high) == pytest.approx(
        (50, 100, 100)
    )
    assert found.because == ("D1",)


def test_exact_parts_are_named_by_what_they_contribute():
    """By hand: 2/3 of the ohms in R2."""
    found = Corners(network([("a", "b", 1.0), ("b", "c", 2.0)])).range("a", "c")
    assert found.ohms_low == found.ohms == found.ohms_high == pytest.approx(3.0)
    assert found.because == ("R2", "R1")


def test_nodes_apart_and_nodes_joined():
    corners = Corners(network([("a", "b", 0.0)], nodes=["c"]))
    apart, joined = corners.ranges([("a", "c"), ("a", "b")])
    assert (apart.ohms_low, apart.ohms_high, apart.because) == (math.inf, math.inf, ())
    assert (joined.ohms_low, joined.ohms_high, joined.because) == (0.0, 0.0, ())
