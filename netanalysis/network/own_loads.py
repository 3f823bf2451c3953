"""Loads are at least what the board under repair itself reads.

A path can only lower a reading (Rayleigh's monotonicity law), and a fault across a rail
is one more path.  So whatever is wrong with the board, its loads are no lower than its
rails read, less the links on the way: the low ends of the loads rise, nothing else
moves, and a shorted rail says nothing.  One fault does raise a reading: a break, of a
link or of a pin.  So no end rises beyond what is usual, and OL says nothing.
"""

import heapq
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.evidence import Evidence, spread
from ohmtrail.netanalysis.network.load_classes import is_load

__all__ = ["with_own_loads"]

#: Links of no more than this share of a reading, on the way to a load, count.
_LINKS_SHARE = 0.3

_Ways = Mapping[str, list[tuple[str, float]]]


def with_own_loads(
    network: Network, evidence: Evidence, off: frozenset[str] = frozenset()
) -> Network:
    """Return the network with the low ends of what is assumed raised.

    Parameters
    ----------
    network : Network
        The board, healthy, with the parts ``off`` taken off.
    evidence : Evidence
        Its ``own`` readings count, with the same parts off.
    off : frozenset of str
        Parts off the board.

    Notes
    -----
    O(elements) and a short walk over links a reading.  The loads of one rail share
    what it reads as they share its class.
    """
    nodes = frozenset(network.nodes)
    least: dict[frozenset[str], tuple[float, int]] = {}
    for (mode, plus, minus, parts), events in evidence.own.items():
        if mode not in ("resistance", "four-wire") or parts != off:
            continue
        if not {plus, minus} <= nodes:
            continue
        for event in events:
            if event.value is None or math.isinf(event.value):
                continue
            read = spread(mode, event.value, sisters=True)[0], event.line
            pair = frozenset((plus, minus))
            # Of readings that differ, the one that says least.
            least[pair] = min(read, least.get(pair, read))
    raised: dict[int, tuple[float, int]] = {}
    ways = _links(network, max((ohms for ohms, _ in least.values()), default=0.0))
    for pair, (ohms, line) in least.items():
        for place, low in _raised(network, ways, sorted(pair), ohms):
            if low > raised.get(place, (0.0, 0))[0]:
                raised[place] = low, line
    if not raised:
        return network
    resistances = list(network.resistances)
    for place, (low, line) in raised.items():
        resistances[place] = _least(resistances[place], low, line)
    return Network(network.nodes, tuple(resistances), network.junctions)


def _links(network: Network, ohms: float) -> _Ways:
    """Return the links on the way to loads, by node: (other node, ohms at most)."""
    ways: dict[str, list[tuple[str, float]]] = {}
    for one in network.resistances:
        if one.ohms_high <= _LINKS_SHARE * ohms:
            ways.setdefault(one.a, []).append((one.b, one.ohms_high))
            ways.setdefault(one.b, []).append((one.a, one.ohms_high))
    return ways


def _near(ways: _Ways, start: str, most: float) -> dict[str, float]:
    """Return the nodes within so many ohms, with the ohms of links on the way."""
    found: dict[str, float] = {}
    queue = [(0.0, start)]
    while queue:
        ohms, node = heapq.heappop(queue)
        if node in found:
            continue
        found[node] = ohms
        for other, more in ways.get(node, ()):
            if other not in found and ohms + more <= most:
                heapq.heappush(queue, (ohms + more, other))
    return found


def _raised(
    network: Network, ways: _Ways, pair: list[str], ohms: float
) -> Iterator[tuple[int, float]]:
    """Yield (place of a path that no file states, its new low end in ohms)."""
    one, two = (_near(ways, end, _LINKS_SHARE * ohms) for end in pair)
    if one.keys() & two.keys():
        return  # Links join the two: one of them must be open.
    loads: dict[int, float] = {}
    for place, path in enumerate(network.resistances):
        if not path.assumed:
            continue
        ends = (path.a, path.b) if path.a in one else (path.b, path.a)
        if ends[0] not in one or ends[1] not in two:
            continue
        links = one[ends[0]] + two[ends[1]]
        rest = ohms - links
        if is_load(path) and path.ohms_low > 0.0:
            loads[place] = links
        elif min(rest, path.ohms) > path.ohms_low:
            yield place, min(rest, path.ohms)
    if loads:
        paths = [network.resistances[place] for place in loads]
        rest = ohms - max(loads.values())
        together = 1 / sum(1 / path.ohms_low for path in paths)
        for place, path in zip(loads, paths, strict=True):
            low = min(path.ohms_low * rest / together, path.ohms)
            if low > path.ohms_low:
                yield place, low


def _least(one: Resistance, low: float, line: int) -> Resistance:
    likely = one.likely
    if likely is not None:
        likely = max(likely[0], low), max(likely[1], low)
    because = f"{one.because}; not below what line {line} reads"
    return replace(one, ohms_low=low, likely=likely, because=because)
