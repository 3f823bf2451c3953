"""Elimination of points one by one without a subtraction: star to mesh.

To eliminate a point is to replace the star of conductances around it by the mesh
that does the same: ``g_ij += g_ik g_jk / sum_k``.  Only positive numbers are added,
multiplied and divided, so every conductance keeps its relative accuracy however
badly the network is scaled, which no factorisation with differences can promise
(Grassmann, Taksar and Heyman 1985, from memory).  It is slow, and is used where the
quick factorisation of `factor` does not converge.
"""

import heapq
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.assembly import Floats, Ints

__all__ = ["Elimination", "eliminate"]

#: Stars of more rays than this are eliminated in a dense array.
_RAYS = 24


@dataclass(frozen=True, slots=True)
class Elimination:
    """An island's points eliminated in order, one of them kept as the zero of volts.

    Each step is a point, the points that its star reached, the share of its current
    that goes to each of them, and the sum of its conductances in siemens.
    """

    steps: tuple[tuple[int, Ints, Floats, float], ...]

    def solve(self, amps: Floats) -> Floats:
        """Return the volts at every point for currents fed in, shape (points, k).

        Componentwise accurate for currents that are nowhere negative.
        """
        flow = amps.copy()
        for point, others, shares, _ in self.steps:
            flow[others] += shares[:, None] * flow[point]
        volts = np.zeros_like(flow)
        for point, others, shares, siemens in reversed(self.steps):
            volts[point] = flow[point] / siemens + shares @ volts[others]
        return volts


def eliminate(tail: Ints, head: Ints, siemens: Floats, last: int) -> Elimination:
    """Eliminate all points of one connected island but ``last``.

    Parameters
    ----------
    tail, head : array of int, shape (edges,)
        Ends of the edges.
    siemens : array, shape (edges,)
        Their conductances, all above 0.
    last : int
        The point that is kept: 0 V.

    Notes
    -----
    Least degree first; what is left when every star is wide is done densely, in
    time that grows with the third power of its points.
    """
    stars: dict[int, dict[int, float]] = {last: {}}
    for a, b, g in zip(tail.tolist(), head.tolist(), siemens.tolist(), strict=True):
        for one, other in ((a, b), (b, a)):
            star = stars.setdefault(one, {})
            star[other] = star.get(other, 0.0) + g
    steps: list[tuple[int, Ints, Floats, float]] = []
    queue = [(len(star), point) for point, star in stars.items() if point != last]
    heapq.heapify(queue)
    while queue:
        rays, point = heapq.heappop(queue)
        if point not in stars or len(stars[point]) != rays:
            continue
        if rays > _RAYS:
            break
        star = stars.pop(point)
        total = sum(sorted(star.values()))
        others = list(star)
        shares = [star[other] / total for other in others]
        for i, one in enumerate(others):
            mesh = stars[one]
            del mesh[point]
            for j, other in enumerate(others):
                if i != j:
                    # The smaller share first: the product is the same both ways.
                    low, high = sorted((star[one], star[other]))
                    mesh[other] = mesh.get(other, 0.0) + high * (low / total)
            if one != last:
                heapq.heappush(queue, (len(mesh), one))
        steps.append(
            (point, np.array(others, dtype=np.intp), np.array(shares), total),
        )
    steps += _dense(stars, last)
    return Elimination(tuple(steps))


def _dense(
    stars: dict[int, dict[int, float]], last: int
) -> list[tuple[int, Ints, Floats, float]]:
    points = sorted(stars.keys() - {last})
    points.append(last)
    place = {point: number for number, point in enumerate(points)}
    mesh = np.zeros((len(points), len(points)))
    for point, star in stars.items():
        for other, g in star.items():
            mesh[place[point], place[other]] = g
    numbers = np.array(points, dtype=np.intp)
    steps: list[tuple[int, Ints, Floats, float]] = []
    for k in range(len(points) - 1):
        rays: Floats = mesh[k, k + 1 :]
        total = float(rays.sum())
        shares: Floats = rays / total
        mesh[k + 1 :, k + 1 :] += rays[:, None] * shares
        steps.append((points[k], numbers[k + 1 :], shares, total))
    return steps
