"""One word of a value text as ohms, farads or henries."""

import re
from typing import NamedTuple

from ohmtrail.netanalysis.values._marks import capacitor_mark_farads, eia96_ohms
from ohmtrail.netanalysis.values._tables import (
    E24,
    LEADING,
    PREFIXES,
    RKM,
    UNIT_WORDS,
)

__all__ = ["LONGEST_WORD", "Found", "find_quantity"]


class Found(NamedTuple):
    """A quantity, or the readings that a word could have."""

    number: float | None
    #: Whether a prefix, a code letter or a unit stands with the number.
    has_unit: bool = True
    #: Tolerance letter at the end, else empty.
    letter: str = ""
    doubt: str = ""
    alternatives: tuple[float, ...] = ()
    note: str = ""


#: No quantity is longer, and no float overflows.
LONGEST_WORD = 24

_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
#: Tolerance letters that may follow at once, where no prefix or unit is like them.
_AFTER = {"ohms": "BCDFGJ", "farads": "BCDFGJKMZ", "henries": "JKM"}


def _pattern(unit: str) -> re.Pattern[str]:
    prefixes = "|".join(sorted(map(re.escape, PREFIXES[unit]), key=len, reverse=True))
    letters = "".join(RKM[unit])
    word = UNIT_WORDS[unit]
    return re.compile(
        rf"(?:(\d*)([{letters}])(\d+)(?:{word})?([BCDFGJKMNQSTZ])?"
        rf"|{_NUMBER}({prefixes})({word})?([{_AFTER[unit]}])?)$"
    )


_PATTERNS = {unit: _pattern(unit) for unit in PREFIXES}
_CODE = re.compile(r"(\d{3})([BCDFGJKMNQSTZ])$")
_MEGA = re.compile(rf"{_NUMBER}M(F|H)?$")
_MICRO = re.compile(rf"{_NUMBER}M(FD|fd)$")
_POWER_OF_TEN = re.compile(r"\d+(?:\.\d*)?[eE][+-]?\d{1,2}$")
_SMALL_LARGE = {
    "farads": (("pF", -12), ("uF", -6)),
    "henries": (("nH", -9), ("uH", -6)),
}


def find_quantity(word: str, unit: str) -> Found | None:
    """Read one word.

    Parameters
    ----------
    word : str
        Normalised: "4k7", "100nF", "104K", "68X".
    unit : str
        "ohms", "farads" or "henries".

    Returns
    -------
    Found or None
        None if the word is no quantity of this unit.
    """
    if len(word) > LONGEST_WORD:
        return None
    match = _PATTERNS[unit].match(word)
    if match is None:
        return _other(word, unit)
    whole, point, rest, letter, digits, prefix, unit_word, after = match.groups()
    if point is not None:
        if not whole and point not in LEADING[unit]:
            return None
        if point == "E" and whole:
            return _two(
                f"{word}: E for the ohm or a power of ten",
                float(f"{whole}.{rest}"),
                float(f"{whole}e{rest}") if len(rest) < 3 else None,
            )
        if letter and letter in "QSTZ" and unit != "farads":
            return None
        number = float(f"{whole or 0}.{rest}e{RKM[unit][point]}")
        return Found(number, True, letter or "", "", (), _note(unit, point, ""))
    if prefix or unit_word:
        number = float(f"{digits}e{PREFIXES[unit][prefix]}")
        if unit == "farads" and len(word) == 4 and word[-1] in "FN":
            if (lettered := _coded(word, number)) is not None:
                return lettered
        if unit == "farads" and not unit_word and prefix in ("m", "f"):
            other = ("micro", -6) if prefix == "m" else ("a farad", 0)
            return _two(
                f"{word}: {'milli' if prefix == 'm' else 'femto'} or {other[0]}",
                number,
                float(f"{digits}e{other[1]}"),
            )
        return Found(number, True, after or "", "", (), _note(unit, prefix, unit_word))
    if after and unit == "farads" and (code := _CODE.match(word)):
        return _code(code[1], code[2])
    if after and unit == "ohms" and (coded := eia96_ohms(word)) is not None:
        return _two(f"{word}: EIA-96, or a tolerance letter", coded, float(digits))
    if after and unit != "ohms":
        return None if after != "M" else _other(word, unit)
    if len(digits.rstrip("0")) > 6:
        return None  # an order number
    found = _bare(digits, unit)
    if after and found.number and len(digits) in (3, 4) and digits[-1] == "0":
        coded = float(f"{digits[:-1]}")
        return _two(
            f"{word}: {digits} ohm or the code for {coded:g} ohm", found.number, coded
        )
    return found._replace(letter=after or "")


