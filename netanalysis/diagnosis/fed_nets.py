"""Nets from which a short to ground takes what a supply gives."""

from itertools import combinations

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.injection_paths import SMALL_OHMS

__all__ = ["fed_nets"]

#: Pins that take a supply, make one, or drive a gate from one.
_ROLES = (
    *("supply", "input", "output", "switch", "boot"),
    *("high gate", "low gate", "gate drive"),
)
_CHANNEL = ("drain", "source", "collector", "emitter")


def fed_nets(case: Case) -> frozenset[str]:
    """Return the nets whose short to ground can hold a supply at its limit.

    Rails, supply pins, switch nodes, bootstrap nodes and driver outputs, with what
    windings, small resistors and switches join to them.  A sense line behind kilo-ohms,
    a reference, a crystal or a reset takes milliamperes at most (Ohm).

    Parameters
    ----------
    case : Case

    Notes
    -----
    O(pins + resistances).
    """
    view, network = case.view, case.network
    joined = [
        (path.a, path.b) for path in network.resistances if path.ohms_low <= SMALL_OHMS
    ]
    for part in case.circuit.board.parts:
        if view.kind(part.ref) in ("mosfet", "igbt", "bipolar"):
            # What a switch passes on; one to ground passes nothing on.
            ends = [pin.net for pin in view.pins_with_role(part.ref, *_CHANNEL)]
            joined += combinations([net for net in ends if net is not None], 2)
    ways: dict[str, list[str]] = {}
    for a, b in joined:
        ways.setdefault(a, []).append(b)
        ways.setdefault(b, []).append(a)
    todo = [*view.rails, *case.injection.supplies]
    for stage in case.circuit.stages:
        todo += stage.switch_nodes
        drivers = [chain.driver_pin for chain in stage.gate_chains if chain.driver_pin]
        todo += filter(None, (view.net_of(*one.rsplit(".", 1)) for one in drivers))
    todo += [
        pin.net
        for part in case.circuit.board.parts
        for pin in part.pins
        if pin.net is not None and view.role(part.ref, pin.number) in _ROLES
    ]
    found: set[str] = set()
    while todo:
        net = todo.pop()
        if net not in found and not view.is_ground(net):
            found.add(net)
            todo += ways.get(net, ())
    return frozenset(found)
