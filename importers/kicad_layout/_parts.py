"""From footprints to parts: one pin a pad number, one part a reference."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from ohmtrail.importers.kicad_layout._footprint import Footprint, Pad
from ohmtrail.importers.kicad_layout._sheets import sheet_paths
from ohmtrail.netanalysis.board import Part, Pin, Unused

__all__ = ["make_parts"]


@dataclass(slots=True)
class _Building:
    """A part while footprints are added to it."""

    ref: str
    first: Footprint
    sheet: str
    pads: dict[str, Pad] = field(default_factory=dict)


class _Notes:
    """Counts of what is met and not used, in the order of first meeting."""

    def __init__(self) -> None:
        self._count: Counter[tuple[str, str]] = Counter()

    def add(self, what: str, where: str) -> None:
        self._count[what, where] += 1

    def unused(self) -> list[Unused]:
        return [Unused(what, where, n) for (what, where), n in self._count.items()]


def _pins_of(one: Footprint, notes: _Notes) -> dict[str, Pad]:
    """Return the pad that stands for each pin: the first one with copper."""
    pins: dict[str, Pad] = {}
    for pad in one.pads:
        if not pad.number:
            if pad.net is not None:
                notes.add(f"pad without a number on net {pad.net}", one.ref)
            else:
                notes.add("pad without a number", "")
            continue
        known = pins.get(pad.number)
        if known is None:
            pins[pad.number] = pad
        else:
            pins[pad.number] = _join(known, pad, f"{one.ref}.{pad.number}", notes)
    return pins


def _join(known: Pad, more: Pad, where: str, notes: _Notes) -> Pad:
    """Return one pad for two of one number."""
    if more.net is not None and known.net is not None and more.net != known.net:
        notes.add(
            f"pad on net {more.net}, another of its number is on {known.net}", where
        )
    place = known if known.side or not more.side else more
    return Pad(
        known.number,
        known.net if known.net is not None else more.net,
        known.name or more.name,
        known.electrical or more.electrical,
        place.x_mm,
        place.y_mm,
        place.side,
        place.land_mm,
    )


def _agree(pads: dict[str, Pad], more: dict[str, Pad]) -> bool:
    """Whether two footprints can be one part: no number changes its net."""
    return all(pads[key].net == pad.net for key, pad in more.items() if key in pads)


class _Names:
    """References for footprints that share one and cannot be one part."""

    def __init__(self) -> None:
        self._given: dict[tuple[str, frozenset[tuple[str, str | None]]], str] = {}
        self._last: Counter[str] = Counter()

    def of(self, ref: str, pins: dict[str, Pad], parts: dict[str, _Building]) -> str:
        """Return the reference itself, or one with a number behind it."""
        if ref not in parts or _agree(parts[ref].pads, pins):
            return ref
        key = (ref, frozenset((pad.number, pad.net) for pad in pins.values()))
        while key not in self._given:
            self._last[ref] += 1
            name = f"{ref}#{self._last[ref] + 1}"
            if name not in parts:
                self._given[key] = name
        return self._given[key]


def _is_drawing(one: Footprint) -> bool:
    """Whether this is a logo, a fiducial or a hole that stands for no part."""
    nameless = not one.ref or "*" in one.ref
    return nameless and not any(pad.number for pad in one.pads)


def make_parts(footprints: Iterable[Footprint]) -> tuple[list[Part], list[Unused]]:
    """Return the parts of a layout, and what was met and not used.

    A layout may have a reference twice.  Footprints whose pads do not disagree
    are one part (a module drawn in two halves); otherwise the later one gets
    ``#2`` behind its reference, so that no connection is lost.

    Parameters
    ----------
    footprints : iterable of Footprint
        In the file's order.

    Notes
    -----
    O(pads).
    """
    footprints = list(footprints)
    notes = _Notes()
    parts: dict[str, _Building] = {}
    names = _Names()
    for one, sheet in zip(footprints, sheet_paths(footprints), strict=True):
        if _is_drawing(one):
            notes.add("footprint without reference and pins", one.library)
            continue
        ref = one.ref or "REF**"
        pins = _pins_of(one, notes)
        name = names.of(ref, pins, parts)
        if name != ref:
            notes.add(f"footprint named {ref} like another, called {name} here", ref)
        elif name in parts:
            notes.add("footprint named like another, taken for one part", ref)
        if name not in parts or (pins and not parts[name].pads):
            parts[name] = _Building(name, one, sheet, pins)  # or it was a drawing
        else:
            for key, pad in pins.items():
                parts[name].pads.setdefault(key, pad)
    return [_part(building) for building in parts.values()], notes.unused()


def _part(building: _Building) -> Part:
    one = building.first
    fields = dict(one.fields)
    description = fields.pop("Description", "") or fields.pop("ki_description", "")
    keywords = fields.pop("ki_keywords", "")
    return Part(
        ref=building.ref,
        value=one.value,
        pins=tuple(
            Pin(
                building.ref,
                pad.number,
                pad.net,
                pad.name,
                pad.electrical,
                pad.x_mm,
                pad.y_mm,
                pad.side,
                pad.land_mm,
            )
            for pad in building.pads.values()
        ),
        footprint=one.library,
        description=description,
        keywords=keywords,
        sheet=building.sheet,
        fitted="dnp" not in one.attributes,
        fields=tuple((k, v) for k, v in fields.items() if v and v != "~"),
        x_mm=one.x_mm,
        y_mm=one.y_mm,
        side=one.side,
    )
