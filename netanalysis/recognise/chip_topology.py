"""Names for the pins of a chip without names, from what its pins are joined to.

A part number or a package alone settles nothing: each rule wants nets that agree
(a ground pin, smoothed supplies on both sides).  What does not fit stays unnamed.
Pin orders of packages are the usual ones of makers (common practice, no source).
"""

import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.chip_converter import names_around_coil
from ohmtrail.netanalysis.recognise.regulators import fixed_volts, is_linear_number
from ohmtrail.netanalysis.recognise.smoothing import WIDE_PINS, smoothed_or_wide

__all__ = ["names_from_topology"]

_Names = dict[str, tuple[str, str]]

#: Power-switch families (common practice of makers' numbering).
_SWITCHES = re.compile(
    r"^(?:TPS2[02]\d\d|MIC20\d\d|AP2[12][0-9]{2}[AMKSF]?(?!\d|K?-?\d\.\d)|STMPS2\d\d\d|"
    r"FPF2\d\d\d|SIP32\d\d\d|NCP38\d|SY628\d|BD22\d\d|BD20\d\d|RT97\d\d|MAX14575)",
    re.I,
)
_LINE_DRIVER = re.compile(r"\d?232|RS-?232|3221|3222|3243", re.I)
_POWER_PACKAGE = re.compile(r"SOT-?223|SOT-?89|TO-?25[12]|TO-?263|D2?-?PAK", re.I)
#: Where a three-terminal regulator has ground, output and input.
_ORDERS: tuple[tuple[re.Pattern[str], dict[str, str]], ...] = (
    (
        re.compile(
            r"SOT-?223|TO-?25[12]|TO-?263|D2?-?PAK|SOT-?(?:23|323)(?!-?[568])", re.I
        ),
        {"1": "GND", "2": "VOUT", "3": "VIN"},
    ),
    (re.compile(r"SOT-?89", re.I), {"1": "GND", "2": "VIN", "3": "VOUT"}),
    (re.compile(r"TO-?(?:220|92|39|3)", re.I), {"1": "VIN", "2": "GND", "3": "VOUT"}),
)


def names_from_topology(view: CircuitView, part: Part) -> _Names:
    """Return (name, reason) by pin number of a chip whose file names no pin.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground, links, roles and first rails.
    part : Part
        A chip; names of its pins that net names tell may already be there.

    Notes
    -----
    O(pins on the chip's nets).
    """
    if not 3 <= len(part.pins):
        return {}
    whole = _linear(view, part) or _load_switch(view, part) or _between(view, part)
    return whole or names_around_coil(view, part) | _pump(view, part)


# -- what the nets show ----------------------------------------------------


def _pins_by_net(part: Part) -> dict[str, list[Pin]]:
    groups: dict[str, list[Pin]] = {}
    for pin in part.pins:
        if pin.net is not None:
            groups.setdefault(pin.net, []).append(pin)
    return groups


def _volts(view: CircuitView, net: str) -> float | None:
    return view.rails[net].volts if net in view.rails else None


def _named(groups: dict[str, list[Pin]], net: str, name: str, because: str) -> _Names:
    return {pin.number: (name, because) for pin in groups[net] if not pin.name}


# -- linear regulators -----------------------------------------------------


def _linear(view: CircuitView, part: Part) -> _Names:
    """Regulator: its number says so, a ground pin, two smoothed nets of power."""
    stated = fixed_volts(part)
    text = f"{part.value} {part.description} {part.keywords}"
    says = bool(re.search(r"linear|LDO|low[- ]drop|voltage regulator", text, re.I))
    if len(part.pins) > 10 or view.kind(part.ref) != "chip":
        return {}
    numbered = says or is_linear_number(part.value) or stated is not None
    if not numbered and not _stands_like_one(view, part):
        return {}
    if (re.search(r"\dA\b", part.value) and not says) or _SWITCHES.match(part.value):
        return {}
    groups = _pins_by_net(part)
    grounds = [net for net in groups if view.is_ground(net)]
    others = [net for net in groups if not view.is_ground(net)]
    if not grounds or any(
        view.parts_on(net, "inductor") for net in others if net not in view.rails
    ):
        return {}
    power = [net for net in others if _carries(view, net)]
    if len(groups) == 3 and len(others) == 2:
        power = others
    if len(power) != 2:
        return {}
    told = _direction(view, part, groups, power, stated[0] if stated else None)
    if told is None:
        return {}
    source, target, because = told
    names = _named(groups, source, "VIN", because)
    names |= _named(groups, target, "VOUT", because)
    # Of several pins at the input the first is it; the next is its enable (CP).
    if len(groups[source]) == 2 and len(part.pins) in (5, 6):
        names |= _enable(groups[source], because)
    for net in grounds:
        names |= _named(groups, net, "GND", "at ground")
    return names


