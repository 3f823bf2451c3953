"""How far an assumed path lies within its range on 19 healthy boards of 20.

A marked part stays within its tolerance, and a range given to a reading counts on
nothing else.  What no file states (a chip's leak, an idle driver, the load of a rail)
has a range that no healthy board leaves; with every such path at its end at once no
range would tell anything.  So an expected reading takes each of them at the end that
one healthy board in 20 is beyond: its value counts as spread evenly on a logarithmic
scale, as far above the usual value as below it (common practice, no source).

Several such paths that may be there or not are independent: the lowest reading takes
their root-sum-square in siemens, and marked parts at their worst.  All that is rarer
than one path beyond its end, so a range holds at least 19 readings of 20.  Whether a
rail is shorted never rests on these ends, and the low end of a load is that of its
class.
"""

from dataclasses import replace

from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.scene import Range

__all__ = ["BEYOND", "LIKELY", "at_least", "at_most", "likely_network"]

#: Share of healthy boards whose path lies beyond one likely end.
BEYOND = 0.05
#: What is said of a range that such a path takes part in.
LIKELY = "19 healthy boards of 20 read within: what no file states is taken as usual"

Likely = tuple[float, float]


def at_least(ohms: Range) -> Likely:
    """Return the likely ends of a path that may be missing: only the low one moves.

    >>> from ohmtrail.netanalysis.network.scene import Range
    >>> [round(end) for end in at_least(Range(1e3, 1e5, 1e9))]
    [1585, 1000000000]
    """
    return _quantile(ohms, BEYOND), ohms.high


def at_most(ohms: Range) -> Likely:
    """Return the likely ends of a path that must not read lower: the high one moves.

    >>> from ohmtrail.netanalysis.network.scene import Range
    >>> import math
    >>> [round(end) for end in at_most(Range(50.0, 1e3, math.inf))]
    [50, 14823]
    """
    return ohms.low, min(ohms.high, _quantile(ohms, 1.0 - BEYOND))


def _quantile(ohms: Range, share: float) -> float:
    """Return what a share of healthy paths lies below, in ohms."""
    return ohms.low * float((ohms.typical / ohms.low) ** (2.0 * share))


def likely_network(network: Network) -> Network:
    """Return the network with every path that has likely ends at those.

    A path keeps them as a mark where it is independent of others: where its low end
    moved.  The same network where no path has any.
    """
    if all(one.likely is None for one in network.resistances):
        return network
    return Network(
        network.nodes, tuple(map(_likely, network.resistances)), network.junctions
    )


def _likely(one: Resistance) -> Resistance:
    if one.likely is None:
        return one
    low, high = one.likely
    mark = one.likely if low > one.ohms_low else None
    return replace(one, ohms_low=low, ohms_high=high, likely=mark)
