"""Published circuits: three multipliers and two adders, and the full adder.

Values: REFERENCES A1 (de Kleer and Williams 1987; conflicts and diagnoses as in
B. C. Williams, MIT 16.412J, 2004, and by enumeration; entropies computed from first
principles) and A2 (Reiter 1987, from memory, sets by enumeration).
"""

import math
from itertools import chain, combinations, product

import pytest

from ohmtrail.netanalysis.diagnosis.conflicts import (
    Rule,
    conflicts_of,
    minimal_conflict,
    minimal_conflicts,
    propagate,
)
from ohmtrail.netanalysis.diagnosis.entropy_probe import probes, updated
from ohmtrail.netanalysis.diagnosis.hitting_sets import minimal_hitting_sets

SEEN = {"A": 3, "B": 2, "C": 2, "D": 3, "E": 3, "F": 10, "G": 12}
PARTS = ("M1", "M2", "M3", "A1", "A2")


def multiplier(part, a, b, out):
    return [
        Rule(part, (a, b), out, lambda x, y: x * y),
        Rule(part, (out, a), b, lambda z, x: z / x if x else None),
        Rule(part, (out, b), a, lambda z, y: z / y if y else None),
    ]


def adder(part, a, b, out):
    return [
        Rule(part, (a, b), out, lambda x, y: x + y),
        Rule(part, (out, a), b, lambda z, x: z - x),
        Rule(part, (out, b), a, lambda z, y: z - y),
    ]


RULES = [
    *multiplier("M1", "A", "C", "X"),
    *multiplier("M2", "B", "D", "Y"),
    *multiplier("M3", "C", "E", "Z"),
    *adder("A1", "X", "Y", "F"),
    *adder("A2", "Y", "Z", "G"),
]


def sets(*names):
    return {frozenset(one.split()) for one in names}


CONFLICTS = sets("A1 M1 M2", "A1 A2 M1 M3")
DIAGNOSES = sets("A1", "M1", "A2 M2", "M2 M3")


@pytest.fixture(scope="module")
def known():
    return propagate(RULES, SEEN)


def predictions(diagnosis):
    """What all parts but these predict, with only what follows from good parts."""
    rules = [rule for rule in RULES if rule.part not in diagnosis]
    values = propagate(rules, SEEN)
    return {q: next(iter(values.get(q, {})), None) for q in "XYZ"}


def test_what_follows_inside(known):
    """A1: X = Y = Z = 6 from the inputs; 4 and 8 by the way back."""
    assert frozenset({"M1"}) in known["X"][6]
    assert frozenset({"M2"}) in known["Y"][6]
    assert frozenset({"M3"}) in known["Z"][6]
    assert frozenset({"A1", "M2"}) in known["X"][4]
    assert frozenset({"A1", "M1"}) in known["Y"][4]


def test_conflicts(known):
    assert set(conflicts_of(known)) == CONFLICTS


def test_diagnoses(known):
    assert set(minimal_hitting_sets(conflicts_of(known))) == DIAGNOSES


def consistent(good):
    rules = [rule for rule in RULES if rule.part in good]
    return not conflicts_of(propagate(rules, SEEN))


def test_the_same_from_an_oracle_that_only_says_yes_or_no():
    conflicts, diagnoses = minimal_conflicts(PARTS, consistent)
    assert set(diagnoses) == DIAGNOSES
    assert set(conflicts) <= CONFLICTS
    assert minimal_conflict(PARTS, lambda good: True) is None


def test_27_of_32_candidates_are_consistent():
    """A1, weak fault model: every set of bad parts whose rest is consistent."""
    every = chain.from_iterable(combinations(PARTS, n) for n in range(6))
    assert sum(consistent(set(PARTS) - set(bad)) for bad in every) == 27


@pytest.mark.parametrize(
    ("diagnosis", "expected"),
    [
        ("A1", (6, 6, 6)),
        ("M1", (4, 6, 6)),
        ("A2 M2", (6, 4, 6)),
        ("M2 M3", (6, 4, 8)),
    ],
)
def test_predictions_of_each_diagnosis(diagnosis, expected):
    assert tuple(predictions(frozenset(diagnosis.split())).values()) == expected


def weighed(p, candidates=DIAGNOSES):
    return {one: (p / (1 - p)) ** len(one) for one in candidates}


def table(candidates):
    rows = {one: predictions(one) for one in candidates}
    return {q: {one: row[q] for one, row in rows.items()} for q in "XYZ"}


