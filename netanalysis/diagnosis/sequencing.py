"""In which order to test: the AND/OR tree of least expected cost, and its bounds."""

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

__all__ = [
    "Sequence",
    "Tree",
    "entropy_bound",
    "greedy_tree",
    "huffman",
    "optimal_tree",
]

#: More states than this are not solved exactly.
_STATES_MAX = 20


@dataclass(frozen=True, slots=True)
class Tree:
    """A test with what follows; a leaf has no test and the states that are left."""

    states: tuple[int, ...]
    test: int | None = None
    passed: "Tree | None" = None
    failed: "Tree | None" = None
    #: Expected cost from here, weighted by the states' probability.
    cost: float = 0.0


def huffman(chances: Sequence[float]) -> float:
    """Return the expected number of yes-or-no questions if any could be asked.

    A lower bound for every strategy of unit costs.

    Examples
    --------
    >>> huffman([0.5, 0.25, 0.125, 0.125])
    1.75

    Notes
    -----
    O(n log n).
    """
    heap = list(chances)
    heapq.heapify(heap)
    total = 0.0
    while len(heap) > 1:
        both = heapq.heappop(heap) + heapq.heappop(heap)
        total += both
        heapq.heappush(heap, both)
    return total


def entropy_bound(chances: Sequence[float]) -> float:
    """Return the entropy in bits: no strategy of unit costs asks less on average."""
    return -sum(p * math.log2(p) for p in chances if p > 0)


def optimal_tree(
    chances: Sequence[float],
    signatures: Sequence[Sequence[int]],
    costs: Sequence[float] | None = None,
) -> Tree:
    """Return the tests of least expected cost that tell all states apart.

    Parameters
    ----------
    chances : sequence of float
        Probability of each state.
    signatures : sequence of sequence of int
        Which tests fail (1) in each state, shape (states, tests).
    costs : sequence of float, optional
        Of each test; 1 by default.

    Returns
    -------
    Tree
        States that no test tells apart share a leaf.

    Raises
    ------
    ValueError
        If shapes do not match or there are more than 20 states; use `greedy_tree`.

    Notes
    -----
    Dynamic programming over sets of states: O(3^n) at worst, NP-hard in general.

    References
    ----------
    K. R. Pattipati, M. G. Alexandridis, "Application of heuristic search and
    information theory to sequential fault diagnosis", IEEE Transactions on Systems,
    Man, and Cybernetics 20(4):872-887, 1990 (the problem; from memory).
    """
    masks, prices = _checked(chances, signatures, costs)
    if len(chances) > _STATES_MAX:
        raise ValueError(f"found {len(chances)} states, expected at most {_STATES_MAX}")
    weight = _weights(chances)

    @cache
    def best(left: int) -> tuple[float, int | None]:
        choice: tuple[float, int | None] = (math.inf, None)
        for test, mask in enumerate(masks):
            fail = left & mask
            if fail in (0, left):
                continue
            own = prices[test] * weight(left)
            if own >= choice[0]:
                continue
            total = own + best(fail)[0] + best(left & ~mask)[0]
            if total < choice[0] - 1e-12:
                choice = total, test
        return choice if choice[1] is not None else (0.0, None)

    return _grown((1 << len(chances)) - 1, masks, prices, weight, lambda s: best(s)[1])


def greedy_tree(
    chances: Sequence[float],
    signatures: Sequence[Sequence[int]],
    costs: Sequence[float] | None = None,
) -> Tree:
    """Return tests by most information for their cost, each as if it were the last.

    Parameters and result as in `optimal_tree`, without its limit.

    Notes
    -----
    O(states * tests) a node.  Not optimal: ties go to the first test.
    """
    masks, prices = _checked(chances, signatures, costs)
    weight = _weights(chances)

    def choose(left: int) -> int | None:
        best: tuple[float, int | None] = (0.0, None)
        total = weight(left)
        for test, mask in enumerate(masks):
            fail = left & mask
            if fail in (0, left):
                continue
            share = weight(fail) / total if total > 0 else 0.5
            gain = entropy_bound((share, 1 - share)) / max(prices[test], 1e-12)
            if best[1] is None or gain > best[0] + 1e-12:
                best = gain, test
        return best[1]

    return _grown((1 << len(chances)) - 1, masks, prices, weight, choose)


def _checked(
    chances: Sequence[float],
    signatures: Sequence[Sequence[int]],
    costs: Sequence[float] | None,
) -> tuple[list[int], list[float]]:
    tests = len(signatures[0]) if signatures else 0
    if len(signatures) != len(chances) or any(len(s) != tests for s in signatures):
        raise ValueError("expected one signature a state, all of one length")
    if costs is not None and len(costs) != tests:
        raise ValueError(f"found {len(costs)} costs, expected {tests}")
    masks = [
        sum(1 << i for i, signature in enumerate(signatures) if signature[test])
        for test in range(tests)
    ]
    return masks, list(costs) if costs is not None else [1.0] * tests


def _weights(chances: Sequence[float]) -> Callable[[int], float]:
    @cache
    def weight(left: int) -> float:
        return sum(p for i, p in enumerate(chances) if left >> i & 1)

    return weight


def _grown(
    left: int,
    masks: Sequence[int],
    prices: Sequence[float],
    weight: Callable[[int], float],
    choose: Callable[[int], int | None],
) -> Tree:
    states = tuple(i for i in range(left.bit_length()) if left >> i & 1)
    test = choose(left)
    if test is None:
        return Tree(states)
    passed = _grown(left & ~masks[test], masks, prices, weight, choose)
    failed = _grown(left & masks[test], masks, prices, weight, choose)
    cost = prices[test] * weight(left) + passed.cost + failed.cost
    return Tree(states, test, passed, failed, cost)
