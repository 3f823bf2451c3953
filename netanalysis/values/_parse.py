"""Reading one part's value text."""

import functools
import re
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.values._tables import (
    DIELECTRIC,
    E24,
    NOT_FITTED,
    PACKAGES,
    PREFIXES,
    RKM,
    TOLERANCE_LETTERS,
    UNIT_WORDS,
)

__all__ = ["Value", "parse_value", "says_not_fitted"]

#: What is read for each part kind.
_QUANTITY = {
    "resistor": "ohms",
    "bead": "ohms",
    "capacitor": "farads",
    "inductor": "henries",
    "fuse": "amps",
}

_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_TOLERANCE = re.compile(rf"(?:\+/?-|±)?{_NUMBER}%$")
_VOLTS = re.compile(rf"{_NUMBER}(k?)V(?:DC|AC|dc|ac)?$")
_VOLTS_RKM = re.compile(r"(\d+)V(\d+)$")
_AMPS = re.compile(rf"{_NUMBER}(m?)A$")
_HERTZ = re.compile(rf"{_NUMBER}([kMG]?)Hz$", re.I)
_WATTS = re.compile(r"(?:\d+/\d+|\d+(?:\.\d+)?)\s*m?W$")
_HERTZ_PREFIX = {"": 1.0, "k": 1e3, "m": 1e6, "g": 1e9}


def _quantity_patterns(unit: str) -> tuple[re.Pattern[str], re.Pattern[str]]:
    prefixes = "|".join(sorted(map(re.escape, PREFIXES[unit]), key=len, reverse=True))
    plain = re.compile(rf"{_NUMBER}({prefixes})({UNIT_WORDS[unit]})?$")
    letters = "".join(RKM[unit])
    rkm = re.compile(rf"(\d*)([{letters}])(\d+)(?:{UNIT_WORDS[unit]})?([BCDFGJ])?$")
    return plain, rkm


_PATTERNS = {unit: _quantity_patterns(unit) for unit in PREFIXES}


@dataclass(frozen=True, slots=True)
class Value:
    """What a value text says.  Missing is None, never 0."""

    text: str
    #: Resistance, capacitance or inductance in SI units, whichever the kind has.
    ohms: float | None = None
    farads: float | None = None
    henries: float | None = None
    #: Tolerance as a fraction (0.01 is 1 %).
    tolerance: float | None = None
    #: Voltage rating and current rating beside the value.
    volts: float | None = None
    amps: float | None = None
    #: Frequency at which a bead's impedance is stated.
    at_hertz: float | None = None
    dielectric: str = ""
    #: The text says that the part is not populated.
    not_fitted: bool = False
    #: Why the quantity is left open; empty where the text is clear.
    ambiguous: str = ""


@functools.lru_cache(maxsize=65536)
def parse_value(text: str, kind: str) -> Value | None:
    """Read a value text for a part of this kind.

    Parameters
    ----------
    text : str
        The value as drawn: "4k7", "22u/25V X5R", "600R@100MHz", "0.005 1%".
    kind : str
        One of the part kinds; resistor, capacitor, inductor, bead and fuse have
        quantities, other kinds only ratings and "not fitted" words.

    Returns
    -------
    Value or None
        None when nothing in the text is a value.  Where the text can be read in
        two ways the quantity stays None and `Value.ambiguous` says why.

    Examples
    --------
    >>> parse_value("4k7", "resistor").ohms
    4700.0
    >>> parse_value("R002", "resistor").ohms
    0.002
    >>> parse_value("10", "capacitor").ambiguous
    'no unit: 10 pF or 10 uF'
    """
    unit = _QUANTITY.get(kind, "")
    value = Value(text=text, not_fitted=says_not_fitted(text))
    known = value.not_fitted
    clear: float | None = None
    bare: list[tuple[float | None, str]] = []
    for token in _tokens(text):
        rated = _rating(value, token)
        if rated is not None:
            value, known = rated, True
            continue
        if unit not in PREFIXES:
            continue
        read = _quantity(token, unit)
        if read is None:
            continue
        number, doubt, has_unit, tolerance = read
        if tolerance is not None and value.tolerance is None:
            value = replace(value, tolerance=tolerance)
        if has_unit:
            if clear is None:
                clear = number
        elif token not in PACKAGES:
            bare.append((number, doubt))
    doubt = ""
    if clear is None and bare:
        clear, doubt = bare[0]
    if clear is not None or doubt:
        value, known = _with_quantity(value, unit, clear, doubt), True
    return value if known else None


