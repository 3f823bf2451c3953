"""Low-rank updates read what a fresh solution reads."""

import math

import numpy as np
import pytest
from _resistors import all_pairs, network, random_network, resistor
from hypothesis import given, settings
from hypothesis import strategies as st

import ohmtrail.netanalysis.network.update as update
from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.solve import Solver
from ohmtrail.netanalysis.network.update import Change, resistances_after

SEEDS = st.integers(0, 10**6)


def random_changes(seed, net, decades, count=8):
    """Return hypotheses: parts lifted, shorts, leaks, new nodes, all at once."""
    rng = np.random.default_rng([seed, 1])
    nodes = [*net.nodes, "new1", "new2"]
    refs = [one.ref for one in net.resistances]
    changes = []
    for _ in range(count):
        add = []
        for k in range(int(rng.integers(3))):
            a, b = rng.integers(len(nodes), size=2)
            ohms = float(10.0 ** rng.uniform(*decades))
            ohms = 0.0 if rng.random() < 0.3 else ohms
            add.append(resistor(f"F{k}", nodes[a], nodes[b], ohms))
        without = rng.choice(refs, size=int(rng.integers(4)), replace=False)
        changes.append(Change(tuple(map(str, without)), tuple(add)))
    return changes


def fresh(net, pairs, changes):
    columns = [
        Solver(net.changed(without=c.without, add=c.add)).resistances(pairs)
        for c in changes
    ]
    return np.array(columns).T


@settings(max_examples=80, deadline=None)
@given(SEEDS, st.sampled_from([(0, 1), (0, 6)]), st.integers(8, 26))
def test_updates_are_fresh_solutions(seed, decades, paths):
    net = random_network(seed, decades, nodes=10, paths=paths, odd=0.1)
    pairs = all_pairs(net)
    changes = random_changes(seed, net, decades)
    found = resistances_after(Solver(net), pairs, changes)
    assert found == pytest.approx(fresh(net, pairs, changes), rel=3e-8)


