"""What every stage recogniser reads: switches with their nets, and power nets.

Every transistor and rectifier is brought into one form, the `Element`: its body
diode (or itself, for a diode) conducts from ``low`` to ``high``.  So a leg is
two elements that meet low end to high end, a back-to-back pair two that meet
with equal ends, whatever the channel and the package.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar, cast

from ohmtrail.netanalysis.circuit import Link
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.regulators import linear_regulators
from ohmtrail.netanalysis.values import parse_value

__all__ = ["Element", "Scene", "survey"]

_T = TypeVar("_T")

_CONTROL = {"mosfet": "gate", "igbt": "gate", "bipolar": "base"}
_HIGH = {"mosfet": "drain", "igbt": "collector", "bipolar": "collector"}
_LOW = {"mosfet": "source", "igbt": "emitter", "bipolar": "emitter"}
_P_TYPES = ("p-channel", "pnp")
_RECTIFIERS = ("diode",)
#: The two transistors of one package: Q_Dual_NMOS_PMOS, "N- and P-Channel".
_PAIR = re.compile(
    r"\b(?:Q_Dual_|Dual_)?([NP])-?(?:MOS|PN|Channel|ch)?(?:[ _/+,-]+(?:and )?)"
    r"([NP])-?(?:MOS|PN|Channel|ch)",
    re.I,
)
#: A gate has few neighbours, a supply many.
_MANY_PINS = 24
#: Capacitance to ground from which a net looks like a supply: a filter on a
#: signal has less (common practice, no source).
_BULK_FARADS = 0.9e-6


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


@dataclass(frozen=True)
class Scene:
    """A view and the elements on it; made by `survey`."""

    view: CircuitView
    elements: tuple[Element, ...]
    #: Elements by the net of their high and low ends, and by their control net.
    by_high: Mapping[str, tuple[Element, ...]]
    by_low: Mapping[str, tuple[Element, ...]]
    by_gate: Mapping[str, tuple[Element, ...]]
    #: Answers already worked out, by question.
    memo: dict[tuple[str, str], object] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def by_ref(self) -> Mapping[str, tuple[Element, ...]]:
        """Elements of each part."""
        return _index(self.elements, "ref")

    def at(self, net: str) -> tuple[Element, ...]:
        """Elements with an end (not the control) on a net."""
        return tuple(
            dict.fromkeys((*self.by_high.get(net, ()), *self.by_low.get(net, ())))
        )

    def once(self, question: str, net: str, answer: Callable[[], _T]) -> _T:
        """Return an answer about a net, worked out once."""
        key = (question, net)
        if key not in self.memo:
            self.memo[key] = answer()
        return cast(_T, self.memo[key])

    def fed_chips(self, net: str) -> frozenset[str]:
        """Chips with a supply pin (or a nameless pin) on a net."""
        view = self.view
        return self.once(
            "fed",
            net,
            lambda: frozenset(
                pin.ref
                for pin in view.pins(net)
                if view.kind(pin.ref) == "chip"
                and view.role(pin.ref, pin.number) in ("supply", "")
            ),
        )

    def has_port(self, net: str) -> bool:
        """Whether a connector or battery is on a net."""
        view = self.view
        return self.once(
            "port", net, lambda: bool(view.parts_on(net, "connector", "battery"))
        )

    @cached_property
    def fixed_regulators(self) -> frozenset[str]:
        """Chips whose part number states the volts that they make."""
        return frozenset(
            regulator.ref
            for regulator in linear_regulators(self.view)
            if regulator.volts is not None
        )

    # -- capacitors --------------------------------------------------------

    def farads(self, ref: str) -> float | None:
        """Return the marked capacitance, or None."""
        value = parse_value(self.view.part(ref).value, "capacitor")
        return value.farads if value is not None else None

    @cached_property
    def caps_to_ground(self) -> Mapping[str, tuple[str, ...]]:
        """Fitted capacitors from each net to a ground, in the file's order."""
        found: dict[str, list[str]] = {}
        view = self.view
        for part in view.board.parts:
            if view.kind(part.ref) != "capacitor" or not view.fitted(part.ref):
                continue
            nets = view.nets(part.ref)
            if len(nets) != 2:
                continue
            for here, there in (nets, nets[::-1]):
                if view.is_ground(there) and not view.is_ground(here):
                    found.setdefault(here, []).append(part.ref)
        return {net: tuple(refs) for net, refs in found.items()}

    # -- power nets --------------------------------------------------------

    @cached_property
    def power_nets(self) -> frozenset[str]:
        """Nets that look like supplies: by name, by power pins, by bulk capacitors."""
        return frozenset(
            net.name
            for net in self.view.board.nets
            if not self.view.is_ground(net.name) and self._looks_power(net.name)
        )

    def is_power(self, net: str | None) -> bool:
        """Whether a net looks like a supply (ground is none)."""
        return net is not None and net in self.power_nets

    def _looks_power(self, net: str) -> bool:
        view = self.view
        if net in view.rails:
            return True
        bulk = 0.0
        for ref in self.caps_to_ground.get(net, ()):
            bulk += self.farads(ref) or 0.0
        if bulk >= _BULK_FARADS:
            return True
        drawn = sum(
            1
            for pin in view.pins(net)
            if pin.electrical in ("power_in", "power_out")
            and view.kind(pin.ref) in ("chip", "connector", "other")
        )
        return drawn > 0 and net in self.caps_to_ground

    def carries(self, net: str) -> bool:
        """Whether power flows on a net: a supply, a way to one, or to a connector."""
        view = self.view
        if self.to_ground(net) is not None:
            return False
        if self.is_power(net):
            return True
        if view.parts_on(net, "fuse", "battery"):
            return True
        for link in view.links_at(net):
            other = link.net_b if link.net_a == net else link.net_a
            if self.is_power(other) or view.parts_on(other, "fuse", "battery"):
                return True
        for element in self.by_low.get(net, ()):
            if element.kind == "diode" and self.is_power(element.high):
                return True
        for element in self.by_high.get(net, ()):
            if element.kind == "diode" and self.is_power(element.low):
                return True
        return False

    def own_bias(self, ref: str, net: str) -> bool:
        """Whether a net holds nothing but pins of one chip and its capacitors."""
        view = self.view
        passive = ("capacitor", "resistor", "testpoint")
        return not view.links_at(net) and all(
            other == ref or view.kind(other) in passive for other in view.refs(net)
        )

    # -- walking over shunts -----------------------------------------------

    def to_ground(self, net: str) -> tuple[str, ...] | None:
        """Refs of the shunts from a net to ground: () at ground, None without a way."""
        view = self.view
        if view.is_ground(net):
            return ()
        seen = {net}
        queue: list[tuple[str, tuple[str, ...]]] = [(net, ())]
        for here, way in queue:
            if len(way) >= 3:
                continue
            for link in view.links_at(here):
                if link.kind not in ("resistor", "jumper", "other") or not link.always:
                    continue
                other = _beyond(link, here)
                if view.is_ground(other):
                    return (*way, link.ref)
                if other not in seen:
                    seen.add(other)
                    queue.append((other, (*way, link.ref)))
        return None

    def same_ground(self, net_a: str, net_b: str) -> bool:
        """Whether two nets are one but for shunts, or both near ground."""
        if net_a == net_b:
            return True
        if self.to_ground(net_a) is not None and self.to_ground(net_b) is not None:
            return True
        return net_b in self.view.linked_nets(net_a)

    def rail_beyond(self, net: str | None) -> str | None:
        """Net beyond shunts and 0 ohm parts that carries more than this one."""
        if net is None or self.view.is_ground(net):
            return net
        best = net
        for other in self.view.linked_nets(net):
            if self.weight(other) > self.weight(best):
                best = other
        return best

    def weight(self, net: str) -> tuple[int, int]:
        """How much hangs on a net: capacitors to ground, then pins."""
        return (
            min(len(self.caps_to_ground.get(net, ())), 1),
            self.view.degree(net),
        )


