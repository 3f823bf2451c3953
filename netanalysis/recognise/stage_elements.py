"""Transistors and rectifiers in one form, whatever the channel and the package."""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.polarity import is_p_type

__all__ = ["Element", "beside", "elements_of", "main_net"]

_CONTROL = {"mosfet": "gate", "igbt": "gate", "bipolar": "base"}
_HIGH = {"mosfet": "drain", "igbt": "collector", "bipolar": "collector"}
_LOW = {"mosfet": "source", "igbt": "emitter", "bipolar": "emitter"}
_RECTIFIERS = ("diode",)
_KELVIN = re.compile(r"^(?:KS|SK|SS|S_?KELVIN|KELVIN_?S(?:OURCE)?)$")
#: A gate has few neighbours, a supply many.
_MANY_PINS = 24


@dataclass(frozen=True, slots=True)
class Element:
    """One transistor or rectifier; current through its body runs low to high."""

    ref: str
    unit: int
    kind: str
    high: str
    low: str
    #: Control net and its pin; None for a rectifier.
    gate: str | None = None
    gate_pin: str | None = None
    p_type: bool = False

    @property
    def switch(self) -> bool:
        """Whether it has a control pin."""
        return self.gate is not None

    @property
    def source(self) -> str:
        """Net to which the gate is driven: source or emitter."""
        return self.high if self.p_type else self.low

    @property
    def drain(self) -> str:
        """Drain or collector."""
        return self.low if self.p_type else self.high


def beside(diodes: Sequence[Element]) -> tuple[Element, ...]:
    """Return the first rectifier and those in parallel with it."""
    ends = [(d.high, d.low) for d in diodes[:1]]
    return tuple(d for d in diodes if (d.high, d.low) in ends)


def elements_of(view: CircuitView) -> tuple[Element, ...]:
    """Return the fitted transistors, rectifiers and power blocks of a board.

    Notes
    -----
    O(pins).  Parts whose pins have no roles are left out.
    """
    elements: list[Element] = []
    for part in view.board.parts:
        kind = view.kind(part.ref)
        if not view.fitted(part.ref):
            continue
        if kind in _CONTROL:
            block = _power_block(view, part.ref) if kind == "mosfet" else ()
            elements.extend(tuple(block) or _transistors(view, part.ref, kind))
        elif kind in _RECTIFIERS:
            elements.extend(_diodes(view, part.ref))
        elif kind in ("chip", "other"):
            elements.extend(_power_block(view, part.ref))
    return tuple(elements)


def _transistors(view: CircuitView, ref: str, kind: str) -> Iterable[Element]:
    sort = view.sort(ref)
    shared = view.net_with_role(ref, "switch")
    units = [
        unit
        for unit in view.units(ref)
        if view.net_with_role(ref, _CONTROL[kind], unit)
    ]
    for unit in units:
        control = view.pins_with_role(ref, _CONTROL[kind], unit=unit)
        drain = main_net(view, ref, _HIGH[kind], unit)
        source = main_net(view, ref, _LOW[kind], unit)
        if shared is not None:
            # Both switches in one package: the middle pin serves as both ends.
            if drain is None:
                drain = shared
            elif source is None:
                source = shared
        elif len(units) > 1:
            # Common drain (or source) pins: D12 of a battery protection pair.
            drain = drain or _common(view, ref, _HIGH[kind])
            source = source or _common(view, ref, _LOW[kind])
        if drain is None or source is None or drain == source:
            continue
        p_type = is_p_type(view, ref, unit)
        if not sort and kind == "mosfet" and len(units) == 1:
            p_type = _wired_like_p(view, control[0].net, source, drain)
        high, low = (source, drain) if p_type else (drain, source)
        pin = next(p for p in control if p.net is not None)
        yield Element(ref, unit, kind, high, low, pin.net, pin.key, p_type)


