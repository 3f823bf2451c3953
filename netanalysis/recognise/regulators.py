"""Regulators: chips that make one supply from another, and fixed output volts."""

import re
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.rail_names import volts_in_text
from ohmtrail.netanalysis.recognise.smoothing import smoothed_or_wide

__all__ = ["Regulator", "fixed_volts", "is_linear_number", "linear_regulators"]

#: Output voltages that fixed regulators are made for, as the two digits of the
#: part number (3.3 V is 33); common practice of makers.
_CODES = {
    f"{code:02d}": code / 10
    for code in (8, 9, 10, 11, 12, 13, 15, 18, 20, 21, 22, 24, 25, 26, 27, 28, 29, 30)
} | {f"{code}": code / 10 for code in (31, 32, 33, 34, 35, 36, 40, 42, 45, 47, 50, 60)}

#: (pattern, how its group spells volts): "decimal", "code" (two digits, tenths),
#: "whole" (05 is 5 V), "hundredths" (115 is 1.15 V).  First match counts.
_PART_NUMBERS: tuple[tuple[re.Pattern[str], str], ...] = (
    # LM1117-3.3, AZ1117CH-5.0TRG1, LP3962EMP-2.5
    (re.compile(r"(?<![\d.])(\d{1,2}\.\d{1,2})V?(?![\d.])"), "decimal"),
    # L7805, MC78M12, LM340-5 style: the 78xx and 79xx families
    (re.compile(r"78[LMSTH]?(05|06|08|09|10|12|15|18|24)(?!\d)"), "whole"),
    (re.compile(r"79[LMSTH]?(05|06|08|09|12|15|18|24)(?!\d)"), "negative"),
    # MCP1824T-1802E, MCP1700-3302E: two digits of volts, two of tolerance
    (re.compile(r"-(\d\d)0[0-9](?=[A-Z/]|$)"), "code"),
    # AP1117-50, RT9080-33GJ5, AP1501A-33K5G
    (re.compile(r"-[A-Z]{0,2}(\d\d)(?=[A-Z_/\-]|$)"), "code"),
    # SPX3819M5-L-3-3
    (re.compile(r"-(\d)-(\d)(?!\d)"), "split"),
    # XC6206P332MR: type letter, two digits of volts, one of accuracy
    (re.compile(r"^XC6\d{3}[A-Z](\d\d)[12]"), "code"),
    # TLV70233, TPS7A0518, TLV74311, TPS73633: family, then two digits
    (re.compile(r"^(?:TLV7\d\d|TPS7[0-9A-Z]\d\d?|TLV1117)-?(\d\d)(?!\d)"), "code"),
    # TCR2EF115, TCR3DG33: three digits are hundredths
    (re.compile(r"^TCR\d[A-Z]{2}(\d\d\d)(?!\d)"), "hundredths"),
    # LD1117S33TR, NCP1117ST33T3G, ME6211C33, HT7533, XC6220B33
    (re.compile(r"(?<=[A-Z])(\d\d)(?=[A-Z]|$)"), "code"),
    (re.compile(r"^HT7[0-9](\d\d)"), "code"),
)

#: Families of linear regulators by the part number, adjustable ones too (common
#: practice of makers' numbering).
_LINEAR = re.compile(
    r"^(?:[A-Z]{1,4}\d?1117|[A-Z]{1,4}\d?108[456]|(?:[A-Z]{0,3}|MC)7[89][LMSTH]?\d\d|"
    r"LM[23]17|LM338|LM350|LM29[34]\d|LP29\d\d|LP38\d\d|LP39\d\d|LP59\d\d|TPS7\d{3,4}|"
    r"TPS7A\d\d|TLV7\d{2,4}|MCP1[78]\d\d|MIC52\d\d|MIC29\d\d|MIC39\d\d|XC62\d\d|"
    r"HT7[0-9]\d\d|ME62\d\d|SPX\d{4}|AP(?:21[12]\d|73\d\d|22\d\d)K?|RT90\d\d|"
    r"RT91\d\d|NCP(?:551|700|4681)|LT(?:176\d|196\d|30\d\d)|ADP(?:12\d|15\d|33\d\d)|"
    r"TCR\d[A-Z]{2}|LD(?:39|29|56)\d{2,3}|LDL?1117|LDK\d{3}|L4\d{3}|78L\d\d)",
    re.I,
)


@dataclass(frozen=True, slots=True)
class Regulator:
    """A linear regulator as its pins show it."""

    ref: str
    input: str
    output: str
    ground: str | None
    volts: float | None
    because: str