def _stands_like_one(view: CircuitView, part: Part) -> bool:
    """Whether a chip sits as nothing but a linear regulator does, whatever its number.

    Three nets in a power package; or at most five pins, with ground and two
    smoothed supplies whose names differ in volts.
    """
    nets = view.nets(part.ref)
    if _POWER_PACKAGE.search(part.footprint) and len(nets) == 3:
        smooth = [
            n for n in nets if not view.is_ground(n) and smoothed_or_wide(view, n)
        ]
        return bool(smooth) and any(net in view.rails for net in smooth)
    rails = [net for net in nets if net in view.rails and smoothed_or_wide(view, net)]
    if len(rails) != 2 or not any(view.is_ground(net) for net in nets):
        return False
    volts = [_volts(view, net) for net in rails]
    if None in volts or volts[0] == volts[1] or len(part.pins) > 5:
        return False
    return len(nets) == 3 or all(
        view.degree(net) <= 3
        for net in nets
        if net not in rails and not view.is_ground(net)
    )


def _enable(pins: list[Pin], because: str) -> _Names:
    by_number = sorted(pins, key=lambda pin: (len(pin.number), pin.number))
    last = by_number[-1]
    return {last.number: ("EN", because)} if not last.name else {}


def _carries(view: CircuitView, net: str) -> bool:
    return net in view.rails or (smoothed_or_wide(view, net) and view.degree(net) > 2)


def _direction(
    view: CircuitView,
    part: Part,
    groups: dict[str, list[Pin]],
    power: list[str],
    stated: float | None,
) -> tuple[str, str, str] | None:
    """Return (input, output, why) of a regulator between two nets, or None."""
    first, second = power
    for pin in part.pins:
        if pin.net in power and pin.name:
            other = second if pin.net == first else first
            if re.match(r"^V?O(?:UT)?\d?$", pin.name, re.I):
                return other, pin.net or "", f"the other supply beside {pin.name}"
            if re.match(r"^V?I(?:N)?\d?$", pin.name, re.I):
                return pin.net or "", other, f"the other supply beside {pin.name}"
    volts = [_volts(view, net) for net in power]
    if volts[0] is not None and volts[1] is not None and volts[0] != volts[1]:
        # Of two negative supplies, too, the input is farther from ground.
        order = sorted((volts[0], volts[1]), key=abs)
        why = f"{order[1]:g} V to {order[0]:g} V"
        high = abs(volts[0]) > abs(volts[1])
        return (first, second, why) if high else (second, first, why)
    if stated is not None:
        near = [v is not None and abs(v - stated) < 0.05 * abs(stated) for v in volts]
        if near[0] != near[1]:
            why = f"its number states {stated:g} V"
            return (second, first, why) if near[0] else (first, second, why)
        higher = [v is not None and v / stated > 1.1 for v in volts]
        if higher[0] != higher[1]:
            why = f"its number states {stated:g} V, less than its input"
            return (first, second, why) if higher[0] else (second, first, why)
    for pattern, pins_of in _ORDERS:
        match = pattern.search(part.footprint)
        # Negative regulators have their pins in another order.
        if match is None or len(part.pins) > 4 or (stated or 0.0) < 0.0:
            continue
        place = {name: part.pin(number) for number, name in pins_of.items()}
        pins = [place[name] for name in ("VIN", "VOUT", "GND")]
        if any(pin is None or pin.net is None for pin in pins):
            continue
        source, target, ground = (pin.net or "" for pin in pins if pin is not None)
        if {source, target} == set(power) and view.is_ground(ground):
            return source, target, f"usual order of a regulator in {match[0]}"
    counts = [len(groups[net]) for net in power]
    if counts[0] != counts[1] and len(part.pins) in (5, 6):
        why = "input and enable are tied together"
        return (first, second, why) if counts[0] > counts[1] else (second, first, why)
    return None


# -- power switches --------------------------------------------------------