@settings(max_examples=80, deadline=None)
@given(SEEDS)
def test_updates_of_badly_scaled_networks(seed):
    """Where rounding has spoilt an update, a fresh solution takes its place."""
    net = random_network(seed, (-4, 9), nodes=10, paths=16, odd=0.1)
    pairs = all_pairs(net)
    changes = random_changes(seed, net, (-4, 9))
    found = resistances_after(Solver(net), pairs, changes)
    assert found == pytest.approx(fresh(net, pairs, changes), rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_pairs_on_new_nodes(seed):
    net = random_network(seed, (0, 4), nodes=5, paths=6)
    changes = [
        Change(("R1",), (*c.add, resistor("F9", "new1", "n0", 5.0)))
        for c in random_changes(seed, net, (0, 4), count=4)
    ]
    changes.append(Change())
    every = net.changed(add=[resistor("F", "new1", "new1", 1.0)])
    pairs = all_pairs(every)
    found = resistances_after(Solver(net), pairs, changes)
    assert found == pytest.approx(fresh(every, pairs, changes), rel=3e-8)


@pytest.fixture
def no_fresh_solution(monkeypatch):
    """Fail where a hypothesis costs a factorisation."""

    def refuse(*_):
        raise AssertionError("solved afresh")

    monkeypatch.setattr(update._Update, "_afresh", refuse)


# By hand: series and parallel.
BRIDGE = network(
    [("a", "b", 10.0), ("b", "c", 20.0), ("a", "c", 30.0), ("c", "d", 5.0)],
    nodes=["gnd"],
)


@pytest.mark.usefixtures("no_fresh_solution")
@pytest.mark.parametrize(
    ("without", "add", "ab", "ad", "agnd"),
    [
        ((), (), 10 * 50 / 60, 20.0, math.inf),
        (("R1",), (), 50.0, 35.0, math.inf),
        # R4 alone holds d: lifting it cuts d off, and nothing else changes.
        (("R4",), (), 10 * 50 / 60, math.inf, math.inf),
        # R1 and R2 together cut b off.
        (("R1", "R2"), (), math.inf, 35.0, math.inf),
        (("R1", "R3", "R4"), (), math.inf, math.inf, math.inf),
        ((), (("a", "b", 0.0),), 0.0, 17.0, math.inf),
        ((), (("b", "c", 0.0),), 7.5, 12.5, math.inf),
        # A fault to another island changes nothing within one.
        ((), (("b", "gnd", 0.5),), 10 * 50 / 60, 20.0, 10 * 50 / 60 + 0.5),
        ((), (("d", "gnd", 0.0),), 10 * 50 / 60, 20.0, 20.0),
        # Two of them do: 0.25 + 0.25 across a and b.
        (
            (),
            (("a", "gnd", 0.25), ("b", "gnd", 0.25)),
            1 / (6 / 50 + 2),
            None,
            None,
        ),
        # R1 drifted to 70 ohm.
        (("R1",), (("b", "a", 70.0),), 70 * 50 / 120, 30 * 90 / 120 + 5, math.inf),
    ],
)
def test_by_hand_without_a_fresh_solution(without, add, ab, ad, agnd):
    faults = tuple(resistor("F", *one) for one in add)
    pairs = [("a", "b"), ("a", "d"), ("a", "gnd")]
    found = resistances_after(Solver(BRIDGE), pairs, [Change(without, faults)])[:, 0]
    for ohms, want in zip(found, (ab, ad, agnd), strict=True):
        assert want is None or ohms == pytest.approx(want, rel=1e-12)


def test_a_milliohm_lifted_off_a_gigaohm():
    """The reading rises by 12 decades: no update can tell it, a fresh solution can."""
    net = network([("a", "b", 1e-3), ("a", "b", 1e9), ("b", "c", 1.0)])
    found = resistances_after(
        Solver(net), [("a", "b"), ("a", "c")], [Change(("R1",)), Change(("R1", "R2"))]
    )
    assert found[:, 0] == pytest.approx([1e9, 1e9 + 1.0], rel=1e-12)
    assert (found[:, 1] == math.inf).all()


def test_a_jumper_lifted_and_one_beside_it_left():
    net = network([("a", "b", 0.0), ("a", "b", 0.0), ("b", "c", 7.0), ("a", "d", 0.0)])
    pairs = [("a", "c"), ("d", "c"), ("a", "b")]
    lifts = [Change(("R1",)), Change(("R1", "R2")), Change(("R4",))]
    found = resistances_after(Solver(net), pairs, lifts)
    inf = math.inf
    assert found.T.tolist() == [[7.0, 7.0, 0.0], [inf, inf, inf], [7.0, inf, 0.0]]


def test_a_part_that_the_network_lacks_changes_nothing():
    found = resistances_after(Solver(BRIDGE), [("a", "d")], [Change(("C7",))])
    assert found[0, 0] == pytest.approx(20.0)


def test_hypotheses_do_not_see_one_another():
    """One by one, and all at once in more columns than one chunk holds."""
    net = random_network(5, (0, 6), nodes=40, paths=90)
    pairs = all_pairs(net)[::20]
    changes = random_changes(5, net, (0, 6), count=150)
    solver = Solver(net)
    whole = resistances_after(solver, pairs, changes)
    for k in range(0, 150, 7):
        alone = resistances_after(solver, pairs, [changes[k]])
        assert whole[:, [k]] == pytest.approx(alone, rel=1e-9)


def test_nothing_asked_and_nothing_there():
    assert resistances_after(Solver(BRIDGE), [], [Change()]).shape == (0, 1)
    assert resistances_after(Solver(BRIDGE), [("a", "b")], []).shape == (1, 0)
    empty = Solver(Network(()))
    fault = Change((), (resistor("F", "x", "y", 3.0),))
    assert resistances_after(empty, [("x", "y")], [fault])[0, 0] == pytest.approx(3.0)


def test_bad_questions():
    solver = Solver(BRIDGE)
    with pytest.raises(ValueError, match=r"^no node 'x' in the network$"):
        resistances_after(solver, [("a", "x")], [Change(("R1",))])
    bad = Change((), (resistor("F1", "a", "b", -2.0),))
    with pytest.raises(ValueError, match="F1: expected 0 ohm or more, found"):
        resistances_after(solver, [("a", "b")], [bad])
