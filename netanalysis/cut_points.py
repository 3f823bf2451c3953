"""Links whose lift splits a group of nets in two."""

from collections import Counter, deque
from collections.abc import Collection, Iterable, Mapping

__all__ = ["bridges", "lost_by_lift"]


def bridges(
    start: str, edges: Iterable[tuple[str, str, str]]
) -> Mapping[str, frozenset[str]]:
    """Return the parts whose removal separates nets from the start.

    A *bridge* is an edge on no cycle.  A part with several edges (a coupled
    winding, a multi-way jumper) is never returned: lifting it opens them all.

    Parameters
    ----------
    start : str
        A net.
    edges : iterable of (ref, net, net)
        What joins the nets.

    Returns
    -------
    mapping
        Ref of each bridge -> the nets that are cut off from the start.

    Examples
    --------
    >>> cut = bridges("A", [("L1", "A", "B"), ("R1", "B", "C"), ("R2", "B", "C")])
    >>> {ref: sorted(nets) for ref, nets in cut.items()}
    {'L1': ['B', 'C']}

    Notes
    -----
    Depth-first search with low points (Tarjan 1974), without recursion, in
    O(nets + edges); the answer itself can be larger.
    """
    adjacent: dict[str, list[tuple[str, int]]] = {start: []}
    refs: list[str] = []
    count: dict[str, int] = {}
    for ref, a, b in edges:
        adjacent.setdefault(a, []).append((b, len(refs)))
        adjacent.setdefault(b, []).append((a, len(refs)))
        refs.append(ref)
        count[ref] = count.get(ref, 0) + 1
    order = {start: 0}
    low = {start: 0}
    visited = [start]
    found: dict[str, frozenset[str]] = {}
    stack = [(start, -1, iter(adjacent[start]))]
    while stack:
        net, came_by, rest = stack[-1]
        for other, edge in rest:
            if edge == came_by:
                continue
            if other in order:
                low[net] = min(low[net], order[other])
                continue
            order[other] = low[other] = len(visited)
            visited.append(other)
            stack.append((other, edge, iter(adjacent[other])))
            break
        else:
            stack.pop()
            if not stack:
                break
            parent = stack[-1][0]
            low[parent] = min(low[parent], low[net])
            if low[net] > order[parent] and count[refs[came_by]] == 1:
                # All visited since then hang below this edge.
                found[refs[came_by]] = frozenset(visited[order[net] :])
    return {ref: found[ref] for ref in dict.fromkeys(refs) if ref in found}


def lost_by_lift(
    start: str,
    level: Mapping[str, int],
    links: Collection[tuple[str, str, str]],
    switches: Collection[tuple[str, str, str]],
    liftable: Collection[str],
) -> Mapping[str, frozenset[str]]:
    """Return, by part, the nets that are lost to the start when it is lifted.

    A net is lost when it is reached no more, or only with more switches shorted
    than before.

    Parameters
    ----------
    start : str
        A net.
    level : mapping
        How many switches must be shorted to reach each net.
    links : collection of (ref, net, net)
        What always joins the nets.
    switches : collection of (ref, net, net)
        What joins them when shorted.
    liftable : collection of str
        The parts to try.

    Examples
    --------
    Behind the coil hang a switch and what it would join:

    >>> level = {"OUT": 0, "SW": 0, "IN": 1}
    >>> coil, switch = ("L1", "OUT", "SW"), ("Q1", "SW", "IN")
    >>> lost = lost_by_lift("OUT", level, [coil], [switch], {"L1"})
    >>> {ref: sorted(nets) for ref, nets in lost.items()}
    {'L1': ['IN', 'SW']}

    Notes
    -----
    O(nets + edges) to find the parts that split at all, and as much again for each
    of those.
    """
    inner = [edge for edge in links if level[edge[1]] == level[edge[2]] == 0]
    found = dict(bridges(start, inner))
    more = bridges(start, (*links, *switches)) if len(inner) < len(links) else {}
    count = Counter(ref for ref, _, _ in links)
    doubled = sorted(ref for ref, edges in count.items() if edges > 1)
    tried = [ref for ref in dict.fromkeys((*found, *more, *doubled)) if ref in liftable]
    near: dict[str, list[tuple[str, str, int]]] = {}
    for cost, edges in ((0, links), (1, switches)):
        for ref, a, b in edges:
            near.setdefault(a, []).append((ref, b, cost))
            near.setdefault(b, []).append((ref, a, cost))
    lost = {}
    for lifted in tried:
        if not switches and lifted in found:
            lost[lifted] = found[lifted]
            continue
        after = _levels(start, near, lifted)
        nets = frozenset(
            net for net, before in level.items() if after.get(net, 99) > before
        )
        if nets:
            lost[lifted] = nets
    return lost


def _levels(
    start: str, near: Mapping[str, list[tuple[str, str, int]]], lifted: str
) -> dict[str, int]:
    """Count the switches on the way to each net, one part lifted."""
    found: dict[str, int] = {}
    queue = deque([(start, 0)])
    while queue:
        net, cost = queue.popleft()
        if net in found:
            continue
        found[net] = cost
        for ref, other, more in near.get(net, ()):
            if ref != lifted and other not in found:
                if more:
                    queue.append((other, cost + 1))
                else:
                    queue.appendleft((other, cost))
    return found
