"""What every stage recogniser reads: switches with their nets, and power nets.

Every transistor and rectifier is brought into one form, the `Element`: its body
diode (or itself, for a diode) conducts from ``low`` to ``high``.  So a leg is
two elements that meet low end to high end, a back-to-back pair two that meet
with equal ends, whatever the channel and the package.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar, cast

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import Link
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.regulators import linear_regulators
from ohmtrail.netanalysis.recognise.stage_elements import Element, elements_of
from ohmtrail.netanalysis.values import parse_value

__all__ = ["Element", "Scene", "survey"]

_T = TypeVar("_T")

#: A negative bus has many pins (CP).
_RETURN_PINS = 6
#: Capacitance to ground from which a net looks like a supply: a filter on a
#: signal has less (common practice, no source).
_BULK_FARADS = 0.9e-6


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
        """Chips with a supply pin on a net; of chips without pin names, any pin."""
        view = self.view

        def takes(pin: Pin) -> bool:
            role = view.role(pin.ref, pin.number)
            nameless = not role and not any(p.name for p in view.part(pin.ref).pins)
            return view.kind(pin.ref) == "chip" and (role == "supply" or nameless)

        return self.once(
            "fed",
            net,
            lambda: frozenset(pin.ref for pin in view.pins(net) if takes(pin)),
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

    @cached_property
    def returns(self) -> frozenset[str]:
        """Negative nets that are no ground by name, yet chips call them so.

        The negative bus of a motor drive, joined to ground by a part that the
        file does not tell from a mounting hole.
        """
        counts: Counter[str] = Counter()
        for (ref, number), role in self.view.roles.items():
            if role.role == "ground" and self.view.fitted(ref):
                net = self.view.net_of(ref, number)
                if net is not None and not self.view.is_ground(net):
                    counts[net] += 1
        return frozenset(
            net
            for net, count in counts.items()
            if self.view.degree(net) >= _RETURN_PINS
            and (count > 2 or net.rsplit("/", 1)[-1].endswith("-"))
        )

    # -- walking over shunts -----------------------------------------------

    def to_ground(self, net: str) -> tuple[str, ...] | None:
        """Refs of the shunts from a net to ground: () at ground, None without a way."""
        view = self.view
        if view.is_ground(net) or net in self.returns:
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
                if view.is_ground(other) or other in self.returns:
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

    def smoothed(self, net: str) -> bool:
        """Whether capacitors or a supply are on a net, or beyond its shunts."""
        rail = self.rail_beyond(net)
        return (
            net in self.caps_to_ground
            or (rail or "") in self.caps_to_ground
            or self.is_power(rail)
        )

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
    elements = elements_of(view)
    return Scene(
        view=view,
        elements=elements,
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
