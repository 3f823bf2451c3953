"""Reading one part's value text."""

import functools
import re
from typing import Any

from ohmtrail.netanalysis.values._quantity import LONGEST_WORD, Found, find_quantity
from ohmtrail.netanalysis.values._ratings import (
    rating,
    set_letter,
    set_tolerance,
    take_watts_and_sides,
)
from ohmtrail.netanalysis.values._tables import NOT_FITTED, PACKAGES, QUANTITY
from ohmtrail.netanalysis.values._tokens import grouped_numbers, normal, words
from ohmtrail.netanalysis.values._value import Reading, Value

__all__ = ["parse_value", "read_value", "says_not_fitted"]

Fields = dict[str, Any]
_Read = tuple[int, str, Found]

#: What one reads words as, by what the kind asks for.
_UNIT = {"ohms": "ohms", "impedance_ohms": "ohms"} | {
    unit: unit for unit in ("farads", "henries")
}
_WHAT = {
    "ohms": "resistance",
    "farads": "capacitance",
    "henries": "inductance",
    "impedance_ohms": "impedance",
    "amps": "current",
    "at_hertz": "frequency",
}
_SIMPLE = ("ohms", "farads", "henries")
_NO_VALUE = frozenset(("", "~", "?", "-", "*"))
_EXPRESSION = re.compile(r"[{}?<>]|'.*\D.*'")
_ASSIGNED = re.compile(r"[RCLrcl] ?= ?")
#: "4x10k", "2x 22uF": several in one part.
_SEVERAL = re.compile(
    r"(?<![\w.])(\d{1,2}) ?x ?(?=\d+(?:\.\d+)?[kKMGRunpm])(?!\d[\d.]*mm)"
)
_THERMISTOR = re.compile(r"(NTC|PTC|thermistor)", re.I)
_KELVIN = re.compile(r"[2-5]\d{3}K$")
_DCR = frozenset(("DCR", "RDC"))
_FUSE = re.compile(
    r"(?:FF|F|M|TT|T)?(\d+(?:\.\d*)?|\.\d+)(m?)(?:A([LHE]?)(?:(\d+)V)?)?$"
)
_FUSE_RKM = re.compile(r"(?:FF|F|M|TT|T)?(\d+)A(\d+)$")
_GLUED = re.compile(r"(.*[FH%])(\d[\dVv.]*[Vv]\d?|\d+%)$")
_OHM = re.compile(r"[Oo]hms?$|OHMS?$")
_WIRE = re.compile(r"0+(?:\.0+)?(?:R0*|r|ohms?|Ohms?|OHMS?|E)$")


def parse_value(text: str, kind: str) -> Value | None:
    """Read a value text for a part of this kind.

    Parameters
    ----------
    text : str
        The value as drawn: "4k7", "22u/25V X5R", "600R@100MHz", "0.005 1%".
    kind : str
        One of the part kinds; resistor, capacitor, inductor, bead, fuse and
        crystal have quantities, other kinds only ratings and "not fitted" words.

    Returns
    -------
    Value or None
        None when nothing in the text is a value; `read_value` tells why.  Where the
        text can be read in two ways the quantity stays None, `Value.ambiguous`
        says why and `Value.alternatives` has the readings.

    Examples
    --------
    >>> parse_value("4k7", "resistor").ohms
    4700.0
    >>> parse_value("R002", "resistor").ohms
    0.002
    >>> parse_value("104", "resistor").ambiguous
    'no unit: 104 ohm or the code for 100000 ohm'
    >>> parse_value("600R@100MHz 0.2R DCR", "bead").ohms
    0.2

    Notes
    -----
    A text met before costs a look-up; a new one some microseconds.

    References
    ----------
    IEC 60062 (letter codes), EIA-198 (capacitor codes), EIA-96.
    """
    return read_value(text, kind).value


@functools.lru_cache(maxsize=65536)
def read_value(text: str, kind: str) -> Reading:
    """Read a value text as `parse_value` does, and say why what is missing is.

    Examples
    --------
    >>> read_value("22uF", "inductor").reason
    "'22uF' says no inductance"
    >>> read_value("", "resistor").reason
    'no value'
    """
    unit = QUANTITY.get(kind, "")
    if unit in _SIMPLE:
        # The usual word needs none of the rest.
        found = find_quantity(text, unit)
        if found is not None and found.number is not None and text not in PACKAGES:
            fields: Fields = {unit: found.number}
            if found.letter:
                set_letter(fields, found.letter, fields.get("farads"))
            return Reading(Value(text, note=found.note, **fields))
    return _slow(text, kind, unit)


@functools.lru_cache(maxsize=65536)
def says_not_fitted(text: str) -> bool:
    """Whether a value text says that the part is not populated."""
    return bool(NOT_FITTED.search(text))


