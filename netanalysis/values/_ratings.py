"""What stands beside the quantity: tolerance, volts, amperes, watts, class."""

import re
from typing import Any

from ohmtrail.netanalysis.values._tables import (
    ABSOLUTE_PICOFARADS,
    ASYMMETRIC_LETTERS,
    DIELECTRIC,
    TOLERANCE_LETTERS,
)

__all__ = ["rating", "set_letter", "set_tolerance", "take_watts_and_sides"]

#: The fields of a `Value` while it is read.
Fields = dict[str, Any]

_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_TOLERANCE = re.compile(rf"±?{_NUMBER}%$")
_PPM = re.compile(rf"±?{_NUMBER}ppm$")
_VOLTS = re.compile(rf"{_NUMBER}([mk]?)[Vv](?:DC|AC|dc|ac)?$")
_VOLTS_RKM = re.compile(r"(\d+)[Vv](\d+)$")
_AMPS = re.compile(rf"{_NUMBER}([mu]?)A$")
_HERTZ = re.compile(rf"(?:.*-)?{_NUMBER}([kMG]?)Hz(?:-.*)?$", re.I)
_POWER = {"": 0, "u": -6, "m": -3, "k": 3}
_WATTS = re.compile(
    r"(?<![\w.])(?:(\d{1,3})/([1-9]\d{0,2})|(\d{1,6}(?:\.\d{1,6})?)) *(m?)W\b"
)
#: "+80/-20%", "-20% +80%".
_SIDES = re.compile(
    r"([+-]) ?(\d{1,3}(?:\.\d{1,6})?) ?%?[ /,]*([+-]) ?(\d{1,3}(?:\.\d{1,6})?) ?%"
)


def rating(fields: Fields, word: str, kind: str) -> bool:
    """Take a rating from a word, the first of each sort; whether it was one."""
    last = word[-1]
    if last == "%":
        if (match := _TOLERANCE.match(word)) is None:
            return False
        set_tolerance(fields, float(f"{match[1]}e-2"))
        return True
    if match := _VOLTS.match(word):
        fields.setdefault("volts", float(f"{match[1]}e{_POWER[match[2]]}"))
        return True
    if ("z" in word or "Z" in word) and (match := _HERTZ.match(word)):
        power = {"": 0, "K": 3, "M": 6, "G": 9}[match[2].upper()]
        fields.setdefault("at_hertz", float(f"{match[1]}e{power}"))
        return True
    if 3 <= len(word) <= 4 and DIELECTRIC.match(word):
        spelled = word.upper()
        spelled = {"COG": "C0G", "COH": "C0H", "NPO": "NP0"}.get(spelled, spelled)
        fields.setdefault("dielectric", spelled)
        return True
    if last.isdigit():
        if match := _VOLTS_RKM.match(word):
            fields.setdefault("volts", float(f"{match[1]}.{match[2]}"))
            return True
        return False
    if last == "A" and (match := _AMPS.match(word)):
        fields.setdefault("amps", float(f"{match[1]}e{_POWER[match[2]]}"))
        return True
    if kind == "crystal" and (match := _PPM.match(word)):
        set_tolerance(fields, float(f"{match[1]}e-6"))
        return True
    return False


def take_watts_and_sides(text: str, fields: Fields) -> str:
    """Take watts and a two-sided tolerance out of a text, and return the rest."""
    if "W" in text and (match := _WATTS.search(text)):
        watts = float(match[1] or match[3]) / float(match[2] or 1)
        if watts > 0:
            fields["watts"] = watts * (1e-3 if match[4] else 1.0)
        text = f"{text[: match.start()]} {text[match.end() :]}"
    if "%" in text and (match := _SIDES.search(text)) and match[1] != match[3]:
        pair = {match[1]: match[2], match[3]: match[4]}
        set_tolerance(fields, float(f"{pair['-']}e-2"), float(f"{pair['+']}e-2"))
        text = f"{text[: match.start()]} {text[match.end() :]}"
    return text


def set_tolerance(fields: Fields, minus: float, plus: float | None = None) -> None:
    """Set a tolerance, unless one is set; fractions, both without sign."""
    if "tolerance" not in fields:
        plus = minus if plus is None else plus
        fields["tolerance"] = max(minus, plus)
        fields["tolerance_minus"], fields["tolerance_plus"] = minus, plus


def set_letter(fields: Fields, letter: str, farads: float | None) -> bool:
    """Set the tolerance that a letter of IEC 60062 says; whether it is one.

    Parameters
    ----------
    fields : dict
        The value while it is read.
    letter : str
        One capital.
    farads : float or None
        The capacitance beside it: below 10 pF some letters are absolute.
    """
    if farads is not None and 0 < farads < 10e-12 and letter in ABSOLUTE_PICOFARADS:
        part = ABSOLUTE_PICOFARADS[letter] / (farads * 1e12)
        set_tolerance(fields, float(f"{part:.6g}"))
    elif letter in TOLERANCE_LETTERS:
        set_tolerance(fields, TOLERANCE_LETTERS[letter])
    elif farads is not None and letter in ASYMMETRIC_LETTERS:
        set_tolerance(fields, *ASYMMETRIC_LETTERS[letter])
    else:
        return False
    return True
