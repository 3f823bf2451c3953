"""A reading as people write it down: "12.6", "12R6", "4k7", "0.452V", "OL", "n/a"."""

import functools
import math
import re
from dataclasses import dataclass

__all__ = ["Reading", "expected_in", "parse_injection", "parse_reading"]

_NUMBER = r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))"
_EXPONENT = r"(?:[eE]([+-]?[0-9]{1,2}))?"
_OHM = r"(?:Ω|Ω|[Oo]hms?|OHMS?)"
_VOLT = r"(?:V|v|[Vv]olts?)"

_OHMS_PLAIN = re.compile(rf"{_NUMBER}{_EXPONENT} ?([mkKMG]?) ?(?:{_OHM}|[Rr])?")
#: A letter in the place of the decimal point (IEC 60062).
_OHMS_LETTER = re.compile(rf"([0-9]*)([RrkKMG])([0-9]+) ?{_OHM}?")
_VOLTS_PLAIN = re.compile(rf"{_NUMBER}{_EXPONENT} ?([muµμ]?) ?{_VOLT}?")
_VOLTS_LETTER = re.compile(r"([0-9]+)([Vv])([0-9]+)")
_INJECTED = re.compile(rf"{_NUMBER}{_EXPONENT} ?([mu]?)([VvAa])")

_POWER = {"": 0, "R": 0, "r": 0, "V": 0, "v": 0, "m": -3, "u": -6, "µ": -6, "μ": -6}
_POWER |= {"k": 3, "K": 3, "M": 6, "G": 9}

#: No cell that holds a reading is longer.
_LENGTH_MAX = 40
#: Larger numbers are slips of the pen.  No meter has so many volts in its diode mode:
#: such a number was meant as mV.  (Common practice, no source.)
_OHMS_MAX = 1e12
_VOLTS_MAX = {"diode": 20.0, "drop": 1e3, "voltage": 1e5}

_EXPECTED = {
    "ohms": "ohms such as 12.6, 12R6, 4k7, 420k, 0.0032, OL or n/a",
    "diode": "volts such as 0.452, 0.452V, 452mV, OL or n/a",
    "volts": "volts such as 12.6, 3.31V, 2.5mV or n/a",
}


@dataclass(frozen=True, slots=True)
class Reading:
    """What the meter showed."""

    #: Ohms or volts; ``inf`` for OL, None for a point that was not reached.
    value: float | None
    #: What the last digit written down counts; None for OL and n/a.
    step: float | None = None


def expected_in(mode: str) -> str:
    """Say what a value in this mode may be, for an error line."""
    if mode in ("resistance", "four-wire"):
        return _EXPECTED["ohms"]
    return _EXPECTED["diode" if mode == "diode" else "volts"]


def _scaled(whole: str, decimals: str, power: int) -> tuple[float, float]:
    """Return the number and its last place, each rounded once."""
    value = float(f"{whole or '0'}.{decimals or '0'}e{power}")
    return value, float(f"1e{power - len(decimals)}")


def _plain(number: str, exponent: str | None, prefix: str) -> tuple[float, float]:
    whole, _, decimals = number.partition(".")
    if whole in ("", "+", "-"):
        whole += "0"
    return _scaled(whole, decimals, int(exponent or 0) + _POWER[prefix])


def _number(
    text: str, plain: re.Pattern[str], letter: re.Pattern[str]
) -> tuple[float, float] | None:
    match = plain.fullmatch(text)
    if match is not None:
        number, exponent, prefix = match.groups()
        # "1e3k" is no way to write a number.
        return None if exponent and prefix else _plain(number, exponent, prefix)
    match = letter.fullmatch(text)
    if match is not None:
        return _scaled(match[1], match[3], _POWER[match[2]])
    return None


@functools.lru_cache(maxsize=4096)
def parse_reading(text: str, mode: str) -> Reading | None:
    """Read a measured value.

    Parameters
    ----------
    text : str
        The value with a decimal point: "12.6", "12R6", "4k7", "420k", "0.452V",
        "452mV", "0.0032", "OL", "n/a".  A unit must fit the mode.
    mode : str
        "resistance" and "four-wire" read ohms; "diode", "drop" and "voltage" volts.

    Returns
    -------
    Reading or None
        None where the text is no reading in this mode; `expected_in` says what is.

    Notes
    -----
    Letters in the place of the decimal point follow IEC 60062; "m" is milli and "M"
    mega.  Only volts may be negative.  OL is what a meter shows for open, so it is no
    reading in "drop" and "voltage".  Above 20 V is no reading in "diode": millivolts
    written without a unit are not guessed.

    Examples
    --------
    >>> parse_reading("4k7", "resistance")
    Reading(value=4700.0, step=100.0)
    >>> parse_reading("OL", "diode").value
    inf
    >>> parse_reading("0.452V", "resistance") is None
    True
    """
    if len(text) > _LENGTH_MAX:
        return None
    folded = text.casefold()
    if folded == "n/a":
        return Reading(None)
    if folded == "ol":
        return None if mode in ("drop", "voltage") else Reading(math.inf)
    in_ohms = mode in ("resistance", "four-wire")
    if in_ohms:
        found = _number(text, _OHMS_PLAIN, _OHMS_LETTER)
    else:
        found = _number(text, _VOLTS_PLAIN, _VOLTS_LETTER)
    if found is None:
        return None
    value, step = found
    if value < 0 and mode not in ("drop", "voltage"):
        return None
    if abs(value) > (_OHMS_MAX if in_ohms else _VOLTS_MAX[mode]):
        return None
    return Reading(value + 0.0, step)


def parse_injection(text: str) -> tuple[float, float] | None:
    """Read what was injected, "0.8V 2.1A", as (volts, amperes).

    Both must be there, each with its unit, in either order; None otherwise.

    Examples
    --------
    >>> parse_injection("0.8V 2.1A")
    (0.8, 2.1)
    >>> parse_injection("1V 3.98e-05A")
    (1.0, 3.98e-05)
    >>> parse_injection("0.8 2.1") is None
    True
    """
    if len(text) > _LENGTH_MAX:
        return None
    found: dict[str, float] = {}
    words = re.sub(r"(?<=[0-9.])\s+(?=[mu]?[VvAa](?:\s|$))", "", text).split()
    for word in words:
        match = _INJECTED.fullmatch(word)
        if match is None:
            return None
        value, _ = _plain(match[1], match[2], match[3])
        if value < 0 or match[4].upper() in found:
            return None
        found[match[4].upper()] = value + 0.0
    if len(found) != 2:
        return None
    return found["V"], found["A"]
