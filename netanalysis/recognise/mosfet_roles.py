"""Gate, drain and source (base, collector, emitter) of discrete transistors."""

import re

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Role
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.fet_topology import roles_from_topology

__all__ = ["transistor_roles", "usual_order"]

_Roles = dict[tuple[str, str], Role]

_FET_NAMES = (
    ("gate", re.compile(r"^G(?:ATE)?_?(\d|[A-D])?$")),
    ("drain", re.compile(r"^D(?:RAIN)?_?(\d{1,2}|[A-D])?$")),
    ("source", re.compile(r"^S(?:OURCE|RC)?_?(\d{1,2}|[A-D])?$")),
    # Kelvin source and the tab, which is the drain
    ("source", re.compile(r"^(?:KS|SK|SS|S_?KELVIN|KELVIN_?S(?:OURCE)?)()$")),
    ("drain", re.compile(r"^(?:TAB|MB|D_?TAB|DP|D_?PAD)()$")),
)
_HALF_BRIDGE = re.compile(
    r"^(?:S1/?D2|D2/?S1|S1_D2|D2_S1|SW|VSW|PHASE|LX|SW_?NODE|SH|VS|S2/?D1|D1/?S2|"
    r"S/?D|D/?S)$"
)
_BIPOLAR_NAMES = (
    ("base", re.compile(r"^B(?:ASE)?_?(\d|[A-D])?$")),
    ("collector", re.compile(r"^C(?:OLLECTOR)?_?(\d|[A-D])?$")),
    ("emitter", re.compile(r"^E(?:MITTER)?_?(\d|[A-D])?$")),
)
_IGBT_NAMES = (_FET_NAMES[0], *_BIPOLAR_NAMES[1:])

#: Pin order of packages, for symbols without pin names.  JEDEC outlines; the
#: orders are the usual ones of makers (common practice), so always inferred.
_FET_PACKAGES: tuple[tuple[re.Pattern[str], dict[str, str]], ...] = (
    (
        re.compile(
            r"SOT-?(?:23|323|416|523|723|883)(?!-?[568])|SC-?(?:70|59|75|89)", re.I
        ),
        {"1": "gate", "2": "source", "3": "drain"},
    ),
    (
        re.compile(
            r"TO-?(?:220|247|251|252|262|263|264|3P)|D2?-?PAK|SOT-?223|IPAK|DPAK|"
            r"SOT-?(?:404|428|78)|PSMN|TRANS_",
            re.I,
        ),
        {
            "1": "gate",
            "2": "drain",
            "3": "source",
            "4": "drain",
            "MB": "drain",
            "TAB": "drain",
        },
    ),
    (
        re.compile(
            r"SOT-?23-?6|TSOT-?(?:23-?6|26)|SOT-?26|SOT-?363|SC-?70-?6|TSOP-?6", re.I
        ),
        {
            "1": "drain",
            "2": "drain",
            "3": "gate",
            "4": "source",
            "5": "drain",
            "6": "drain",
        },
    ),
    (
        re.compile(r"SOT-?89", re.I),
        {"1": "gate", "2": "drain", "3": "source"},
    ),
    # leadless, all source pads under one number, the tab last
    (re.compile(r"HSOF|TOLL", re.I), {"1": "gate", "2": "source", "3": "drain"}),
)
_SO8 = {
    "1": "source",
    "2": "source",
    "3": "source",
    "4": "gate",
    "5": "drain",
    "6": "drain",
    "7": "drain",
    "8": "drain",
    "9": "drain",
}
_SO8_DUAL = {
    "1": ("source", 0),
    "2": ("gate", 0),
    "3": ("source", 1),
    "4": ("gate", 1),
    "5": ("drain", 1),
    "6": ("drain", 1),
    "7": ("drain", 0),
    "8": ("drain", 0),
}
#: Packages whose middle lead is cut off: its tab is numbered MB (common practice).
_TAB_PACKAGE = {"1": "gate", "3": "source", "MB": "drain"}
#: SOT-363 and SOT-563 duals.
_SIX_DUAL = {
    "1": ("source", 0),
    "2": ("gate", 0),
    "3": ("drain", 1),
    "4": ("source", 1),
    "5": ("gate", 1),
    "6": ("drain", 0),
}
#: Bipolar terminals by the field-effect ones in their place.
_AS_FET = {"base": "gate", "collector": "drain", "emitter": "source"}
_BIPOLAR_PACKAGES: tuple[tuple[re.Pattern[str], dict[str, str]], ...] = (
    (_FET_PACKAGES[0][0], {"1": "base", "2": "emitter", "3": "collector"}),
    (
        re.compile(r"SOT-?223|TO-?(?:220|252|263)|DPAK|D2PAK|SOT-?89", re.I),
        {"1": "base", "2": "collector", "3": "emitter", "4": "collector"},
    ),
)


