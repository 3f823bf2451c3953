"""Anode and cathode of diodes: by pin name, by ground, by the board's habit."""

import re
from collections import Counter
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Role
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["diode_roles"]

_ANODE = re.compile(r"^(?:A\d{0,2}|A_?[A-D]|ANODE\d?|A[A-D]|\+)$")
_CATHODE = re.compile(r"^(?:K\d{0,2}|C\d{0,2}|K_?[A-D]|CATHODE\d?|KATHODE|-)$")
_DIODES = ("diode", "zener", "tvs", "led")


def diode_roles(view: CircuitView) -> dict[tuple[str, str], Role]:
    """Return anode and cathode roles of the board's diodes.

    Pin names come first.  Without names a diode from ground to another net has
    its anode at ground (clamps, freewheel diodes and zeners have; LEDs have the
    cathode there).  What these and the named ones show of the numbering is then
    used for the nameless rest; else pin 1 is the cathode, as in IPC-7351 and
    KiCad libraries.  Every such role is marked inferred.
    """
    roles: dict[tuple[str, str], Role] = {}
    nameless: list[Part] = []
    habit: Counter[str] = Counter()
    for part in view.board.parts:
        if view.kind(part.ref) not in _DIODES or len(part.pins) < 2:
            continue
        named = list(_by_name(part))
        if named:
            for pin, role in named:
                roles[part.ref, pin.number] = role
                if role.role == "cathode" and len(part.pins) == 2:
                    habit[pin.number] += 1
        elif len(part.pins) == 2 and view.sort(part.ref) != "bidirectional":
            grounded = _by_ground(view, part)
            if grounded is None:
                nameless.append(part)
                continue
            cathode, anode = grounded
            if view.kind(part.ref) in ("diode", "zener"):
                habit[cathode.number] += 1
            because = "one end at ground"
            roles[part.ref, cathode.number] = Role("cathode", because, inferred=True)
            roles[part.ref, anode.number] = Role("anode", because, inferred=True)
    first = "2" if habit["2"] > 2 * habit["1"] else "1"
    because = "pin 1 is the cathode by habit"
    if first == "2":
        because = "pin 2 is the cathode of this board's other diodes"
    for part in nameless:
        for pin in part.pins:
            name = "cathode" if pin.number == first else "anode"
            if {p.number for p in part.pins} == {"1", "2"}:
                roles[part.ref, pin.number] = Role(name, because, inferred=True)
    return roles


def _by_name(part: Part) -> Iterator[tuple[Pin, Role]]:
    names = {pin.number: (pin.name or pin.number).upper() for pin in part.pins}
    if set(names.values()) == {"A1", "A2"}:
        return
    for pin in part.pins:
        name = names[pin.number]
        unit = int(name[-1]) - 1 if name[-1].isdecimal() and name[-1] != "0" else 0
        if _CATHODE.match(name):
            yield pin, Role("cathode", f"pin name {name}", unit=max(unit, 0))
        elif _ANODE.match(name):
            yield pin, Role("anode", f"pin name {name}", unit=max(unit, 0))


def _by_ground(view: CircuitView, part: Part) -> tuple[Pin, Pin] | None:
    """Return (cathode, anode) of a diode with one end at ground, else None."""
    one, two = part.pins
    if one.net is None or two.net is None or one.net == two.net:
        return None
    if view.is_ground(one.net) == view.is_ground(two.net):
        return None
    ground, other = (one, two) if view.is_ground(one.net) else (two, one)
    if view.kind(part.ref) == "led":
        return ground, other
    return other, ground
