"""The way through points is short, complete, and the same every time."""

import random
from itertools import pairwise, permutations
from math import dist

import pytest

from ohmtrail.netanalysis.probe_map.route import length_mm, short_route

#: The project's aim: at most so many times the best known way.
WORST = 1.1


def scattered(count: int, seed: int) -> list[tuple[float, float]]:
    """Points on a board of 150 by 100 mm."""
    chance = random.Random(seed)
    return [(chance.uniform(0, 150), chance.uniform(0, 100)) for _ in range(count)]


def shortest(points, start=None) -> float:
    """Length of the best way, by trying all."""
    return min(
        sum(dist(points[a], points[b]) for a, b in pairwise(order))
        + (dist(start, points[order[0]]) if start is not None else 0.0)
        for order in permutations(range(len(points)))
    )


@pytest.mark.parametrize("count", [2, 3, 5, 8])
@pytest.mark.parametrize("seed", range(3))
def test_few_points_the_best_way(count, seed):
    # The expected value is that of trying every order.
    points = scattered(count, seed)
    order = short_route(points)
    assert sorted(order) == list(range(count))
    assert length_mm(points, order) == pytest.approx(shortest(points))


@pytest.mark.parametrize("seed", range(3))
def test_the_way_begins_where_the_leg_before_ended(seed):
    points, start = scattered(7, seed), (10.0, 90.0)
    order = short_route(points, start)
    way = [start, *(points[one] for one in order)]
    length = length_mm(way, range(len(way)))
    assert length == pytest.approx(shortest(points, start))


def bound(points, rounds: int = 150) -> float:
    """Return a length that no open way through the points can be shorter than.

    M. Held, R. M. Karp, "The traveling-salesman problem and minimum spanning trees",
    Operations Research 18 (1970): a minimum 1-tree, with penalties on nodes that are
    not passed exactly once.  The gap of the open way is the special node: it is at no
    distance from all, so it adds the two least penalties.
    """
    import numpy as np
    from scipy.sparse.csgraph import minimum_spanning_tree

    places = np.array(points)
    far = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    penalty = np.zeros(len(points))
    best, step = 0.0, 2.0
    for _ in range(rounds):
        shifted = far + penalty[:, None] + penalty[None]
        shift = shifted.min() - 1.0
        tree = minimum_spanning_tree(np.triu(shifted - shift, 1)).tocoo()
        length = tree.data.sum() + shift * (len(points) - 1)
        ends = np.argsort(penalty)[:2]
        total = length + penalty[ends].sum() - 2 * penalty.sum()
        best = max(best, total)
        degree = np.bincount(tree.row, minlength=len(points))
        degree += np.bincount(tree.col, minlength=len(points))
        degree[ends] += 1
        penalty += step * (degree - 2)
        step *= 0.97
    return best


@pytest.mark.parametrize("seed", range(2))
def test_two_hundred_points_near_the_bound(seed):
    points = scattered(200, seed)
    order = short_route(points)
    assert sorted(order) == list(range(200))
    # The bound lies below every way, also below the best that any optimiser finds.
    assert length_mm(points, order) <= WORST * bound(points)


def test_the_bound_is_below_the_best_way():
    points = scattered(8, 1)
    assert bound(points) <= shortest(points) + 1e-9


def test_points_in_a_row_are_gone_through_in_their_order():
    points = [(float(x), 0.0) for x in (7, 3, 9, 1, 5, 0, 2, 8, 6, 4)]
    order = short_route(points)
    assert length_mm(points, order) == pytest.approx(9.0)


def test_pads_on_one_spot():
    # Several steps at one pad, or pads of parts on top of one another.
    points = [(1.0, 1.0)] * 12 + [(2.0, 2.0)] * 12
    order = short_route(points)
    assert sorted(order) == list(range(24))
    assert length_mm(points, order) == pytest.approx(dist((1, 1), (2, 2)))


def test_the_same_points_give_the_same_way():
    points = scattered(60, 5)
    assert short_route(points) == short_route(list(points))


@pytest.mark.parametrize("points", [[], [(3.0, 4.0)]])
def test_nothing_to_go_through(points):
    assert short_route(points) == list(range(len(points)))
