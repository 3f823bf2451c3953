"""Minimal hitting sets, in any order of the conflicts.

Values: REFERENCES A3 (Reiter 1987, section 4, recalled; sets computed) and A4
(Greiner, Smith and Wilkerson 1989, recalled; sets computed).
"""

from itertools import combinations, permutations

from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.netanalysis.diagnosis.hitting_sets import (
    minimal_hitting_sets,
    minimal_sets,
)


def named(text):
    return {frozenset(one) for one in text.split()}


REITER = ("245", "123", "135", "246", "24", "235", "16")
REITER_ANSWER = named("12 236 256 134 145 346")
GREINER = ("ab", "bc", "ac", "bd", "b")
GREINER_ANSWER = named("ab bc")


def test_tree_example():
    assert set(minimal_hitting_sets(REITER)) == REITER_ANSWER


def test_conflicts_that_hold_another_change_nothing():
    """{2,4} is in {2,4,5} and {2,4,6}."""
    fewer = [one for one in REITER if one not in ("245", "246")]
    assert set(minimal_hitting_sets(fewer)) == REITER_ANSWER


def test_every_order_of_the_tree_example():
    for order in permutations(REITER):
        assert set(minimal_hitting_sets(order)) == REITER_ANSWER


def test_every_order_that_made_the_published_pruning_lose_one():
    for order in permutations(GREINER):
        assert set(minimal_hitting_sets(order)) == GREINER_ANSWER


def test_every_superset_added():
    elements = sorted(set("".join(GREINER)))
    for one in GREINER:
        rest = [e for e in elements if e not in one]
        for size in range(1, len(rest) + 1):
            for more in combinations(rest, size):
                wider = (*GREINER, one + "".join(more))
                for order in (wider, wider[::-1]):
                    assert set(minimal_hitting_sets(order)) == GREINER_ANSWER


def test_ends():
    assert minimal_hitting_sets([]) == [frozenset()]
    assert minimal_hitting_sets(["ab", ""]) == []


def test_size_limit():
    assert set(minimal_hitting_sets(REITER, size_max=2)) == named("12")


@given(st.lists(st.frozensets(st.integers(0, 6), min_size=1, max_size=4), max_size=6))
def test_against_all_subsets(conflicts):
    """By enumeration of all subsets."""
    elements = sorted(set().union(*conflicts)) if conflicts else []
    hits = [
        frozenset(some)
        for size in range(len(elements) + 1)
        for some in combinations(elements, size)
        if all(set(some) & one for one in conflicts)
    ]
    assert set(minimal_hitting_sets(conflicts)) == set(minimal_sets(hits))
