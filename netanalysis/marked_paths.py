"""What the marked parts alone let a meter read between two nets.

A bleeder of 10 ohm makes its rail read 10 ohm, and a fuse makes its two ends read
nothing: neither is a fault.  Loads and leaks, which no file states, are left out.
"""

from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit

__all__ = ["MarkedPath", "marked_path"]

#: Parts whose ohms no file states and that conduct all the same.
_CONDUCT = ("fuse", "inductor", "bead")


@dataclass(frozen=True, slots=True)
class MarkedPath:
    """The resistance that marked parts make between two nets, in ohms."""

    low: float
    high: float
    #: Refs that set it.
    refs: tuple[str, ...]


def marked_path(circuit: Circuit, net: str, other: str) -> MarkedPath | None:
    """Return what marked resistors, coils, beads and fuses make; None for no path.

    Notes
    -----
    Builds and factors the whole board's network: for one reading, not for many.
    Imports scipy.
    """
    from ohmtrail.netanalysis.network.build import build_network
    from ohmtrail.netanalysis.network.elements import Network
    from ohmtrail.netanalysis.network.tolerance import Corners

    whole = build_network(circuit)
    kinds = circuit.kinds
    kept = tuple(
        one
        for one in whole.resistances
        if not one.assumed or (one.ref in kinds and kinds[one.ref].kind in _CONDUCT)
    )
    if net not in whole.nodes or other not in whole.nodes:
        return None
    found = Corners(Network(whole.nodes, kept)).range(net, other)
    if found.ohms_low == float("inf"):
        return None
    return MarkedPath(found.ohms_low, found.ohms_high, found.because)
