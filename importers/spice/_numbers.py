"""Numbers as SPICE writes them, and as people write them beside a part."""

import math
import re
from functools import lru_cache

__all__ = ["board_value", "has_letter_inside", "plain_value", "spice_number"]

_NUMBER = re.compile(
    r"([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)(meg|mil|[tgkmunpfa])?([a-z]*)", re.I
)
_POINT = re.compile(r"(\d+)(meg|[rkmunp])(\d+)[a-z]*", re.I)
_FACTOR = {
    "t": 1e12,
    "g": 1e9,
    "meg": 1e6,
    "k": 1e3,
    "r": 1.0,
    "mil": 25.4e-6,
    "m": 1e-3,
    "u": 1e-6,
    "n": 1e-9,
    "p": 1e-12,
    "f": 1e-15,
    "a": 1e-18,
}
#: Prefixes that the value reader takes for each unit, largest first.
_PREFIXES = {
    "R": (("G", 1e9), ("M", 1e6), ("k", 1e3), ("", 1.0), ("m", 1e-3), ("u", 1e-6)),
    "F": (
        ("", 1.0),
        ("m", 1e-3),
        ("u", 1e-6),
        ("n", 1e-9),
        ("p", 1e-12),
        ("f", 1e-15),
    ),
    "H": (("", 1.0), ("m", 1e-3), ("u", 1e-6), ("n", 1e-9), ("p", 1e-12)),
}


@lru_cache(4096)
def spice_number(text: str) -> float | None:
    """Return a number with SPICE's suffixes, or None.

    ``M`` is milli, ``MEG`` mega, letters after the suffix mean nothing.  A suffix
    in the place of the decimal point (4k7) is read as people mean it; ngspice 39
    drops the 7.

    Examples
    --------
    >>> spice_number("1M"), spice_number("1MEG"), spice_number("10uF")
    (0.001, 1000000.0, 1e-05)
    >>> spice_number("4k7"), spice_number("vcc")
    (4700.0, None)
    """
    match = _NUMBER.fullmatch(text)
    if match is not None:
        number, suffix = float(match[1]), (match[2] or "").lower()
    else:
        match = _POINT.fullmatch(text)
        if match is None:
            return None
        number, suffix = float(f"{match[1]}.{match[3]}"), match[2].lower()
    if suffix:
        number = float(f"{number * _FACTOR[suffix]:.12g}")
    return number if math.isfinite(number) else None


def has_letter_inside(text: str) -> bool:
    """Whether a number has its suffix in the place of the decimal point.

    >>> has_letter_inside("4k7"), has_letter_inside("4.7k")
    (True, False)
    """
    return _NUMBER.fullmatch(text) is None and _POINT.fullmatch(text) is not None


def board_value(number: float, unit: str) -> str:
    """Return a number as a value that can be read in one way only.

    Parameters
    ----------
    number : float
        In ohms, farads or henries.
    unit : str
        "R", "F" or "H".

    Examples
    --------
    >>> board_value(0.001, "R"), board_value(1e6, "R"), board_value(104.0, "R")
    ('1m', '1M', '104R')
    >>> board_value(1e-7, "F")
    '100nF'
    """
    prefixes = _PREFIXES[unit]
    size = abs(number)
    prefix, factor = prefixes[-1]
    if size == 0:
        prefix, factor = "", 1.0
    for name, one in prefixes:
        if size >= one * 0.9999999999:
            prefix, factor = name, one
            break
    if not 0 <= size / factor < 1e9 or (size and size / factor < 1e-6):
        return f"{number:g}"
    digits = f"{number / factor:.10f}" if size < factor else f"{number / factor:.9g}"
    if "e" in digits:
        digits = f"{number / factor:.0f}"
    if "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    if unit == "R" and prefix:
        return digits + prefix
    return digits + prefix + unit


@lru_cache(4096)
def plain_value(text: str, unit: str) -> tuple[str, bool] | None:
    """Return a number's `board_value` and `has_letter_inside`; None if it is none.

    >>> plain_value("4k7", "R"), plain_value("{r}", "R")
    (('4.7k', True), None)
    """
    number = spice_number(text)
    if number is None:
        return None
    return board_value(number, unit), has_letter_inside(text)
