"""Probe points of a checklist: pads with their names, nets with a handy pad."""

import re
from dataclasses import dataclass
from math import hypot

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["Points", "Probe", "ground_pin"]

_GROUND_NAME = re.compile(r"GND|VSS|VEE|^EP$|E?PAD", re.IGNORECASE)

#: Where a needle lands well, best first (common practice).
_HANDY = (
    "testpoint capacitor inductor fuse bead tvs diode resistor mosfet jumper "
    "connector switch chip"
).split()
_ORDER = {kind: number for number, kind in enumerate(_HANDY)}
#: Turning the board over takes as long as two readings (common practice): worth it
#: for a test point where the side that is up has only legs of chips and the like.
_TURN = 7


@dataclass(frozen=True, slots=True)
class Probe:
    """Where one needle goes."""

    text: str
    #: Pin name or role at a pad, or the net under a pad that stands for a net.
    name: str = ""
    near: str = ""
    net: str | None = None
    pin: Pin | None = None


def _across(pin: Pin, other: Pin | None) -> bool:
    """Whether two pads are known to be on opposite sides of the board."""
    return other is not None and {pin.side, other.side} == {"top", "bottom"}


def _main_side(view: CircuitView) -> str:
    """Return the side on which most of the pads are that checklists touch."""
    count = {"top": 0, "bottom": 0}
    for part in view.board.parts:
        if view.kind(part.ref) in ("chip", "mosfet", "igbt", "inductor", "diode"):
            for pin in part.pins:
                if pin.side in count:
                    count[pin.side] += 1
    return "bottom" if count["bottom"] > count["top"] else "top"


class Points:
    """Makes probe points on one board.

    Without positions a net is its own probe point, with a handy pad named beside
    it.  With positions a net becomes a concrete pad: a test point or a big pad, on
    the side and near the place that the other needle is at.
    """

    def __init__(self, view: CircuitView) -> None:
        self._view = view
        self.placed = any(
            pin.x_mm is not None and pin.y_mm is not None
            for part in view.board.parts
            for pin in part.pins
        )
        self._ranked: dict[str, list[Pin]] = {}
        self._main_side = _main_side(view) if self.placed else ""

    def pad(self, ref: str, number: str) -> Probe:
        """Return a pad with its pin name, else its role."""
        pin = self._view.part(ref).pin(number)
        assert pin is not None
        return self.of(pin)

    def of(self, pin: Pin) -> Probe:
        """Return a pad with its pin name, else its role."""
        role = self._view.role(pin.ref, pin.number)
        name = pin.name if pin.name not in ("", "~", pin.number) else role
        return Probe(self._pad(pin), name, net=pin.net, pin=pin)

    def _pad(self, pin: Pin) -> str:
        """Return a pad as the command line takes it: a net may be called like it."""
        alike = pin.key in self._view.board.net_by_name
        return f"pin:{pin.key}" if alike else pin.key

    def key(self, key: str) -> Probe:
        """Return the pad of a probe point "REF.PIN"."""
        ref, _, number = key.rpartition(".")
        while ref and (
            ref not in self._view.board.part_by_ref
            or self._view.part(ref).pin(number) is None
        ):
            ref, _, more = ref.rpartition(".")
            number = f"{more}.{number}"
        return self.pad(ref, number)

    def _handy(self, net: str) -> list[Pin]:
        ranked = self._ranked.get(net)
        if ranked is None:
            view = self._view
            ranked = sorted(
                view.pins(net),
                key=lambda pin: _ORDER.get(view.kind(pin.ref), len(_ORDER)),
            )
            self._ranked[net] = ranked
        return ranked

    def net(self, net: str, other: Probe | None = None) -> Probe:
        """Return a net as a probe point, near the other needle where known."""
        pins = self._handy(net)
        if self.placed:
            pin = self._nearest(pins, other.pin if other is not None else None)
            if pin is not None:
                return Probe(self._pad(pin), net, net=net, pin=pin)
        text = net
        ref, dot, number = net.rpartition(".")
        part = self._view.board.part_by_ref.get(ref) if dot else None
        if part is not None and part.pin(number) is not None:
            text = f"net:{net}"
        return Probe(text, near=self._pad(pins[0]) if pins else "", net=net)

    def _nearest(self, pins: list[Pin], other: Pin | None) -> Pin | None:
        """Return the handiest placed pad; near the other needle, if there is one."""
        placed = [pin for pin in pins if pin.x_mm is not None and pin.y_mm is not None]
        if not placed:
            return None
        if other is None or other.x_mm is None or other.y_mm is None:
            return min(placed, key=self._handiness)
        ox, oy = other.x_mm, other.y_mm

        def cost(pin: Pin) -> float:
            assert pin.x_mm is not None
            assert pin.y_mm is not None
            away = hypot(pin.x_mm - ox, pin.y_mm - oy)
            wrong_side = 100.0 if _across(pin, other) else 0.0
            awkward = _ORDER.get(self._view.kind(pin.ref), len(_ORDER))
            return away + wrong_side + awkward

        return min(placed, key=cost)

    def _handiness(self, pin: Pin) -> int:
        """Rank a pad: a test point first, but not at the price of a turn."""
        turned = {pin.side, self._main_side} == {"top", "bottom"}
        order = _ORDER.get(self._view.kind(pin.ref), len(_ORDER))
        return order + (_TURN if turned else 0)

    def ground(self, other: Probe | None = None) -> Probe | None:
        """Return ground: on the other needle's own part, else near it.

        None if no ground is known.
        """
        ground = self._view.ground
        if not ground:
            return None
        beside = self._ground_beside(other) if other is not None else None
        if beside is not None and other is not None and _across(beside, other.pin):
            beside = None
        if beside is None or beside.net is None:
            return self.net(ground[0], other)
        if self.placed and beside.x_mm is not None:
            return Probe(self._pad(beside), beside.net, net=beside.net, pin=beside)
        plain = self.net(beside.net)
        return Probe(plain.text, plain.name, self._pad(beside), beside.net, plain.pin)

    def _ground_beside(self, other: Probe) -> Pin | None:
        """Return a ground pad on the other needle's own part or own capacitor."""
        view = self._view
        refs = [other.pin.ref] if other.pin is not None else []
        if other.net is not None:
            refs += view.parts_on(other.net, "capacitor")
        for ref in refs:
            pin = ground_pin(view, ref, frozenset(view.ground))
            if pin is not None:
                return pin
        return None


def ground_pin(view: CircuitView, ref: str, ground: frozenset[str]) -> Pin | None:
    """Return a part's pin on a ground net: a ground pin before a strapped input."""
    found = [pin for pin in view.part(ref).pins if pin.net in ground]
    for pin in found:
        if view.role(ref, pin.number) == "ground" or _GROUND_NAME.search(pin.name):
            return pin
    return found[0] if found else None
