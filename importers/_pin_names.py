"""Names for drawn nets that no label names: after their first pin, as KiCad does."""

from collections.abc import Callable, Iterable

from ohmtrail.importers._numbering import free_name

__all__ = ["count_objects", "name_after_pins"]


def count_objects(
    objects: Iterable[tuple[int, int]], find: Callable[[int], int]
) -> dict[int, int]:
    """Return how many drawn things each joined group holds.

    Parameters
    ----------
    objects : iterable of (node, count)
        How many things touch at each node.
    find : callable
        Node -> the node that stands for its group.
    """
    counts: dict[int, int] = {}
    for node, count in objects:
        root = find(node)
        counts[root] = counts.get(root, 0) + count
    return counts


def name_after_pins(
    nets: dict[int, str],
    taken: set[str],
    pins: Iterable[tuple[str, str, int]],
    objects: dict[int, int],
    find: Callable[[int], int],
) -> None:
    """Name the groups that have no name yet, "Net-(R1-Pad2)".

    A lone pin that touches nothing is in no net: it gets none.

    Parameters
    ----------
    nets : dict
        Name of each group; gets the new ones.
    taken : set of str
        Names in use; gets the new ones.
    pins : iterable of (ref, pin number, node)
        In the order of the file.
    objects : dict
        As `count_objects` returns it.
    find : callable
        Node -> the node that stands for its group.

    Examples
    --------
    >>> nets = {0: "GND"}
    >>> pins = [("R1", "1", 0), ("R1", "2", 1), ("R2", "1", 1), ("R2", "2", 2)]
    >>> name_after_pins(nets, {"GND"}, pins, {0: 2, 1: 2, 2: 1}, lambda node: node)
    >>> nets
    {0: 'GND', 1: 'Net-(R1-Pad2)'}
    """
    last: dict[str, int] = {}
    for ref, number, node in pins:
        root = find(node)
        if root in nets or objects[root] < 2:
            continue
        name = f"Net-({ref}-Pad{number})"
        if name in taken:
            name = free_name(name, "_", taken, last)
        taken.add(name)
        nets[root] = name