@functools.lru_cache(maxsize=65536)
def says_not_fitted(text: str) -> bool:
    """Whether a value text says that the part is not populated."""
    return bool(NOT_FITTED.search(text))


def _with_quantity(value: Value, unit: str, number: float | None, doubt: str) -> Value:
    if unit == "ohms":
        return replace(value, ohms=number, ambiguous=doubt)
    if unit == "farads":
        return replace(value, farads=number, ambiguous=doubt)
    return replace(value, henries=number, ambiguous=doubt)


def _tokens(text: str) -> list[str]:
    text = text.replace("µ", "u").replace("μ", "u").replace("Ω", "R").replace("Ω", "R")
    text = re.sub(r"(\d+/\d+|\d+(\.\d+)?)\s*m?W\b", " ", text)
    text = re.sub(r"(?<=\d),(?=\d{1,2}(?!\d))", ".", text)
    text = re.sub(r"(?=(?:±|\+/-))", " ", text).replace("+/- ", "+/-")
    # "10 k", "100 nF", "120 ohm": a number and its unit written apart.
    text = re.sub(
        r"(?<![A-Za-z0-9.])(\d+(?:\.\d+)?) +(?=[munpkMG]?(?:F|H|R|ohms?|Ohms?|A|V|Hz|%)"
        r"(?![A-Za-z0-9])|[munpkMG](?![A-Za-z0-9]))",
        r"\1",
        text,
    )
    guarded = text.replace("+/-", "±")
    return [token for token in re.split(r"[\s/,;|_@()\[\]]+", guarded) if token]


def _rating(value: Value, token: str) -> Value | None:
    """Return the value with a rating read from the token, or None."""
    if match := _TOLERANCE.match(token):
        return replace(value, tolerance=round(float(match[1]) / 100, 6))
    if match := _VOLTS.match(token):
        return replace(value, volts=float(match[1]) * (1e3 if match[2] else 1.0))
    if match := _VOLTS_RKM.match(token):
        return replace(value, volts=float(f"{match[1]}.{match[2]}"))
    if match := _AMPS.match(token):
        return replace(value, amps=float(match[1]) * (1e-3 if match[2] else 1.0))
    if match := _HERTZ.match(token):
        return replace(
            value, at_hertz=float(match[1]) * _HERTZ_PREFIX[match[2].lower()]
        )
    if DIELECTRIC.match(token):
        return replace(value, dielectric=token.upper())
    return None


def _quantity(
    token: str, unit: str
) -> tuple[float | None, str, bool, float | None] | None:
    """Return (number, doubt, has a unit, tolerance) of a token, or None."""
    plain, rkm = _PATTERNS[unit]
    if match := rkm.match(token):
        whole, letter, rest, letter_tolerance = match.groups()
        number = float(f"{whole or '0'}.{rest}") * RKM[unit][letter]
        return _tidy(number), "", True, TOLERANCE_LETTERS.get(letter_tolerance or "")
    if match := plain.match(token):
        digits, prefix, word = match.groups()
        if not prefix and not word:
            number_or_none, doubt = _bare(digits, unit)
            return number_or_none, doubt, False, None
        if unit == "farads" and prefix == "m" and not word:
            return None, f"{token}: milli or micro", False, None
        return _tidy(float(digits) * PREFIXES[unit][prefix]), "", True, None
    if unit == "farads" and (match := re.match(rf"{_NUMBER}M(F|FD|fd)?$", token)):
        if match[2] in ("FD", "fd"):  # MFD is the old word for microfarad
            return _tidy(float(match[1]) * 1e-6), "", True, None
        return None, f"{token}: mega makes no capacitor, milli or micro", False, None
    return None


def _bare(digits: str, unit: str) -> tuple[float | None, str]:
    """Read a number without unit, as far as it has one reading only."""
    code = len(digits) == 3 and digits.isdigit() and digits[:2] in E24
    if unit == "ohms":
        if code and digits[2] in "23456":
            coded = int(digits[:2]) * 10 ** int(digits[2])
            return None, f"no unit: {digits} ohm or the code for {coded} ohm"
        return float(digits), ""
    small, large = ("pF", "uF") if unit == "farads" else ("nH", "uH")
    if code and digits[2] in "23456" and unit == "farads":
        # A capacitor of 104 pF is not made; the code is the only reading.
        return _tidy(int(digits[:2]) * 10 ** int(digits[2]) * 1e-12), ""
    if float(digits) == 0.0:
        return 0.0, ""
    return None, f"no unit: {digits} {small} or {digits} {large}"


def _tidy(number: float) -> float:
    """Remove the last-digit noise of multiplying by a power of ten."""
    return float(f"{number:.12g}")