def fixed_volts(part: Part) -> tuple[float, str] | None:
    """Return (volts, why) of a fixed regulator's part number, or None.

    Only the part's own value and its library name are looked at.  Codes that no
    fixed regulator is made for ("01" is the adjustable one) give None.
    """
    for text, source in (
        (part.value, "part number"),
        (part.library.rpartition(":")[2], "symbol"),
    ):
        text = text.upper().strip()
        named = volts_in_text(text)
        if named is not None and re.search(r"\dV\d|\dV(?![A-Z0-9])", text):
            return named, f"{source} {text}"
        for pattern, spelling in _PART_NUMBERS:
            match = pattern.search(text)
            if match is None:
                continue
            volts = _spelled(match, spelling)
            if volts is not None:
                return volts, f"{source} {text}"
    return None


def is_linear_number(text: str) -> bool:
    """Whether a part number is of a family of linear regulators.

    >>> is_linear_number("AZ1117"), is_linear_number("LM393")
    (True, False)
    """
    return bool(_LINEAR.match(text.strip()))


def _spelled(match: re.Match[str], spelling: str) -> float | None:
    digits = match[1]
    if spelling == "decimal":
        volts = float(digits)
        return volts if 0.5 <= volts <= 30.0 else None
    if spelling == "whole":
        return float(digits)
    if spelling == "negative":
        return -float(digits)
    if spelling == "hundredths":
        return int(digits) / 100
    if spelling == "split":
        return float(f"{digits}.{match[2]}")
    return _CODES.get(digits)


def linear_regulators(view: CircuitView) -> tuple[Regulator, ...]:
    """Return the chips with an input, an output and a ground, and no switch pin.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground and roles.

    Notes
    -----
    O(pins).  Power switches (input, output, ground) look the same from their
    pins; for those `Regulator.volts` stays None unless the part number states
    volts and no feedback divider is there.
    """
    found = []
    for part in view.board.parts:
        if view.kind(part.ref) not in ("chip", "other") or not view.fitted(part.ref):
            continue
        if len(part.pins) > 16 or view.pins_with_role(part.ref, "switch", "boot"):
            continue
        for source, result in _channels(view, part):
            if source == result or view.is_ground(result) or view.is_ground(source):
                continue
            if not _is_power(view, part, source, result):
                continue
            ground = view.net_with_role(part.ref, "ground")
            fixed = None if _has_divider(view, part, result) else fixed_volts(part)
            volts, because = fixed if fixed is not None else (None, "")
            found.append(Regulator(part.ref, source, result, ground, volts, because))
    return tuple(found)


def _channels(view: CircuitView, part: Part) -> list[tuple[str, str]]:
    """Input and output net of each channel (one input may serve several)."""
    inputs = view.pins_with_role(part.ref, "input")
    inputs = inputs or view.pins_with_role(part.ref, "supply")
    by_unit = {
        view.unit(part.ref, pin.number): pin.net
        for pin in reversed(inputs)
        if pin.net is not None
    }
    if not by_unit:
        return []
    pairs: dict[tuple[str, str], None] = {}
    for pin in view.pins_with_role(part.ref, "output"):
        if pin.net is not None:
            unit = view.unit(part.ref, pin.number)
            source = by_unit.get(unit) or next(iter(reversed(by_unit.values())))
            if source is not None:
                pairs[source, pin.net] = None
    return list(pairs)


def _is_power(view: CircuitView, part: Part, source: str, result: str) -> bool:
    """Tell a regulator or switch from an amplifier or logic gate.

    Library, description and electrical type say it outright; else both ends
    must carry a capacitor to ground and nothing on the chip be a signal input.
    """
    text = f"{part.library} {part.description} {part.keywords}"
    if re.search(r"regulator|LDO|DC.?DC|load switch|power switch", text, re.I):
        return True
    if re.search(
        r"op-?amp|operational|comparator|amplifier|logic|buffer|translator|level shift|"
        r"gate driver|Driver_|transceiver|oscillator|sensor|optocoupler|isolat",
        text,
        re.I,
    ):
        return False
    outputs = view.pins_with_role(part.ref, "output")
    if any(pin.electrical == "power_out" for pin in outputs):
        return True
    return smoothed_or_wide(view, source) and smoothed_or_wide(view, result)


def _has_divider(view: CircuitView, part: Part, output: str) -> bool:
    """Whether a feedback pin hangs on resistors rather than on the output."""
    for pin in view.pins_with_role(part.ref, "feedback"):
        if pin.net is None or pin.net == output:
            continue
        large = [
            ref
            for ref, _ in view.neighbours(pin.net, "resistor")
            if (view.ohms(ref) or 0.0) > 10.0
        ]
        if large:
            return True
    return False