def transistor_roles(view: CircuitView, part: Part) -> _Roles:
    """Return the roles of one transistor's pins, by (ref, pin number).

    Pin names first (or pad numbers that are names: "G", "D", "S").  Pins
    without a name take the role of a named pin on their net.  With no names at
    all the package's usual order is taken, checked against the nets; such roles
    are marked inferred and say so.
    """
    kind = view.kind(part.ref)
    table = {"bipolar": _BIPOLAR_NAMES, "igbt": _IGBT_NAMES}.get(kind, _FET_NAMES)
    roles = _by_names(part, table)
    control = "base" if kind == "bipolar" else "gate"
    if any(role.role == control for role in roles.values()):
        _spread_over_nets(part, roles)
        if kind == "mosfet" and {role.role for role in roles.values()} == {"gate"}:
            return _around_gate(view, part, roles)
        return roles
    if kind == "bipolar":
        if {pin.number for pin in part.pins} == set(_SIX_DUAL):
            return _six_pin_dual(part, {v: k for k, v in _AS_FET.items()})
        return _by_package(part, _BIPOLAR_PACKAGES)
    return _fet_without_names(view, part)


def _by_names(part: Part, table: tuple[tuple[str, re.Pattern[str]], ...]) -> _Roles:
    found: list[tuple[Pin, str, str]] = []
    for pin in part.pins:
        for text in (pin.name.upper(), pin.number.upper()):
            hit = next(
                (
                    (role, match[1] or "")
                    for role, pattern in table
                    if (match := pattern.match(text))
                ),
                None,
            )
            if hit is None and _HALF_BRIDGE.match(text):
                hit = ("switch", "")
            if hit is not None:
                found.append((pin, *hit))
                break
    twin = _unmarked_dual(part, found)
    if twin:
        return twin
    controls = {mark for _, role, mark in found if role in ("gate", "base")}
    dual = len(controls) > 1
    marks = sorted(controls)
    roles: _Roles = {}
    for pin, role, mark in found:
        unit = marks.index(mark) if dual and mark in marks else 0
        name = pin.name or pin.number
        roles[part.ref, pin.number] = Role(role, f"pin name {name}", unit=unit)
    return roles


def _unmarked_dual(part: Part, found: list[tuple[Pin, str, str]]) -> _Roles:
    """Roles of a dual transistor whose two gates are both just called G.

    The names must agree with the usual order of the package (SO-8, or six pins
    as SOT-363 has them); units come from that order.
    """
    gates = [pin for pin, role, mark in found if role in ("gate", "base") and not mark]
    if len(gates) != 2 or gates[0].net == gates[1].net:
        return {}
    numbers = {pin.number for pin in part.pins}
    named = {pin.number: role for pin, role, _ in found}
    control = named[gates[0].number]
    words = {role: name for name, role in _AS_FET.items()}
    for order in (_SO8_DUAL, _SIX_DUAL):
        if control == "base":
            order = {n: (words[role], unit) for n, (role, unit) in order.items()}
        if not set(order) <= numbers:
            continue
        if all(
            number in order and order[number][0] == role
            for number, role in named.items()
        ):
            return {
                (part.ref, number): Role(
                    role,
                    f"pin name {named[number].upper()[0]}, usual order of a dual"
                    if number in named
                    else "usual order of a dual transistor",
                    number not in named,
                    unit,
                )
                for number, (role, unit) in order.items()
            }
    return {}


def _spread_over_nets(part: Part, roles: _Roles) -> None:
    """Give pins without a role the role of a pin with one on the same net."""
    by_net: dict[str, Role] = {}
    for pin in part.pins:
        role = roles.get((part.ref, pin.number))
        if role is not None and pin.net is not None:
            by_net.setdefault(pin.net, role)
    missing: list[Pin] = []
    for pin in part.pins:
        if (part.ref, pin.number) in roles or pin.net is None:
            continue
        if pin.net in by_net:
            role = by_net[pin.net]
            roles[part.ref, pin.number] = Role(
                role.role, f"same net as the {role.role}", True, role.unit
            )
        else:
            missing.append(pin)
    have = {role.role for role in roles.values()}
    wanted = {"gate", "drain", "source"} - have
    left = {pin.net for pin in missing}
    if len(have) == 2 and len(wanted) == 1 and len(left) == 1:
        last = wanted.pop()
        for pin in missing:
            roles[part.ref, pin.number] = Role(last, "the only net left", True)