def survey(view: CircuitView) -> Scene:
    """Bring all transistors and rectifiers of a view into one form.

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
            elements.extend(_transistors(view, part.ref, kind))
        elif kind in _RECTIFIERS:
            elements.extend(_diodes(view, part.ref))
        elif kind in ("chip", "other"):
            elements.extend(_power_block(view, part.ref))
    return Scene(
        view=view,
        elements=tuple(elements),
        by_high=_index(elements, "high"),
        by_low=_index(elements, "low"),
        by_gate=_index(elements, "gate"),
    )


def _index(elements: Iterable[Element], end: str) -> dict[str, tuple[Element, ...]]:
    found: dict[str, list[Element]] = {}
    for element in elements:
        net = getattr(element, end)
        if net is not None:
            found.setdefault(net, []).append(element)
    return {net: tuple(group) for net, group in found.items()}


def _beyond(link: Link, here: str) -> str:
    return link.net_b if link.net_a == here else link.net_a


def _transistors(view: CircuitView, ref: str, kind: str) -> Iterable[Element]:
    sort = view.sort(ref)
    shared = view.net_with_role(ref, "switch")
    units = [
        unit
        for unit in view.units(ref)
        if view.net_with_role(ref, _CONTROL[kind], unit)
    ]
    for place, unit in enumerate(units):
        control = view.pins_with_role(ref, _CONTROL[kind], unit=unit)
        drain = view.net_with_role(ref, _HIGH[kind], unit)
        source = view.net_with_role(ref, _LOW[kind], unit)
        if shared is not None:
            # Both switches in one package: the middle pin serves as both ends.
            if drain is None:
                drain = shared
            elif source is None:
                source = shared
        if drain is None or source is None or drain == source:
            continue
        p_type = sort in _P_TYPES
        if not sort and kind == "mosfet" and len(units) == 1:
            p_type = _wired_like_p(view, control[0].net, source, drain)
        if len(units) > 1 and (stated := _pair_types(view, ref)):
            p_type = stated[min(place, 1)] in "Pp"
        high, low = (source, drain) if p_type else (drain, source)
        pin = next(p for p in control if p.net is not None)
        yield Element(ref, unit, kind, high, low, pin.net, pin.key, p_type)


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


def _pair_types(view: CircuitView, ref: str) -> str:
    """Channel letters of a pair in one package ("NP"), or ""."""
    part = view.part(ref)
    for text in (part.library.rpartition(":")[2], part.value, part.description):
        match = _PAIR.search(text)
        if match:
            return match[1][0] + match[2][0]
    return ""


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
