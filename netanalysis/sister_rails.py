"""Rails that should read alike: same volts, same sort of maker, same loads."""

from ohmtrail.netanalysis.circuit import Circuit, Rail

__all__ = ["sister_rail"]


def _shape(circuit: Circuit, rail: Rail) -> tuple[object, ...] | None:
    """Return what makes two rails alike; None where too little is known to say."""
    parts = circuit.board.part_by_ref
    loads = sorted(parts[ref].value for ref in rail.loads if ref in parts)
    if rail.volts is None or not any(loads):
        return None
    maker = parts[rail.source].value if rail.source is not None else ""
    return abs(rail.volts), maker, tuple(loads)


def sister_rail(circuit: Circuit, net: str) -> str | None:
    """Return a rail that a healthy board reads as it reads this one, or None.

    It is not one with this rail through links: that would read alike in any case.

    Notes
    -----
    O(rails + links).
    """
    mine = next((rail for rail in circuit.rails if rail.net == net), None)
    shape = _shape(circuit, mine) if mine is not None else None
    if mine is None or shape is None:
        return None
    near: dict[str, list[str]] = {}
    for link in circuit.links:
        near.setdefault(link.net_a, []).append(link.net_b)
        near.setdefault(link.net_b, []).append(link.net_a)
    joined, queue = {net}, [net]
    for here in queue:
        for other in near.get(here, ()):
            if other not in joined and other not in circuit.ground:
                joined.add(other)
                queue.append(other)
    for rail in circuit.rails:
        if rail.net not in joined and _shape(circuit, rail) == shape:
            return rail.net
    return None
