"""Networks whose resistances are known: REFERENCES section G, by tag.

[S] is seen in the source named, [C] computed from first principles.
"""

import itertools
import math

import pytest
from _resistors import all_pairs, network

from ohmtrail.netanalysis.network.solve import Solver

NEAR = 1e-9


def cube(dimensions):
    corners = ["".join(bits) for bits in itertools.product("01", repeat=dimensions)]
    return [(a, b) for a, b in itertools.combinations(corners, 2) if apart(a, b) == 1]


def apart(a, b):
    return sum(x != y for x, y in zip(a, b, strict=True))


def complete(count):
    return list(itertools.combinations(range(count), 2))


def cycle(count):
    return [(k, (k + 1) % count) for k in range(count)]


OCTAHEDRON = [(a, b) for a, b in complete(6) if a + b != 5]
# Two poles, two rings of five: each of a ring next to two of the other.
ICOSAHEDRON = (
    [("N", f"u{k}") for k in range(5)]
    + [("S", f"d{k}") for k in range(5)]
    + [(f"u{k}", f"u{(k + 1) % 5}") for k in range(5)]
    + [(f"d{k}", f"d{(k + 1) % 5}") for k in range(5)]
    + [(f"u{k}", f"d{k}") for k in range(5)]
    + [(f"u{k}", f"d{(k + 1) % 5}") for k in range(5)]
)
# The generalised Petersen graphs (10, 2) and (5, 2).
DODECAHEDRON = (
    [(f"o{k}", f"o{(k + 1) % 10}") for k in range(10)]
    + [(f"o{k}", f"i{k}") for k in range(10)]
    + [(f"i{k}", f"i{(k + 2) % 10}") for k in range(10)]
)
PETERSEN = (
    [(f"o{k}", f"o{(k + 1) % 5}") for k in range(5)]
    + [(f"o{k}", f"i{k}") for k in range(5)]
    + [(f"i{k}", f"i{(k + 2) % 5}") for k in range(5)]
)


@pytest.mark.parametrize(
    ("edges", "pair", "ohms"),
    [
        # [S] schoolphysics.co.uk, Resistance networks; [C].
        (cube(3), ("000", "001"), 7 / 12),
        (cube(3), ("000", "011"), 3 / 4),
        (cube(3), ("000", "111"), 5 / 6),
        # [S] djm.cc puzzle archive.
        (complete(4), ("0", "3"), 1 / 2),
        (cube(4), ("0000", "1111"), 2 / 3),
        # [C] 2/n.
        (complete(7), ("2", "5"), 2 / 7),
        # [C] octahedron, icosahedron, dodecahedron, Petersen graph.
        (OCTAHEDRON, ("0", "1"), 5 / 12),
        (OCTAHEDRON, ("0", "5"), 1 / 2),
        (ICOSAHEDRON, ("N", "u0"), 11 / 30),
        (ICOSAHEDRON, ("N", "d0"), 7 / 15),
        (ICOSAHEDRON, ("N", "S"), 1 / 2),
        (DODECAHEDRON, ("o0", "o1"), 19 / 30),
        (PETERSEN, ("o0", "o1"), 3 / 5),
        (PETERSEN, ("o0", "o2"), 4 / 5),
        # [C] a ring of six.
        (cycle(6), ("0", "1"), 5 / 6),
        (cycle(6), ("0", "2"), 4 / 3),
        (cycle(6), ("0", "3"), 3 / 2),
        # [S] networkx 2.8 documentation of resistance_distance.
        ([(1, 2), (1, 3), (1, 4), (3, 4), (3, 5), (4, 5)], ("1", "3"), 0.625),
        # [C] unbalanced bridge.
        (
            [(1, 2, 1.0), (1, 3, 2.0), (2, 3, 3.0), (2, 4, 4.0), (3, 4, 5.0)],
            ("1", "4"),
            61 / 21,
        ),
        # [C] delta 10, 20, 30 is the star 10/3, 5, 10: two arms in series.
        ([("a", "b", 10.0), ("b", "c", 30.0), ("a", "c", 20.0)], ("a", "b"), 25 / 3),
        ([("a", "b", 10.0), ("b", "c", 30.0), ("a", "c", 20.0)], ("b", "c"), 15.0),
        ([("a", "b", 10.0), ("b", "c", 30.0), ("a", "c", 20.0)], ("a", "c"), 40 / 3),
        # [C] the star 30, 30, 30 is the delta 90, 90, 90.
        ([("a", "o", 30.0), ("b", "o", 30.0), ("c", "o", 30.0)], ("a", "b"), 60.0),
        ([("a", "b", 90.0), ("b", "c", 90.0), ("a", "c", 90.0)], ("a", "b"), 60.0),
    ],
)
def test_textbook_networks(edges, pair, ohms):
    assert Solver(network(edges)).resistance(*pair) == pytest.approx(ohms, rel=NEAR)


