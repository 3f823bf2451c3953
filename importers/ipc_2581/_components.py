"""``<Component>``: parts, from component, package, parts list and pads."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import ElementError, find, number, required
from ohmtrail.importers.ipc_2581._nets import Copper, bound
from ohmtrail.importers.ipc_2581._package import (
    Land,
    Placement,
    location,
)
from ohmtrail.importers.ipc_2581._parts_list import Listed
from ohmtrail.netanalysis.board import Part, Pin

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Builder"]


#: What KiCad calls pads without a number, and puts behind names to tell them apart.
_NAMELESS = re.compile(r"(?:PAD|NPTH)\d+")
_BEHIND = re.compile(r"_\d+$")


@dataclass(slots=True)
class Builder:
    """Parts, one component after the other; positions in units of the file."""

    packages: Mapping[str, tuple[Land, ...]]
    listed: Mapping[str, Listed]
    copper: Copper
    #: Layer -> "top", "bottom" or "inner".
    sides: Mapping[str, str]
    #: Millimetres per unit.
    scale: float
    #: Whether KiCad wrote the file: then some names are its own invention.
    by_kicad: bool = False
    _parts: dict[str, Part] = field(default_factory=dict)
    _pins_by_ref: dict[str, dict[str, None]] | None = None
    _count: int = 0

    def _drawn(self, ref: str) -> dict[str, None]:
        """Numbers of pins that nets or pads have of a component."""
        if self._pins_by_ref is None:
            self._pins_by_ref = {}
            for one, pin in (*self.copper.nets, *self.copper.sides):
                self._pins_by_ref.setdefault(one, {}).setdefault(pin)
        return self._pins_by_ref.pop(ref, {})

    def _mm(
        self, place: tuple[float, float] | None
    ) -> tuple[float | None, float | None]:
        """Millimetres, y down."""
        if place is None:
            return None, None
        return (
            round(place[0] * self.scale, 6) + 0.0,
            round(-place[1] * self.scale, 6) + 0.0,
        )

    def _pins(
        self, ref: str, lands: tuple[Land, ...], at: Placement | None, side: str
    ) -> tuple[Pin, ...]:
        first: dict[str, Land | None] = {}
        for land in lands:
            first.setdefault(land.number, land)
        for mark in self._drawn(ref):
            first.setdefault(mark, None)
        pins = []
        for mark, one in first.items():
            key = (ref, mark)
            if self.by_kicad and _NAMELESS.fullmatch(mark):
                self._nameless(key)
                continue
            place = self.copper.places.get(key)
            if place is None and one is not None and at is not None:
                if one.x is not None and one.y is not None:
                    place = at.of(one.x, one.y)
            seen = self.copper.sides.get(key, set())
            where = "both" if len(seen) > 1 else next(iter(seen), "")
            if not where and one is not None:
                where = "both" if one.through else side
            x_mm, y_mm = self._mm(place)
            net = self.copper.nets.get(key)
            name = one.name if one is not None else ""
            pins.append(Pin(ref, mark, net, name, x_mm=x_mm, y_mm=y_mm, side=where))
        return tuple(pins)

    def _nameless(self, key: tuple[str, str]) -> None:
        net = self.copper.nets.get(key)
        if net is None:
            self.copper.notes["pad without a number", ""] += 1
        else:
            self.copper.notes[f"pad without a number on net {net}", key[0]] += 1

    def _value(self, one: Listed | None, number: str, package: str) -> str:
        """Return the value listed, else what the part's number says."""
        if one is not None and one.value:
            return one.value
        if self.by_kicad:  # library, package and value in one word
            before, found, value = number.partition(_BEHIND.sub("", package) + "_")
            if found and (not before or before.endswith("_")):
                return value
        return number

    def add(self, element: "Element") -> None:
        """Add a ``<Component>``.

        Raises
        ------
        ElementError
            If it has no reference or one that occurred, or there are more parts or
            pins than any board has.
        """
        ref = required(element, "refDes")
        if ref in self._parts:
            raise ElementError(f"found component {ref} again", element)
        package = element.get("packageRef", "")
        lands = self.packages.get(package)
        if lands is None:
            self.copper.notes["package that is not described", package] += 1
            lands = ()
        side = self.sides.get(element.get("layerRef", ""), "")
        side = side if side in ("top", "bottom") else ""
        angle, mirrored = 0.0, False
        for turn in find(element, "Xform"):
            angle = number(turn, "rotation") if turn.get("rotation") else 0.0
            mirrored = turn.get("mirror", "false").lower() == "true"
        place = location(element)
        at = Placement(*place, angle) if place is not None and not mirrored else None
        x_mm, y_mm = self._mm(place)
        one = self.listed.get(ref)
        if one is not None and one.left_out:
            self.copper.notes["part left out of the list, taken as fitted", ref] += 1
        pins = self._pins(ref, lands, at, side)
        self._count += len(pins)
        bound(len(self._parts) + 1, self._count, element)
        self._parts[ref] = Part(
            ref=ref,
            value=self._value(one, element.get("part", ""), package),
            pins=pins,
            footprint=(one.package if one else "") or package,
            description=one.description if one else "",
            fitted=one.fitted if one else True,
            fields=one.fields if one else (),
            x_mm=x_mm,
            y_mm=y_mm,
            side=side,
        )

    def finish(self, step: "Element") -> list[Part]:
        """Return the parts; with those that only nets name, counted.

        Raises
        ------
        ElementError
            About the step, if there are more parts or pins than any board has.
        """
        self._drawn("")
        for ref in list(self._pins_by_ref or ()):
            self.copper.notes["part in the nets that is no component", ref] += 1
            one = self.listed.get(ref)
            pins = self._pins(ref, (), None, "")
            self._count += len(pins)
            bound(len(self._parts) + 1, self._count, step)
            self._parts[ref] = Part(
                ref,
                one.value if one else "",
                pins,
                fitted=one.fitted if one else True,
                fields=one.fields if one else (),
            )
        return list(self._parts.values())
