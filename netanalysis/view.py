"""A finished `Circuit` as a `CircuitView`: adjacency for those who ask questions."""

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView, index_board
from ohmtrail.netanalysis.values import parse_value

__all__ = ["view_of"]


def view_of(circuit: Circuit) -> CircuitView:
    """Index a circuit: pins by net, links by net, rails by net, marked ohms.

    Notes
    -----
    O(parts + pins + links).
    """
    ohms: dict[str, float] = {}
    for part in circuit.board.parts:
        kind = circuit.kinds.get(part.ref)
        if kind is not None and kind.kind == "resistor" and part.value:
            value = parse_value(part.value, "resistor")
            if value is not None and value.ohms is not None:
                ohms[part.ref] = value.ohms
    for link in circuit.links:
        if link.ohms is not None and link.kind == "resistor":
            ohms.setdefault(link.ref, link.ohms)
    view = CircuitView(
        index=index_board(circuit.board),
        kinds=circuit.kinds,
        roles=circuit.roles,
        ground=circuit.ground,
        ohms_by_ref=ohms,
        stated_volts=circuit.stated_volts,
    )
    return view.with_links(circuit.links).with_rails(circuit.rails)