def test_the_farthest_corners_of_a_dodecahedron():
    """[C] 19/30 ... 7/6: 7/6 is the largest of all pairs."""
    net = network(DODECAHEDRON)
    assert max(Solver(net).resistances(all_pairs(net))) == pytest.approx(
        7 / 6, rel=NEAR
    )


def test_kirchhoff_index_of_a_ring():
    """[C] (n^3 - n) / 12 = 17.5 for six."""
    net = network(cycle(6))
    total = Solver(net).resistances(all_pairs(net)).sum()
    assert total == pytest.approx(17.5, rel=NEAR)


@pytest.mark.parametrize(
    ("edges", "nodes"),
    [
        (cube(3), 8),
        (complete(4), 4),
        (ICOSAHEDRON, 12),
        (DODECAHEDRON, 20),
        (PETERSEN, 10),
    ],
)
def test_foster_on_named_networks(edges, nodes):
    """[C] the sum over edges of R/r is n - 1: 7, 3, 11, 19, 9 (Foster, [M])."""
    solver = Solver(network(edges))
    total = sum(solver.resistance(str(a), str(b)) for a, b in edges)
    assert total == pytest.approx(nodes - 1, rel=NEAR)


def ladder(sections, series):
    edges = []
    for k in range(sections):
        edges += [(f"t{k}", f"t{k + 1}", series), (f"t{k + 1}", "gnd", 1.0)]
    return network(edges)


def test_ladders():
    """[C] 12 sections of 1 and 1 give the golden ratio to 1e-9; [S] schoolphysics."""
    golden = (1 + math.sqrt(5)) / 2
    assert Solver(ladder(12, 1.0)).resistance("t0", "gnd") == pytest.approx(
        golden, abs=NEAR
    )
    assert Solver(ladder(40, 2.0)).resistance("t0", "gnd") == pytest.approx(
        1 + math.sqrt(3), rel=NEAR
    )


def torus(size):
    edges = []
    for x, y in itertools.product(range(size), repeat=2):
        edges.append((f"{x},{y}", f"{(x + 1) % size},{y}"))
        edges.append((f"{x},{y}", f"{x},{(y + 1) % size}"))
    return network(edges)


def test_infinite_square_grid():
    """[S] OEIS A355565.

    A grid bent to a torus of n by n differs from the infinite one by a series in
    1/n^2 [C]: five sizes tell its limit (Neville's scheme).
    """
    wanted = {
        (1, 0): 1 / 2,
        (1, 1): 2 / math.pi,
        (2, 0): 2 - 4 / math.pi,
        (2, 1): 4 / math.pi - 1 / 2,
        (2, 2): 8 / (3 * math.pi),
    }
    sizes = (14, 20, 28, 40, 56)
    pairs = [("0,0", f"{x},{y}") for x, y in wanted]
    table = [Solver(torus(size)).resistances(pairs) for size in sizes]
    for order in range(1, len(sizes)):
        for k in range(len(sizes) - order):
            ratio = (sizes[k + order] / sizes[k]) ** 2
            table[k] = (ratio * table[k + 1] - table[k]) / (ratio - 1)
    assert table[0] == pytest.approx(list(wanted.values()), abs=NEAR)