def main_net(view: CircuitView, ref: str, role: str, unit: int) -> str | None:
    """Net with most of a terminal's pins: a Kelvin source has one, the source many.

    Of equals the first that is not a Kelvin pin's.
    """
    pins = [p for p in view.pins_with_role(ref, role, unit=unit) if p.net is not None]
    counts = Counter(pin.net for pin in pins)
    plain = [pin.net for pin in pins if not _KELVIN.match(pin.name.upper())]
    order = [*plain, *counts]
    return max(counts, key=lambda net: (counts[net], -order.index(net)), default=None)


def _common(view: CircuitView, ref: str, role: str) -> str | None:
    """Net of a terminal that the transistors of a package share, else None."""
    nets = {pin.net for pin in view.pins_with_role(ref, role) if pin.net is not None}
    return next(iter(nets)) if len(nets) == 1 else None


def _wired_like_p(view: CircuitView, gate: str | None, source: str, drain: str) -> bool:
    """Whether a transistor of unknown channel is wired as a P-channel switch.

    Its source is a supply and a resistor bleeds the gate to it.  Beyond that the
    drain leads nowhere that power could come from, or what drives the gate can
    only pull it to ground: nothing feeds it from a higher net.
    """
    if gate is None or source not in view.rails or view.degree(gate) > _MANY_PINS:
        return False
    bleed = view.two_pin_parts_between(gate, source, "resistor")
    if not bleed:
        return False
    if drain not in view.rails and not view.links_at(drain):
        ways_in = ("connector", "battery", "inductor", "transformer", "diode", "mosfet")
        if len(view.parts_on(drain, *ways_in)) == 1:
            return True
    nets = [gate]
    pulled = False
    for ref, other in view.neighbours(gate, "resistor"):
        if ref in bleed:
            continue
        if view.is_ground(other):
            pulled = True
        elif other in view.rails or view.parts_on(other, "capacitor", "diode"):
            return False
        else:
            nets.append(other)
    for net in nets:
        for pin in view.pins(net):
            role = view.role(pin.ref, pin.number)
            if view.kind(pin.ref) in ("bipolar", "mosfet") and role in (
                "collector",
                "drain",
            ):
                ends = ("emitter", "source")
                pulled = pulled or any(
                    view.is_ground(view.net_with_role(pin.ref, end)) for end in ends
                )
    return pulled


def _diodes(view: CircuitView, ref: str) -> Iterable[Element]:
    anodes = [p for p in view.pins_with_role(ref, "anode") if p.net is not None]
    cathodes = [p for p in view.pins_with_role(ref, "cathode") if p.net is not None]
    pairs: dict[tuple[str, str], None] = {}
    for anode in anodes:
        for cathode in cathodes:
            if anode.net and cathode.net and anode.net != cathode.net:
                pairs[(anode.net, cathode.net)] = None
    for place, (low, high) in enumerate(pairs):
        yield Element(ref, place, "diode", high, low)


def _power_block(view: CircuitView, ref: str) -> Iterable[Element]:
    """Yield both switches of a package whose gates come from another chip."""
    top = [p for p in view.pins_with_role(ref, "high gate") if p.net]
    bottom = [p for p in view.pins_with_role(ref, "low gate") if p.net]
    middle = view.net_with_role(ref, "switch")
    supply = view.net_with_role(ref, "input") or view.net_with_role(ref, "supply")
    ground = view.net_with_role(ref, "ground")
    if not top or not bottom or middle is None or supply is None or ground is None:
        return
    if view.pins_with_role(ref, "boot", "feedback", "sense", "enable"):
        return
    for pin in (top[0], bottom[0]):
        drivers = [
            other
            for other, _ in _reach(view, pin.net or "")
            if other != ref and view.kind(other) == "chip"
        ]
        if not drivers:
            return
    yield Element(ref, 0, "mosfet", supply, middle, top[0].net, top[0].key)
    yield Element(ref, 1, "mosfet", middle, ground, bottom[0].net, bottom[0].key)


def _reach(view: CircuitView, net: str) -> Iterable[tuple[str, str]]:
    """Parts on a net and beyond one resistor."""
    for ref in view.refs(net):
        yield ref, net
    for _, other in view.neighbours(net, "resistor", "bead"):
        if not view.is_ground(other):
            for ref in view.refs(other):
                yield ref, other