def _note(unit: str, prefix: str, word: str | None) -> str:
    if unit == "ohms" and prefix == "m" and not word:
        return "m is milli; a megohm is written M"
    if unit == "farads" and prefix == "m" and word:
        return "mF is milli; in old drawings it was micro"
    return ""


def _two(doubt: str, *readings: float | None) -> Found:
    known = tuple(dict.fromkeys(number for number in readings if number is not None))
    return Found(None, True, "", doubt, known)


def _other(word: str, unit: str) -> Found | None:
    """Codes and spellings that the one pattern leaves out."""
    if unit == "ohms":
        coded = eia96_ohms(word)
        if coded is not None:
            if word[-1] == "A":
                return _two(f"{word}: a current, or EIA-96", coded)
            return Found(coded, True, note="chip code EIA-96")
        if len(word) > 1 and word[-1] == "L" and word[:-1].isdecimal():
            return Found(float(f"{word[:-1]}e-3"))
    if unit == "farads":
        if match := _MICRO.match(word):  # the old word for microfarad
            return Found(float(f"{match[1]}e-6"))
        if code := _CODE.match(word):
            return _code(code[1], code[2])
    if unit != "ohms" and (match := _MEGA.match(word)):
        return _two(
            f"{word}: mega makes no {'capacitor' if unit == 'farads' else 'coil'}, "
            "milli or micro",
            float(f"{match[1]}e-3"),
            float(f"{match[1]}e-6"),
        )
    if _POWER_OF_TEN.match(word):
        number = float(word)
        if unit == "ohms" or number < 0.1:
            return Found(number)
    return None


def _coded(word: str, number: float) -> Found | None:
    """Read "104F" and "104N": three digits with a letter that is a unit too."""
    code = _bare(word[:3], "farads") if word[:3].isdecimal() else None
    if code is None or (code.number is None and word[-1] == "N"):
        return None
    if code.number is not None and word[-1] == "F":
        return Found(code.number, True, "F")  # nobody makes 104 farads
    readings = code.alternatives or (code.number,)
    return _two(f"{word}: a code, or its last letter is the unit", number, *readings)


def _code(digits: str, letter: str) -> Found:
    """Read three digits with a tolerance letter, on a capacitor."""
    read = _bare(digits, "farads")
    if read.number is None and letter in "KM" and read.doubt:
        return read._replace(doubt=f"{digits}{letter}: {read.doubt}")
    return read._replace(letter=letter)


def _bare(digits: str, unit: str) -> Found:
    """Read a number without unit, as far as it has one reading only."""
    number = float(digits)
    whole = digits.isdecimal()
    if number == 0.0 and unit == "ohms":
        return Found(0.0, False)
    if number == 0.0:
        return Found(None, False, "", f"{digits}: no unit, and nothing has zero of it")
    if unit == "ohms":
        if whole and len(digits) in (3, 4) and digits[-1] in "123456":
            coded = float(f"{digits[:-1]}e{digits[-1]}")
            if abs(coded - number) > 0.02 * number and (
                len(digits) == 4 or digits[:2] in E24
            ):
                doubt = f"no unit: {digits} ohm or the code for {coded:.0f} ohm"
                return Found(None, False, "", doubt, (number, coded))
        return Found(number, False)
    code = capacitor_mark_farads(digits) if digits[:2] in E24 else None
    if unit == "farads" and code is not None and digits[2] in "12345679":
        # A capacitor of 104 pF is not made; the code is the only reading.
        return Found(code, False)
    named = _SMALL_LARGE[unit]
    readings = [float(f"{digits}e{power}") for _, power in named]
    doubt = f"no unit: {digits} {named[0][0]} or {digits} {named[1][0]}"
    if code is not None and unit == "farads":
        readings.insert(0, code)
        if digits[2] == "8":
            readings[1:] = [float(f"{digits[:2]}e-4")]
            doubt = "a last digit 8 is 0.01 in EIA-198, and eight zeros to some"
        else:
            doubt += f", or the code for {float(f'{digits[:2]}'):g} pF"
    return Found(None, False, "", doubt, tuple(readings))
