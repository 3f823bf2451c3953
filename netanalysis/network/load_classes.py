"""What a rail's loads read cold, shared among their supply pins.

The class of a rail (`verdict.rail_class`, common practice) is for the whole rail,
everything beyond its links included.  Each chip carries a share by the number of
its supply pins, so that all together land in the class.
"""

import math
from collections.abc import Iterable, Mapping

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Link
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.network.scene import Element, Range
from ohmtrail.netanalysis.verdict import rail_class

__all__ = [
    "UNKNOWN_LOAD",
    "is_ground_pin",
    "is_load",
    "is_supply_pin",
    "is_unknown_load",
    "rail_loads",
]

#: Load of a rail whose voltage nobody knows: a core's or an input's.
UNKNOWN_LOAD = Range(0.3, 2e3, math.inf)
#: How the reason of every load starts, after "common practice: ".
_LOAD = "load of "


def is_load(one: Element) -> bool:
    """Whether a path is what a chip draws its supply through."""
    return one.assumed and _LOAD in one.because


def is_unknown_load(one: Element) -> bool:
    """Whether a path is the load of a rail whose voltage nobody knows."""
    return is_load(one) and "unknown" in one.because


def is_ground_pin(view: CircuitView, pin: Pin) -> bool:
    """Whether a chip's pin is its ground."""
    role = view.role(pin.ref, pin.number)
    return role == "ground" or (role == "" and view.is_ground(pin.net))


def is_supply_pin(view: CircuitView, pin: Pin, loads: Mapping[str, set[str]]) -> bool:
    """Whether a chip draws its supply through a pin.

    A pin named as a supply does; one named as an input does on a rail (elsewhere
    it is a signal's); one without a name does on a rail that counts the chip as a
    load.
    """
    if pin.net is None or view.is_ground(pin.net):
        return False
    role = view.role(pin.ref, pin.number)
    if role == "supply":
        return True
    if role == "input":
        return pin.net in loads
    return role == "" and pin.ref in loads.get(pin.net, ())


def _groups(links: Iterable[Link], view: CircuitView) -> dict[str, str]:
    """Return the head of the group that each linked net belongs to."""
    head: dict[str, str] = {}

    def find(net: str) -> str:
        while head.get(net, net) != net:
            head[net] = head.get(head[net], head[net])
            net = head[net]
        return net

    for link in links:
        if not link.always or view.is_ground(link.net_a) or view.is_ground(link.net_b):
            continue
        head[find(link.net_a)] = find(link.net_b)
    return {net: find(net) for net in head}


def rail_loads(
    view: CircuitView, chips: Iterable[Part], links: Iterable[Link]
) -> dict[tuple[str, str], tuple[Range, str]]:
    """Return what each chip loads each of its supply nets with.

    Parameters
    ----------
    view : CircuitView
        The circuit, rails included.
    chips : iterable of Part
        Fitted chips.
    links : iterable of Link
        Links of the board: rails that they join are one load.

    Returns
    -------
    dict
        By (ref, net): range in ohms to the chip's ground, and the reason.

    Notes
    -----
    O(pins + links).  Of several voltages in one group the lowest counts.
    """
    consumers = {net: set(rail.loads) for net, rail in view.rails.items()}
    heads = _groups(links, view)
    pins: dict[tuple[str, str], int] = {}
    total: dict[str, int] = {}
    for part in chips:
        for pin in part.pins:
            if pin.net is not None and is_supply_pin(view, pin, consumers):
                pins[part.ref, pin.net] = pins.get((part.ref, pin.net), 0) + 1
                head = heads.get(pin.net, pin.net)
                total[head] = total.get(head, 0) + 1
    volts: dict[str, float] = {}
    known = {n: r.volts for n, r in view.rails.items()} | dict(view.stated_volts)
    for net, nominal in known.items():
        if nominal:
            head = heads.get(net, net)
            volts[head] = min(abs(nominal), volts.get(head, math.inf))
    made: dict[tuple[str, str], tuple[Range, str]] = {}
    for (ref, net), count in pins.items():
        head = heads.get(net, net)
        nominal = volts.get(head)
        if nominal is None:
            whole, said = UNKNOWN_LOAD, f"{_LOAD}a rail of unknown voltage"
        else:
            row = rail_class(nominal)
            whole = Range(row.low_ohms, row.typical_ohms, math.inf)
            said = f"{_LOAD}{row.article}, {nominal:g} V"
        share = total[head] / count
        because = f"common practice: {said}"
        if share > 1:
            because += f", {count} of its {total[head]} supply pins"
        range_ = Range(whole.low * share, whole.typical * share, whole.high)
        made[ref, net] = range_, because
    return made