def _around_gate(view: CircuitView, part: Part, roles: _Roles) -> _Roles:
    """Roles of a transistor of which only the gate is named.

    What package or topology say is taken where it has the gate at the same pin.
    """
    gates = set(roles)
    for found in (
        _fet_without_names(view, part),
        roles_from_topology(view, part, part.pin(next(iter(gates))[1])),
    ):
        if {key for key, role in found.items() if role.role == "gate"} == gates:
            return found | roles
    return roles


def _fet_without_names(view: CircuitView, part: Part) -> _Roles:
    pins = {pin.number: pin for pin in part.pins if pin.net is not None}
    nets = {number: pin.net for number, pin in pins.items()}
    eight = {str(n) for n in range(1, 9)}
    if eight <= set(nets):
        dual = nets["7"] == nets["8"] and nets["5"] == nets["6"] != nets["7"]
        if dual and len({nets[n] for n in "1234"}) >= 3:
            because = "usual order of a dual transistor in SO-8, drains in pairs"
            return {
                (part.ref, number): Role(role, because, True, unit)
                for number, (role, unit) in _SO8_DUAL.items()
            }
        if nets["1"] == nets["2"] == nets["3"] != nets["4"] and (
            nets["5"] == nets["6"] == nets["7"] == nets["8"]
        ):
            because = "usual order of SO-8 and power packages: 1-3 source, 4 gate"
            return {
                (part.ref, number): Role(_SO8[number], because, True)
                for number in nets
                if _SO8.get(number)
            }
    if set(nets) == set(_TAB_PACKAGE):
        because = "a power package with its mounting base as drain"
        return {
            (part.ref, number): Role(role, because, True)
            for number, role in _TAB_PACKAGE.items()
        }
    if set(nets) == set(_SIX_DUAL) and len({nets[n] for n in ("1", "2", "5", "6")}) > 2:
        return _six_pin_dual(part, {})
    return (
        _by_package(part, _FET_PACKAGES)
        or _by_spread(part)
        or roles_from_topology(view, part)
    )


def _six_pin_dual(part: Part, words: dict[str, str]) -> _Roles:
    because = "usual order of a dual transistor with six pins"
    return {
        (part.ref, number): Role(words.get(role, role), because, True, unit)
        for number, (role, unit) in _SIX_DUAL.items()
    }


def usual_order(part: Part) -> dict[str, str]:
    """Return role by pin number of a field-effect transistor in its package, or {}."""
    return {
        number: role.role
        for (_, number), role in _by_package(part, _FET_PACKAGES).items()
    }


def _by_package(
    part: Part, table: tuple[tuple[re.Pattern[str], dict[str, str]], ...]
) -> _Roles:
    for pattern, order in table:
        # Six-pin rows must win over the three-pin SOT-23 row.
        match = pattern.search(part.footprint)
        if match is None or len(part.pins) > len(order):
            continue
        if not {pin.number for pin in part.pins} <= set(order):
            continue
        because = f"usual pin order of {match[0]}"
        return {
            (part.ref, pin.number): Role(order[pin.number], because, True)
            for pin in part.pins
        }
    return {}


def _by_spread(part: Part) -> _Roles:
    """Power package with three nets: the lone pin is the gate.

    The drain group holds the pad with most pins or the highest pin number, as
    the drain is the tab of such packages.
    """
    groups: dict[str, list[Pin]] = {}
    for pin in part.pins:
        if pin.net is not None:
            groups.setdefault(pin.net, []).append(pin)
    if len(groups) != 3 or len(part.pins) < 5:
        return {}
    alone = [net for net, pins in groups.items() if len(pins) == 1]
    if len(alone) == 2:
        # Source clip 1-3, gate, and the tab as one pad: the tab counts highest.
        alone.sort(key=lambda net: (len(groups[net][0].number), groups[net][0].number))
        alone.pop()
    if len(alone) != 1:
        return {}
    rest = [net for net in groups if net != alone[0]]
    order = [pin.number for pin in part.pins]

    def last(net: str) -> tuple[int, int]:
        numbers = [pin.number for pin in groups[net]]
        digits = [int(n) for n in numbers if n.isdecimal()]
        return (
            max(digits, default=99),
            max(order.index(number) for number in numbers),
        )

    drain = max(rest, key=last)
    because = "a lone pin and two groups of pins on one net each"
    roles: _Roles = {}
    for net, pins in groups.items():
        role = "gate" if net == alone[0] else "drain" if net == drain else "source"
        for pin in pins:
            roles[part.ref, pin.number] = Role(role, because, True)
    return roles
