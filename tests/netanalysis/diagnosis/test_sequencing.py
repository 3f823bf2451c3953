"""The order of tests: known optima, and the bounds that hold for all.

Values: REFERENCES K (fixtures computed there; S5 and G5 are our own), half-split by
US Army subcourse IT0338 and the ten-part example of spideltech.com 2004.
"""

from itertools import chain, combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.diagnosis.sequencing import (
    entropy_bound,
    greedy_tree,
    huffman,
    optimal_tree,
)


def rows(*texts):
    return [[int(c) for c in text] for text in texts]


def free(n):
    """Return every way to split n states, up to which side is called failed."""
    picks = chain.from_iterable(combinations(range(1, n), k) for k in range(1, n))
    columns = [set(pick) for pick in picks]
    return [[int(state in column) for column in columns] for state in range(n)]


def contiguous(n):
    return [[int(state >= cut) for cut in range(1, n)] for state in range(n)]


def one_by_one(n):
    return [[int(state == test) for test in range(n)] for state in range(n)]


S5 = (0.70, 0.01, 0.02, 0.10, 0.17)
S5_ROWS = rows("00000", "01001", "00110", "10011", "11000")
G5 = (0.1, 0.2, 0.1, 0.4, 0.2)
G5_ROWS = rows("1111", "0011", "1000", "1001", "0100")
SIX = (0.35, 0.25, 0.15, 0.1, 0.1, 0.05)
FIXTURES = [
    ((0.5, 0.25, 0.125, 0.125), free(4), 1.75, 1.75, 1.75),
    ((0.4, 0.2, 0.2, 0.1, 0.1), free(5), 2.2, 2.2, 2.12193),
    ((1 / 7,) * 7, free(7), 2.85714, 2.85714, 2.80735),
    ((1 / 8,) * 8, free(8), 3.0, 3.0, 3.0),
    ((0.1,) * 10, contiguous(10), 3.4, 3.4, 3.32193),
    ((0.05,) * 4 + (0.8,), contiguous(5), 1.4, 1.4, 1.12193),
    ((0.4, *(0.05,) * 4, 0.4), contiguous(6), 2.0, 2.0, 1.92193),
    (S5, S5_ROWS, 2.12, 1.46, 1.30630),
    (G5, G5_ROWS, 2.3, 2.2, 2.12193),
    (SIX, one_by_one(6), 2.45, 2.40, 2.32113),
    (SIX, contiguous(6), 2.40, 2.40, 2.32113),
]


@pytest.mark.parametrize(("p", "signatures", "best", "code", "bits"), FIXTURES)
def test_known_answers(p, signatures, best, code, bits):
    assert optimal_tree(p, signatures).cost == pytest.approx(best, abs=1e-5)
    assert huffman(p) == pytest.approx(code, abs=1e-5)
    assert entropy_bound(p) == pytest.approx(bits, abs=1e-5)


def test_first_tests():
    assert optimal_tree(S5, S5_ROWS).test == 1
    assert optimal_tree(G5, G5_ROWS).test == 2


def test_greedy_is_not_optimal():
    found = greedy_tree(S5, S5_ROWS)
    assert (found.test, found.cost) == (0, pytest.approx(2.71))
    assert greedy_tree(G5, G5_ROWS).cost == pytest.approx(2.5)


def test_costs_count():
    assert optimal_tree(S5, S5_ROWS, (1, 2, 3, 1, 1)).cost == pytest.approx(2.71)


def test_suspects_are_lifted_in_the_order_of_their_chance():
    tree = optimal_tree(SIX, one_by_one(6))
    order = []
    while tree.test is not None:
        order.append(tree.test)
        tree = tree.passed
    assert order in ([0, 1, 2, 3, 4], [0, 1, 2, 4, 3])


def test_half_split_of_ten_parts():
    """The seventh of ten: seven checks one after the other, half-split takes three."""
    tree = optimal_tree((0.1,) * 10, contiguous(10))
    steps, fault = 0, 6
    while tree.test is not None:
        tree = tree.failed if fault >= tree.test + 1 else tree.passed
        steps += 1
    assert tree.states == (fault,)
    assert steps <= 4


def test_states_that_no_test_tells_apart_share_a_leaf():
    tree = optimal_tree((0.5, 0.25, 0.25), rows("0", "1", "1"))
    assert tree.failed.states == (1, 2)
    assert tree.cost == pytest.approx(1.0)


def test_bad_input():
    with pytest.raises(ValueError, match="one signature"):
        optimal_tree((0.5, 0.5), rows("0"))
    with pytest.raises(ValueError, match="costs"):
        optimal_tree((0.5, 0.5), rows("0", "1"), (1, 2))
    with pytest.raises(ValueError, match="at most 20"):
        optimal_tree((1 / 21,) * 21, one_by_one(21))
    assert greedy_tree((1 / 40,) * 40, contiguous(40)).cost < 6


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_bounds(data):
    """H <= Huffman <= optimal <= greedy, and Huffman < H + 1."""
    n = data.draw(st.integers(2, 6))
    weights = data.draw(st.lists(st.integers(1, 50), min_size=n, max_size=n))
    p = [w / sum(weights) for w in weights]
    extra = data.draw(
        st.lists(st.lists(st.integers(0, 1), min_size=n, max_size=n), max_size=4)
    )
    signatures = [
        [*row, *(column[i] for column in extra)] for i, row in enumerate(one_by_one(n))
    ]
    best = optimal_tree(p, signatures).cost
    assert entropy_bound(p) <= huffman(p) + 1e-9
    assert huffman(p) < entropy_bound(p) + 1 + 1e-9
    assert huffman(p) <= best + 1e-9
    assert best <= greedy_tree(p, signatures).cost + 1e-9
