"""Which of several grounds is a rail's own."""

from collections import Counter

from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["own_ground"]


def own_ground(view: CircuitView, net: str) -> str:
    """Return the ground that most of a net's parts share with it.

    Parameters
    ----------
    view : CircuitView
    net : str

    Returns
    -------
    str
        The board's main ground where nothing tells, empty where none is known.

    Notes
    -----
    O(pins of the parts on the net).
    """
    grounds = view.ground
    if len(grounds) < 2:
        return grounds[0] if grounds else ""
    shared = Counter(
        other
        for ref in view.refs(net)
        for other in set(view.nets(ref))
        if view.is_ground(other)
    )
    return max(grounds, key=lambda one: shared[one])
