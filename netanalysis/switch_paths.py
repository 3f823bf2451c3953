"""Paths that a shorted switch or a junction would open between two nets."""

from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.inside_switches import chips_inside, inside_pairs

__all__ = ["SwitchPath", "switch_paths"]

_ENDS = {
    "mosfet": ("drain", "source"),
    "igbt": ("collector", "emitter"),
    "bipolar": ("collector", "emitter"),
    "diode": ("anode", "cathode"),
    "zener": ("anode", "cathode"),
}


@dataclass(frozen=True, slots=True)
class SwitchPath:
    """Two nets that one part joins when it is shorted."""

    ref: str
    net_a: str
    net_b: str


def switch_paths(circuit: Circuit, view: CircuitView) -> tuple[SwitchPath, ...]:
    """Return every path that a shorted switch would open.

    Discrete transistors and diodes, and the switches inside chips that a stage is
    built on: integrated regulators, power stages, load switches, linear
    regulators.  Paths to ground are left out: nothing lies beyond ground.

    Notes
    -----
    O(pins + stages).
    """
    found: dict[SwitchPath, None] = {}

    def add(ref: str, net_a: str | None, net_b: str | None) -> None:
        if net_a is None or net_b is None or net_a == net_b or not view.fitted(ref):
            return
        if not (view.is_ground(net_a) or view.is_ground(net_b)):
            found[SwitchPath(ref, net_a, net_b)] = None

    for part in circuit.board.parts:
        ends = _ENDS.get(view.kind(part.ref))
        if ends is None:
            continue
        for unit in view.units(part.ref):
            first = {
                pin.net for pin in view.pins_with_role(part.ref, ends[0], unit=unit)
            }
            second = {
                pin.net for pin in view.pins_with_role(part.ref, ends[1], unit=unit)
            }
            for net_a in sorted(net for net in first if net is not None):
                for net_b in sorted(net for net in second if net is not None):
                    add(part.ref, net_a, net_b)
    for stage in circuit.stages:
        for ref in chips_inside(view, stage):
            mine = set(view.nets(ref))
            for low, high in inside_pairs(stage, ref):
                if low in mine and high in mine:
                    add(ref, high, low)
    return tuple(found)
