"""Where the board gets its supply from."""

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["supply_entry"]


def supply_entry(
    circuit: Circuit, view: CircuitView
) -> tuple[str, float | None] | None:
    """Return the net at which the board is powered and its nominal volts.

    The rail at a connector from which most else is made, and that nothing else
    makes; its volts are None where nothing tells them, and the answer is None where
    no rail comes in from outside.

    Notes
    -----
    O(rails squared).
    """
    by_net = {rail.net: rail for rail in circuit.rails}
    volts = {
        net: circuit.stated_volts.get(net, rail.volts) for net, rail in by_net.items()
    }

    def fed(net: str) -> int:
        seen = {net}
        queue = [net]
        for here in queue:
            rail = by_net.get(here)
            for other in rail.feeds if rail is not None else ():
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return len(seen)

    made = {other for rail in circuit.rails for other in rail.feeds}
    best: tuple[tuple[bool, bool, int, float], str, float | None] | None = None
    for net in by_net:
        nominal = volts[net]
        if (nominal is not None and nominal <= 0) or view.is_ground(net):
            continue
        outside = any(
            view.kind(ref) in ("connector", "battery") for ref in _near(view, net)
        )
        key = (outside, net not in made, fed(net), nominal or 0.0)
        if best is None or key > best[0]:
            best = key, net, nominal
    if best is None or not best[0][0]:
        return None
    return best[1], best[2]


def _near(view: CircuitView, net: str) -> tuple[str, ...]:
    found = list(view.refs(net))
    for link in view.links_at(net):
        other = link.net_b if link.net_a == net else link.net_a
        if not view.is_ground(other):
            found += view.refs(other)
    return tuple(found)
