"""Links whose lift splits a group of nets in two."""

from collections.abc import Iterable, Mapping

__all__ = ["bridges"]


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
