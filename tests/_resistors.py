"""Networks of resistors for tests, and an exact solver in fractions.

Import it plainly (``from _resistors import network``), as `_oracles`.
"""

import heapq
import math
from fractions import Fraction

import numpy as np

from ohmtrail.netanalysis.network.elements import Network, Resistance


def resistor(ref, a, b, ohms, low=None, high=None, assumed=False):
    """Return a resistance, without a range unless one is stated."""
    low = ohms if low is None else low
    high = ohms if high is None else high
    return Resistance(ref, str(a), str(b), ohms, low, high, assumed=assumed)


def network(edges, ohms=1.0, nodes=()):
    """Return a network of edges (a, b) or (a, b, ohms), refs R1, R2, ..."""
    resistances = []
    for number, (a, b, *own) in enumerate(edges, 1):
        resistances.append(resistor(f"R{number}", a, b, own[0] if own else ohms))
    names = dict.fromkeys(str(node) for node in nodes)
    for one in resistances:
        names.update(dict.fromkeys((one.a, one.b)))
    return Network(tuple(names), tuple(resistances))


def random_network(seed, decades, nodes=12, paths=24, odd=0.0):
    """Return a random network; a share ``odd`` of its paths is 0 ohm or no path."""
    rng = np.random.default_rng(seed)
    edges = []
    for _ in range(paths):
        a, b = rng.integers(nodes, size=2)
        ohms = float(10.0 ** rng.uniform(*decades))
        if rng.random() < odd:
            ohms = 0.0 if rng.random() < 0.5 else math.inf
        edges.append((f"n{a}", f"n{b}", ohms))
    return network(edges, nodes=[f"n{k}" for k in range(nodes)])


def all_pairs(net):
    return [(a, b) for k, a in enumerate(net.nodes) for b in net.nodes[:k]]


def exact_ohms(net, a, b):
    """Eliminate all nodes but two, in fractions; resistances above 0 only.

    Star to mesh, the node with the fewest paths first: a whole board takes hundredths
    of a second a pair.
    """
    stars = _stars(net, a)
    if a == b or b not in stars:
        return 0.0 if a == b else math.inf
    queue = [(len(star), node) for node, star in stars.items() if node not in (a, b)]
    heapq.heapify(queue)
    while queue:
        paths, node = heapq.heappop(queue)
        if node not in stars or len(stars[node]) != paths:
            continue
        star = stars.pop(node)
        total = sum(star.values())
        for one in star:
            mesh = stars[one]
            del mesh[node]
            for other in star:
                if other != one:
                    more = star[one] * star[other] / total
                    mesh[other] = mesh.get(other, 0) + more
            if one not in (a, b):
                heapq.heappush(queue, (len(mesh), one))
    return float(1 / stars[a][b])


def _stars(net, a):
    """Return the siemens from every node of ``a``'s island to its neighbours."""
    stars = {node: {} for node in net.nodes}
    for one in net.resistances:
        if one.a != one.b and one.ohms != math.inf:
            siemens = 1 / Fraction(one.ohms)
            for here, there in ((one.a, one.b), (one.b, one.a)):
                stars[here][there] = stars[here].get(there, 0) + siemens
    island, todo = {a}, [a]
    while todo:
        fresh = stars[todo.pop()].keys() - island
        island |= fresh
        todo += fresh
    return {node: stars[node] for node in net.nodes if node in island}