def _slow(text: str, kind: str, unit: str) -> Reading:
    absent = says_not_fitted(text)
    plain = normal(text)
    if plain in _NO_VALUE:
        return Reading(None, "no value")
    assigned = False
    if unit and (match := _ASSIGNED.match(plain)):
        assigned, plain = True, plain[match.end() :]
    if _EXPRESSION.search(plain):
        return Reading(None, f"{text!r} is an expression or a question")
    ways = [_fields(way, kind, unit) for way in grouped_numbers(plain)]
    fields = ways[0]
    if len(ways) == 2 and fields.get(unit) != ways[1].get(unit):
        fields = _either(unit, ways, f"{text}: decimal comma or thousands")
    if assigned and unit == "ohms" and fields.get(unit) and re.search(r"\dM\b", plain):
        milli = {unit: float(f"{fields[unit] * 1e-9:.9g}")}
        doubt = f"{text}: M is milli in SPICE, mega elsewhere"
        fields = _either(unit, [fields, milli], doubt)
    if not fields.get("ambiguous", "").isprintable():
        fields["ambiguous"] = repr(fields["ambiguous"])
    known = absent or any(key not in ("unread", "note") for key in fields)
    value = Value(text, not_fitted=absent, **fields) if known else None
    if not unit or absent or fields.get(unit) is not None or fields.get("ohms") == 0:
        return Reading(value)
    reason = fields.get("ambiguous") or f"{text!r} says no {_WHAT[unit]}"
    return Reading(value, reason)


def _either(unit: str, ways: list[Fields], doubt: str) -> Fields:
    """Make one reading of several that differ: the quantity stays open."""
    readings = [way[unit] for way in ways if way.get(unit) is not None]
    for way in ways:
        readings += way.get("alternatives", ())
    fields = {key: given for key, given in ways[0].items() if key != unit}
    fields["ambiguous"] = fields.get("ambiguous") or doubt
    fields["alternatives"] = tuple(dict.fromkeys(readings))
    return fields


def _fields(text: str, kind: str, unit: str) -> Fields:
    """Read a normalised text without doubtful commas."""
    fields: Fields = {}
    text = take_watts_and_sides(text, fields)
    if match := _SEVERAL.search(text):
        fields["note"] = f"{match[1]} of it in one part"
        text = f"{text[: match.start()]} {text[match.end() :]}"
    heat = kind == "resistor" and bool(_THERMISTOR.search(text))
    if heat:
        text = _THERMISTOR.sub(r" \1 ", text)
    read: list[_Read] = []
    ohmic: list[_Read] = []  # on a coil
    direct: float | None = None
    unread: list[str] = []
    pending = words(text)
    at = 0
    while at < len(pending):
        word = pending[at]
        at += 1
        if len(word) > LONGEST_WORD:
            unread.append(word)
            continue
        if word.upper() in _DCR:
            after = find_quantity(pending[at], "ohms") if at < len(pending) else None
            if after is not None and after.number is not None:
                direct, at = after.number, at + 1
            elif before := ohmic or (read if unit == "impedance_ohms" else []):
                direct = before.pop()[2].number
            continue
        if word[0] == "±" and _absolute(fields, word, unit, read):
            continue
        if _taken(fields, word, kind, unit, heat, len(pending) == 1):
            continue
        found = _in_ohms(word) if unit == "impedance_ohms" else None
        if found is None and unit in _UNIT:
            found = find_quantity(word, _UNIT[unit])
        if found is not None and (found.has_unit or word not in PACKAGES):
            read.append((at, word, found))
        elif unit == "henries" and (found := _in_ohms(word)) is not None:
            ohmic.append((at, word, found))
        elif (pieces := _pieces(word, unit)) is not None:
            pending[at:at] = pieces
        elif not _letter(fields, word, read[-1] if read else None, at):
            if _OHM.match(word) and read and read[-1][0] == at - 1:
                continue  # "10k ohm"
            if word not in PACKAGES and not (at == 1 and word in ("R", "C", "L")):
                unread.append(word)
    if direct is not None and unit in ("henries", "impedance_ohms"):
        fields["ohms"] = direct
    if unit in _UNIT:
        _choose(fields, read, unit, unread)
    if ohmic:
        _coil_ohms(fields, ohmic)
    unread = [word for word in unread if not says_not_fitted(word)]
    if unread:
        fields["unread"] = " ".join(unread)
    return fields


def _in_ohms(word: str) -> Found | None:
    """Read a word that says ohm ("600R", "120Z", "1k5R"), None for any other."""
    if word[-1] not in "RrZsSmM" or not word[0].isdigit() or word[-2:] == "mm":
        return None
    found = find_quantity(word[:-1] + "R" if word[-1] == "Z" else word, "ohms")
    said = found is not None and found.number is not None and not found.note
    return found if (said and not word.endswith(("m", "M"))) or "hm" in word else None