def _load_switch(view: CircuitView, part: Part) -> _Names:
    """Power switch: its number says so; one supply in, outputs that lead away."""
    text = f"{part.description} {part.keywords}"
    if not _SWITCHES.match(part.value) and not re.search(
        r"load[- ]switch|power[- ]switch|power distribution", text, re.I
    ):
        return {}
    groups = _pins_by_net(part)
    grounds = [net for net in groups if view.is_ground(net)]
    strong = [net for net in groups if not view.is_ground(net) and net in view.rails]
    if not grounds or not strong:
        return {}

    def weight(net: str) -> tuple[int, int]:
        return len(groups[net]), view.degree(net)

    outputs = [
        net
        for net in groups
        if not view.is_ground(net)
        and (smoothed_or_wide(view, net) or net in view.rails)
        and not all(view.kind(r) in ("resistor", "chip") for r in view.refs(net))
    ]
    known = [net for net in strong if _volts(view, net) is not None]
    source = max(known or strong, key=weight)
    outputs = [net for net in outputs if net != source]
    if not outputs:
        return {}
    because = "a power switch by its number; the strongest supply feeds it"
    names = _named(groups, source, "IN", because)
    for place, net in enumerate(outputs, 1):
        mark = str(place) if len(outputs) > 1 else ""
        names |= _named(groups, net, f"OUT{mark}", "smoothed, fed by a power switch")
    for net in grounds:
        names |= _named(groups, net, "GND", "at ground")
    for net, pins in groups.items():
        if net not in (source, *outputs) and not view.is_ground(net):
            pulled = any(
                far in view.rails and not view.is_ground(far)
                for _, far in view.neighbours(net, "resistor")
            )
            if pulled and len(pins) == 1:
                names |= _named(groups, net, "FLG", "pulled up: a flag or an enable")
    return names


def _between(view: CircuitView, part: Part) -> _Names:
    """Small chip between two supplies of the same volts, one named after the other."""
    groups = _pins_by_net(part)
    rails = [net for net in groups if net in view.rails and not view.is_ground(net)]
    if not 4 <= len(part.pins) <= 8 or len(rails) != 2:
        return {}
    if not any(view.is_ground(net) for net in groups):
        return {}
    short, long = sorted(rails, key=len)
    plain = [net.rsplit("/", 1)[-1] for net in (short, long)]
    volts = [_volts(view, net) for net in (short, long)]
    if volts[0] is None or volts[0] != volts[1] or not plain[1].startswith(plain[0]):
        return {}
    if not smoothed_or_wide(view, short) or view.parts_on(long, "inductor"):
        return {}
    because = f"{plain[1]} is called after {plain[0]}, and the chip is between them"
    names = _named(groups, short, "IN", because) | _named(groups, long, "OUT", because)
    for net in groups:
        if view.is_ground(net):
            names |= _named(groups, net, "GND", "at ground")
    return names


# -- charge pumps ----------------------------------------------------------


def _pump(view: CircuitView, part: Part) -> _Names:
    """Flying capacitor between two pins that nothing else is on, beside a reservoir."""
    if _LINE_DRIVER.search(part.value):
        return {}
    groups = _pins_by_net(part)
    for low, high in _flying(view, part, groups):
        reservoir = _reservoir(view, part, groups, (low, high))
        if reservoir is None:
            continue
        why = "a capacitor flies between two pins of the chip alone"
        names = _named(groups, low, "CPL", why) | _named(groups, high, "CPH", why)
        names |= _named(
            groups, reservoir, "VCP", "its capacitor is beside the flying one's"
        )
        motor = [
            net
            for net in groups
            if net in view.rails and view.parts_on(net, "mosfet", "igbt")
        ]
        if len(motor) == 1:
            names |= _named(groups, motor[0], "VM", "the supply of the switches")
        return names
    return {}


def _flying(
    view: CircuitView, part: Part, groups: dict[str, list[Pin]]
) -> Iterator[tuple[str, str]]:
    for net, pins in groups.items():
        if len(pins) != 1 or view.degree(net) != 2:
            continue
        for _, far in view.neighbours(net, "capacitor"):
            if far in groups and len(groups[far]) == 1 and view.degree(far) == 2:
                yield net, far
                return


def _reservoir(
    view: CircuitView,
    part: Part,
    groups: dict[str, list[Pin]],
    flying: tuple[str, str],
) -> str | None:
    """Net of the next pin that holds nothing but a capacitor to a supply or ground."""
    places = [pin.number for net in flying for pin in groups[net]]
    if not all(number.isdecimal() for number in places):
        return None
    numbers = [int(number) for number in places]
    if abs(numbers[0] - numbers[1]) != 1:
        return None
    for step in (1, 2):
        for number in (min(numbers) - step, max(numbers) + step):
            pin = part.pin(str(number))
            if pin is None or pin.net is None or view.is_ground(pin.net):
                continue
            if view.degree(pin.net) > WIDE_PINS:
                continue
            others = [ref for ref in view.refs(pin.net) if ref != part.ref]
            caps = [
                far
                for _, far in view.neighbours(pin.net, "capacitor")
                if view.is_ground(far) or far in view.rails
            ]
            if caps and all(view.kind(ref) == "capacitor" for ref in others):
                return pin.net
    return None
