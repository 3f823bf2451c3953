"""Field-effect transistors known by where they sit, when no value tells.

A refdes of a transistor alone says nothing of its family.  Its place does: a leg
between a supply and ground, each control pin of its own drive; several side by
side between two supplies; a power package driven at its gate through a few ohms.
"""

from collections import defaultdict
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Kind, Link
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.leg_ends import near_ground, power_end
from ohmtrail.netanalysis.recognise.mosfet_roles import usual_order

__all__ = ["transistor_kinds", "unmarked_shunts"]

_UNSETTLED = ": transistor, and"
#: A base needs its resistor to limit current, a gate only to slow it (CP).
_GATE_OHMS = 100.0


def transistor_kinds(view: CircuitView) -> dict[str, Kind]:
    """Return kinds of transistors whose family only their place tells, by ref.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground and links.

    Notes
    -----
    O(pins on the nets of such transistors).  Bipolar transistors in the same
    places are rare; what is settled here says so in its reason.
    """
    open_parts = [
        part
        for part in view.board.parts
        if view.kind(part.ref) == "other"
        and _UNSETTLED in view.kinds[part.ref].because
        and len(view.nets(part.ref)) == 3
        and view.fitted(part.ref)
    ]
    if not open_parts:
        return {}
    found: dict[str, Kind] = {}
    for part in open_parts:
        because = _by_name(part) or _by_package(view, part)
        if because:
            found[part.ref] = Kind("mosfet", because)
    unsettled = {part.ref for part in open_parts}
    for refs, because in (
        *_legs(view, unsettled),
        *_side_by_side(view, unsettled),
        *_twins(view, unsettled),
    ):
        for ref in refs:
            found.setdefault(ref, Kind("mosfet", because))
    return found


def _by_name(part: Part) -> str:
    for pin in part.pins:
        if pin.name.upper() in ("G", "GATE", "D", "DRAIN", "S", "SOURCE"):
            return f"its net is called after pin {pin.name}"
    return ""


def _by_package(view: CircuitView, part: Part) -> str:
    """Power package with the gate driven hard, drain or source where power flows."""
    order = usual_order(part)
    gates = {n: part.pin(n) for n, role in order.items() if role == "gate"}
    gate = next((pin.net for pin in gates.values() if pin is not None), None)
    if gate is None or view.is_ground(gate) or gate in view.rails:
        return ""
    if not _driven_hard(view, part.ref, gate):
        return ""
    ends = [net for net in view.nets(part.ref) if net != gate]
    if not any(power_end(view, net) for net in ends):
        return ""
    return "a power package whose gate is driven through a few ohms"


def _driven_hard(view: CircuitView, ref: str, gate: str) -> bool:
    """Whether a chip pin is at the gate, or beyond some ohms."""
    if view.parts_on(gate, "chip"):
        return True
    return any(
        far not in view.nets(ref) and bool(view.parts_on(far, "chip"))
        for part, far in view.neighbours(gate, "resistor", "bead")
        if (view.ohms(part) or 0.0) <= _GATE_OHMS and not view.is_ground(far)
    )


def _transistors(view: CircuitView, net: str, unsettled: set[str]) -> list[str]:
    return [
        ref
        for ref in view.refs(net)
        if ref in unsettled or view.kind(ref) in ("mosfet", "igbt")
    ]


def _legs(
    view: CircuitView, unsettled: set[str]
) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield pairs that meet on a node, one at a supply, the other at ground."""
    nodes = {net: None for ref in sorted(unsettled) for net in view.nets(ref)}
    for node in nodes:
        if view.is_ground(node) or node in view.rails:
            continue
        here = [
            r for r in _transistors(view, node, unsettled) if len(view.nets(r)) == 3
        ]
        if len(here) > 16:
            continue
        for high in here:
            ups = [n for n in view.nets(high) if n != node and power_end(view, n)]
            if len(ups) != 1 or view.two_pin_parts_between(node, ups[0], "resistor"):
                continue
            for low in here:
                downs = [
                    n for n in view.nets(low) if n != node and near_ground(view, n)
                ]
                shared = set(view.nets(high)) & set(view.nets(low))
                if low != high and len(downs) == 1 and shared == {node}:
                    yield (high, low), f"a leg {ups[0]} - {node} - {downs[0]}"


def _side_by_side(
    view: CircuitView, unsettled: set[str]
) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield groups between the same two supplies, each with its own drive."""
    groups: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for ref in sorted(unsettled):
        ends = tuple(sorted(n for n in view.nets(ref) if power_end(view, n)))
        if len(ends) == 2:
            groups[ends].append(ref)
    for ends, refs in groups.items():
        gates = [n for ref in refs for n in view.nets(ref) if n not in ends]
        if len(refs) > 1 and all(view.parts_on(g, "resistor", "chip") for g in gates):
            yield tuple(sorted(refs)), f"side by side from {ends[0]} to {ends[1]}"


def _twins(
    view: CircuitView, unsettled: set[str]
) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield groups with all three nets in common, one of them where power flows.

    Bipolar transistors are not put side by side without a resistor in each emitter.
    """
    groups: dict[tuple[tuple[str, str], ...], list[str]] = defaultdict(list)
    for ref in sorted(unsettled):
        pairs = sorted((p.number, p.net) for p in view.part(ref).pins if p.net)
        groups[tuple(pairs)].append(ref)
    for pins, refs in groups.items():
        nets = {net for _, net in pins}
        if len(refs) > 1 and any(power_end(view, net) for net in nets):
            yield tuple(sorted(refs)), "side by side on the same three nets"


def unmarked_shunts(view: CircuitView) -> tuple[Link, ...]:
    """Return resistors without a value at the foot of a leg: shunts, by their place.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground and rails.
    """
    found: dict[str, Link] = {}
    known = {ref for ref, kind in view.kinds.items() if kind.kind == "mosfet"}
    for (_, low), _ in _legs(view, known):
        for net in view.nets(low):
            if view.is_ground(net) or not near_ground(view, net):
                continue
            for ref in view.parts_on(net, "resistor"):
                # With four terminals the sense pins have nets of their own.
                far = next((n for n in view.nets(ref) if view.is_ground(n)), None)
                if far is not None and not view.part(ref).value:
                    because = "no value; from the foot of a leg to ground: a shunt"
                    found[ref] = Link(
                        ref,
                        net,
                        far,
                        view.pins_on(ref, net)[0].number,
                        view.pins_on(ref, far)[0].number,
                        "resistor",
                        because,
                    )
    linked = {link.ref for link in view.links}
    return tuple(link for ref, link in found.items() if ref not in linked)
