"""The ends of a leg of transistors: a supply at its top, ground at its foot."""

from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.smoothing import WIDE_PINS, smoothed

__all__ = ["FOOT_PINS", "near_ground", "power_end"]

#: The foot of a leg has few pins, a supply many.
FOOT_PINS = 64
_SHUNT_OHMS = 0.5


def power_end(view: CircuitView, net: str) -> bool:
    """Whether a net is a supply by name, or smoothed with a port or a fuse on it."""
    if view.is_ground(net):
        return False
    if net in view.rails or view.degree(net) > WIDE_PINS:
        return True
    ports = view.parts_on(net, "connector", "battery", "fuse", "inductor")
    return bool(ports) and smoothed(view, net)


def near_ground(view: CircuitView, net: str) -> bool:
    """Whether a net is ground or ends there over a shunt."""
    if view.is_ground(net):
        return True
    if net in view.rails or view.degree(net) > FOOT_PINS:
        return False
    return any(
        any(view.is_ground(far) for far in view.nets(ref))
        for ref in view.parts_on(net, "resistor")
        if view.sort(ref) == "shunt" or _small(view, ref) or not view.part(ref).value
    )


def _small(view: CircuitView, ref: str) -> bool:
    ohms = view.ohms(ref)
    return ohms is not None and ohms <= _SHUNT_OHMS
