"""What is on a net, and beyond its links."""

from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit, Link
from ohmtrail.netanalysis.graph import CircuitView, view_of
from ohmtrail.netanalysis.part_roles import RoleBook

__all__ = ["NetAnswer", "NetPart", "Reach", "links_reach", "parts_on_net"]


@dataclass(frozen=True, slots=True)
class NetPart:
    """A part as seen from a net."""

    ref: str
    value: str
    kind: str
    #: Numbers of its pins on the net.
    pins: tuple[str, ...]
    role: str
    #: The net that they are on, and the links passed to get there.
    net: str
    via: tuple[str, ...] = ()
    fitted: bool = True


@dataclass(frozen=True, slots=True)
class NetAnswer:
    """Everything on a net and beyond its links."""

    net: str
    parts: tuple[NetPart, ...]
    beyond: tuple[NetPart, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """A net reached through links."""

    net: str
    #: Refs of the links passed, from the start.
    via: tuple[str, ...]
    #: False if one of them may be open (a jumper, a switch, a connector).
    always: bool = True


def _other(link: Link, net: str) -> str:
    return link.net_b if link.net_a == net else link.net_a


def links_reach(
    view: CircuitView, net: str, off: frozenset[str] = frozenset()
) -> dict[str, Reach]:
    """Return the nets that direct current reaches from one through links.

    Ground is neither reached nor walked through, unless it is the start: what
    lies beyond it is the whole board.  Links that are always closed go first, so
    that a net is reached over a jumper only where there is no other way.  Parts in
    ``off`` are off the board.

    Returns
    -------
    dict
        By net, the start first with an empty way, then nearest first.

    Notes
    -----
    O(nets and links reached).
    """
    reached: dict[str, Reach] = {net: Reach(net, ())}
    start_is_ground = view.is_ground(net)
    frontier = [net]
    for always in (True, False):
        queue = list(reached) if not always else frontier
        for here in queue:
            for link in view.links_at(here):
                if link.always is False and always:
                    continue
                other = _other(link, here)
                if other in reached or not view.fitted(link.ref) or link.ref in off:
                    continue
                if view.is_ground(other) and not start_is_ground:
                    continue
                way = reached[here]
                reached[other] = Reach(
                    other, (*way.via, link.ref), way.always and link.always
                )
                queue.append(other)
    return reached


def _net_part(
    view: CircuitView, book: RoleBook, ref: str, net: str, via: tuple[str, ...]
) -> NetPart:
    part = view.part(ref)
    return NetPart(
        ref=ref,
        value=part.value,
        kind=view.kind(ref),
        pins=tuple(pin.number for pin in view.pins_on(ref, net)),
        role=book.role(ref, net),
        net=net,
        via=via,
        fitted=view.fitted(ref),
    )


def parts_on_net(circuit: Circuit, net: str) -> NetAnswer:
    """Return the parts on a net with their roles, and those beyond its links.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    net : str
        Name of a net of the board.

    Returns
    -------
    NetAnswer
        ``parts`` are all that have a pin on the net, not fitted ones included and
        marked; ``beyond`` are the fitted ones on nets that direct current reaches
        through links (`links_reach`), each once, with the links passed.

    Raises
    ------
    KeyError
        If the board has no such net.

    Notes
    -----
    O(parts + pins) for the index, then the pins reached.
    """
    view = view_of(circuit)
    book = RoleBook(circuit, view)
    refs = dict.fromkeys(pin.ref for pin in circuit.board.net_by_name[net].pins)
    parts = tuple(_net_part(view, book, ref, net, ()) for ref in refs)
    beyond = []
    seen = set(refs)
    for reach in links_reach(view, net).values():
        for ref in view.refs(reach.net):
            if ref not in seen:
                seen.add(ref)
                beyond.append(_net_part(view, book, ref, reach.net, reach.via))
    return NetAnswer(net, parts, tuple(beyond))