def test_posterior_of_the_minimal_diagnoses():
    chances = weighed(0.01)
    total = sum(chances.values())
    assert chances[frozenset({"A1"})] / total == pytest.approx(0.4950, abs=1e-4)
    assert chances[frozenset({"M2", "M3"})] / total == pytest.approx(0.0050, abs=1e-4)


@pytest.mark.parametrize(
    ("p", "bits"),
    [
        (0.01, {"X": 0.99993, "Y": 0.08079, "Z": 0.04541}),
        (0.05, {"X": 0.99820, "Y": 0.28640, "Z": 0.16866}),
    ],
)
def test_x_is_probed_first(p, bits):
    found = probes(weighed(p), table(DIAGNOSES))
    assert [one.quantity for one in found] == ["X", "Y", "Z"]
    for one in found:
        assert one.bits == pytest.approx(bits[one.quantity], abs=1e-4)


def test_cost_of_each_probe():
    """A1: the formula is from memory, its values were computed: nats, p = 0.01."""
    found = {one.quantity: one.cost for one in probes(weighed(0.01), table(DIAGNOSES))}
    expected = {"X": -0.6931, "Y": -0.0560, "Z": -0.0315}
    for quantity, cost in expected.items():
        assert found[quantity] == pytest.approx(cost, abs=1e-4)


def test_all_27_candidates():
    every = chain.from_iterable(combinations(PARTS, n) for n in range(6))
    bad = [frozenset(one) for one in every if consistent(set(PARTS) - set(one))]
    chances = weighed(0.01, bad)
    total = sum(chances.values())
    assert chances[frozenset({"A1"})] / total == pytest.approx(0.478026, abs=1e-6)
    x = next(one for one in probes(chances, table(bad)) if one.quantity == "X")
    outcomes = dict(x.outcomes)
    assert outcomes[6] == pytest.approx(0.502365, abs=1e-6)
    assert outcomes[4] == pytest.approx(0.492561, abs=1e-6)
    assert x.unpredicted == pytest.approx(0.005074, abs=1e-6)
    entropy = -sum(c / total * math.log2(c / total) for c in chances.values())
    assert entropy == pytest.approx(1.35945, abs=1e-5)


def test_after_the_probe():
    x = table(DIAGNOSES)["X"]
    assert updated(weighed(0.01), x, 4) == {frozenset({"M1"}): 1.0}
    after = updated(weighed(0.01), x, 6)
    assert after[frozenset({"A1"})] == pytest.approx(0.9802, abs=1e-4)
    assert after[frozenset({"A2", "M2"})] == pytest.approx(0.0099, abs=1e-4)
    with pytest.raises(ValueError, match="no candidate"):
        updated(weighed(0.01), x, 5)


def test_fault_models_can_reject_a_superset():
    """A5 (de Kleer, Mackworth and Reiter 1990): with behaviour of bad parts known, a
    superset of a diagnosis need not be one.  Here a bad part's output reads one too
    much, so that two of them cannot make F = 13 from 12.
    """

    def explains(bad):
        x, y = (6 + ("M1" in bad), 6 + ("M2" in bad))
        return x + y + ("A1" in bad) == 13

    parts = ("M1", "M2", "A1")
    every = chain.from_iterable(combinations(parts, n) for n in range(4))
    found = [set(bad) for bad in every if explains(bad)]
    assert found == [{"M1"}, {"M2"}, {"A1"}]


def gates(good):
    """Whether good gates allow the full adder's readings, bad ones putting out any."""
    a, b, carry_in, total, carry = 1, 0, 1, 1, 0
    for x1, a1, a2 in product((0, 1), repeat=3):
        if "X1" in good and x1 != a ^ b:
            continue
        if "X2" in good and total != x1 ^ carry_in:
            continue
        if "A1" in good and a1 != (a & b):
            continue
        if "A2" in good and a2 != (x1 & carry_in):
            continue
        if "O1" in good and carry != (a1 | a2):
            continue
        return True
    return False


def test_full_adder():
    parts = ("X1", "X2", "A1", "A2", "O1")
    conflicts, diagnoses = minimal_conflicts(parts, gates)
    assert set(conflicts) == sets("X1 X2", "X1 A2 O1")
    assert set(diagnoses) == sets("X1", "X2 A2", "X2 O1")


def test_limits_are_errors():
    loop = [Rule("P", ("a",), "a", lambda x: x + 1)]
    assert propagate(loop, {"a": 0})["a"][0] == [frozenset()]
    with pytest.raises(ValueError, match="more than 3 steps"):
        propagate(RULES, SEEN, most=3)
