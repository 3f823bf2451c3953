"""Roles of pins: chips by name, diodes and transistors through their own files."""

import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Role
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise._pin_tables import (
    clean_pin_name,
    pin_role_by_name,
    split_channel,
)
from ohmtrail.netanalysis.recognise.diode_roles import diode_roles
from ohmtrail.netanalysis.recognise.mosfet_roles import transistor_roles

__all__ = ["recognise_roles"]

#: Electrical types of the file that carry a role where the name carries none.
_ELECTRICAL = {"power_in": "supply", "power_out": "output"}
#: Names that need company on the same chip before they are believed: BOOT0 of a
#: processor is no bootstrap pin, LO of a receiver no gate.
_COMPANY = {
    "boot": ("switch", "high gate"),
    "high gate": ("low gate", "switch", "boot"),
    "low gate": ("high gate", "switch", "boot"),
}
_PASS_GATE = re.compile(r"^[HU]?GATE|GATE_?\d?$")
#: The return of a floating driver, and its channel's mark.
_RETURN = re.compile(r"^(?:VSS|VEE|COM|GND)_?([A-H1-4])?$")
_EXPOSED = ("EP", "PAD", "EPAD", "TPAD", "THERMAL", "TP", "DAP", "EXP", "POWERPAD")


def recognise_roles(view: CircuitView) -> dict[tuple[str, str], Role]:
    """Return the roles of pins, by (ref, pin number).

    Parameters
    ----------
    view : CircuitView
        With kinds and ground.

    Notes
    -----
    O(pins).  Pins about which nothing is known are absent.
    """
    roles: dict[tuple[str, str], Role] = {}
    for part in view.board.parts:
        kind = view.kind(part.ref)
        if kind in ("mosfet", "bipolar", "igbt"):
            found = transistor_roles(view, part)
            if not any(role.role in ("gate", "base") for role in found.values()):
                found = _block_roles(view, part) or found
            roles.update(found)
        elif kind in ("chip", "other") and len(part.pins) > 2:
            for pin, role in _chip_roles(view, part):
                roles[part.ref, pin.number] = role
    roles.update(diode_roles(view))
    return roles


def _block_roles(view: CircuitView, part: Part) -> dict[tuple[str, str], Role]:
    """Roles of a package with both switches whose pins are named as a chip's are."""
    found = {
        (part.ref, pin.number): role
        for pin, role in _chip_roles(view, part)
        if not pin.name.isdigit()
    }
    present = {role.role for role in found.values()}
    return found if {"high gate", "low gate", "switch"} <= present else {}


def _chip_roles(view: CircuitView, part: Part) -> Iterator[tuple[Pin, Role]]:
    claimed: dict[str, tuple[str, str]] = {}
    for pin in part.pins:
        claimed[pin.number] = _one_pin(view, pin)
    present = {role for role, _ in claimed.values()}
    for pin in part.pins:
        role, mark = claimed[pin.number]
        if not role:
            continue
        company = _COMPANY.get(role)
        if company is not None and not present.intersection(company):
            role = _alone(clean_pin_name(pin.name))
            if not role:
                continue
        because = (
            f"pin name {pin.name}" if pin.name else f"{pin.electrical} in the file"
        )
        if role == "ground" and _floats(view, pin, present):
            because = f"{because}, at a transistor and not at ground"
            named = _RETURN.match(clean_pin_name(pin.name))
            letter = named[1] or "" if named is not None else ""
            yield pin, Role("switch", because, unit=split_channel(mark or letter))
            continue
        yield pin, Role(role, because, unit=split_channel(mark))


def _alone(name: str) -> str:
    """Role of a pin that lacks the company its name asks for, or ""."""
    if name == "VBB":
        return "supply"  # the battery of a high-side switch, no bootstrap
    # HGATE of a surge stopper: a pass transistor's.
    return "gate drive" if _PASS_GATE.match(name) else ""


def _floats(view: CircuitView, pin: Pin, present: set[str]) -> bool:
    """Whether a ground-named pin is the return of a floating driver (VSSA)."""
    if pin.net is None or view.is_ground(pin.net):
        return False
    if not present.intersection(("output", "high gate")):
        return False
    named = _RETURN.match(clean_pin_name(pin.name)) is not None
    return named and bool(view.parts_on(pin.net, "mosfet", "igbt"))


def _one_pin(view: CircuitView, pin: Pin) -> tuple[str, str]:
    role, mark = pin_role_by_name(pin.name)
    name = clean_pin_name(pin.name)
    if role == "supply" and view.is_ground(pin.net):
        return "", ""
    if role == "input" and pin.electrical in ("output", "tri_state"):
        role = ""
    if not role and name in _EXPOSED and view.is_ground(pin.net):
        return "ground", ""
    if not role and pin.electrical in _ELECTRICAL:
        role = _ELECTRICAL[pin.electrical]
        if role == "supply" and view.is_ground(pin.net):
            role = "ground"
    return role, mark
