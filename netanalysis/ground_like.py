"""Nets that are ground but for a shunt or a bead."""

from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["ground_like"]

#: Parts that tie a power ground to ground: shunts, 0 ohm parts, beads, bridges.
_TIES = ("resistor", "bead", "jumper", "other")


def ground_like(view: CircuitView) -> frozenset[str]:
    """Return the ground nets and what a shunt, 0 ohm part or bead ties to them.

    A part from a rail to such a net holds the rail down as one to ground does.
    Only links that are always closed count, and supply rails never do.

    Notes
    -----
    O(links of the ground nets).
    """
    found = set(view.ground)
    for net in view.ground:
        for link in view.links_at(net):
            other = link.net_b if link.net_a == net else link.net_a
            tied = link.kind in _TIES and link.always and view.fitted(link.ref)
            if tied and other not in view.rails:
                found.add(other)
    return frozenset(found)