def _coil_ohms(fields: Fields, ohmic: list[_Read]) -> None:
    """Take ohms beside or in place of the henries of a coil.

    With a frequency they are a bead's impedance; else nobody says whether they are
    that or the resistance of the wire.
    """
    number = ohmic[0][2].number
    if "at_hertz" in fields and "henries" not in fields and len(ohmic) == 1:
        fields["impedance_ohms"] = number
    elif "henries" not in fields and "ambiguous" not in fields:
        fields["ambiguous"] = f"{ohmic[0][1]}: impedance of a bead, or resistance"
    else:
        said = (fields.get("unread"), *(one[1] for one in ohmic))
        fields["unread"] = " ".join(word for word in said if word)


def _taken(
    fields: Fields, word: str, kind: str, unit: str, heat: bool, alone: bool
) -> bool:
    """Take what is no quantity of the kind's own unit."""
    if alone and unit == "ohms" and len(word) == 3 and word[-1] == "A":
        coded = find_quantity(word, "ohms")
        if coded is not None:
            fields["ambiguous"], fields["alternatives"] = (
                coded.doubt,
                coded.alternatives,
            )
            return True
    if kind == "fuse" and _fuse(fields, word):
        return True
    if rating(fields, word, kind):
        return True
    if unit in ("farads", "henries", "impedance_ohms", "amps") and _WIRE.match(word):
        fields.setdefault("ohms", 0.0)
        return True
    if heat and _KELVIN.match(word):
        return True  # the B constant
    if kind in ("crystal", "bead", "inductor"):
        asked = "farads" if kind == "crystal" else "henries"
        other = find_quantity(word, asked) if unit != asked else None
        if other is not None and other.number is not None and word[-1] in "FH":
            fields.setdefault(asked, other.number)
            return True
    return False


def _fuse(fields: Fields, word: str) -> bool:
    if word in PACKAGES:
        return False
    if match := _FUSE_RKM.match(word):
        fields.setdefault("amps", float(f"{match[1]}.{match[2]}"))
        return True
    match = _FUSE.match(word)
    if match is None:
        return False
    if match[3] is None and not match[2]:
        fields.setdefault("ambiguous", f"{word}: no unit")
        fields.setdefault("alternatives", (float(match[1]), float(f"{match[1]}e-3")))
        return True
    fields.setdefault("amps", float(f"{match[1]}e{-3 if match[2] else 0}"))
    fields.pop("ambiguous", None)
    fields.pop("alternatives", None)
    if match[4]:
        fields.setdefault("volts", float(match[4]))
    return True


def _absolute(fields: Fields, word: str, unit: str, read: list[_Read]) -> bool:
    """Take a tolerance given in the part's own unit, "±0.25pF"."""
    found = find_quantity(word[1:], _UNIT[unit]) if unit in _UNIT else None
    whole = read[-1][2].number if read else None
    if found is None or not found.has_unit or not found.number or not whole:
        return False
    set_tolerance(fields, float(f"{found.number / whole:.6g}"))
    return True


def _letter(fields: Fields, word: str, before: _Read | None, at: int) -> bool:
    """Take a tolerance letter that stands alone right behind its value."""
    if len(word) != 1 or before is None or before[0] != at - 1:
        return False
    found = before[2]
    if not found.has_unit or found.number is None:
        return False
    small = found.number if found.number < 1 else None
    return set_letter(fields, word, small)


def _pieces(word: str, unit: str) -> list[str] | None:
    """Cut a word whose first piece is a quantity: "0.1uF-100V", "22uF25V"."""
    if match := _GLUED.match(word):
        pieces = [match[1], match[2]]
    elif "-" in word:
        pieces = [piece for piece in word.split("-") if piece]
    else:
        return None
    if len(pieces) < 2 or unit not in _UNIT:
        return None
    first = find_quantity(pieces[0], _UNIT[unit])
    return pieces if first is not None and first.has_unit else None


def _choose(
    fields: Fields,
    read: list[_Read],
    unit: str,
    unread: list[str],
) -> None:
    """Set the quantity from the words that could be it."""
    clear = [one for one in read if one[2].has_unit]
    picked = clear or read[:1]
    if not picked:
        return
    found = picked[0][2]
    unread += [one[1] for one in read if one not in picked]
    numbers = tuple(dict.fromkeys(one[2].number for one in picked))
    beside = [word for word in unread if word.upper() not in ("NTC", "PTC")]
    doubt = found.doubt
    if len(numbers) > 1:
        doubt = f"several values: {', '.join(one[1] for one in picked)}"
    elif not clear and beside and not ("at_hertz" in fields and unit not in _SIMPLE):
        doubt = doubt or f"a number without unit beside {' '.join(beside)}"
    if doubt:
        fields["ambiguous"] = doubt
        fields["alternatives"] = tuple(one for one in numbers if one is not None) or (
            found.alternatives
        )
        return
    # A bead of zero ohm is a wire.
    fields["ohms" if found.number == 0 else unit] = found.number
    if found.note:
        fields["note"] = "; ".join(filter(None, (fields.get("note"), found.note)))
    if found.letter:
        set_letter(fields, found.letter, fields.get("farads"))
