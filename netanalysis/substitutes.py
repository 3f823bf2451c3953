"""What a replacement must meet or beat, and why a mixed set is refused.

Which ratings count for which part is common practice (no source); that paralleled
switches should be of one lot is advice of their makers (REFERENCES I, "Paralleled
MOSFETs").  What neither the part nor the circuit tells is listed as unknown: look it
up, and do not fit a part on the ratings that happen to be known.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.memberships import parallel_mates
from ohmtrail.netanalysis.rating_table import RATINGS, Rating
from ohmtrail.netanalysis.stressed_volts import stressed_volts
from ohmtrail.netanalysis.values import read_value

__all__ = [
    "Requirement",
    "Substitute",
    "mixed_set",
    "shortfalls",
    "substitute",
    "substitute_lines",
    "type_of",
]

#: A part whose own rating is not known gets this margin over what the circuit puts
#: on it (common practice: a 19 V input takes 30 V switches).
_MARGIN = 1.5
#: Two values are the same within this, as values go by preferred series.
_SAME = 0.02
#: Ceramic classes from steady to wild (EIA-198: what a letter code allows).
_CLASSES = ("C0G", "NP0", "X8R", "X7R", "X7S", "X7T", "X6S", "X5R", "Y5V", "Z5U")
#: What is asked of ceramic capacitors alone, and of polarised ones alone.
_CERAMIC = ("dielectric",)
_POLARISED = ("series resistance", "ripple current")
_PREFIX = {
    "p": 1e-12,
    "n": 1e-9,
    "u": 1e-6,
    "µ": 1e-6,
    "μ": 1e-6,
    "m": 1e-3,
    "": 1.0,
    "k": 1e3,
    "M": 1e6,
}
#: "1,200 V": a comma for thousands, or a decimal one; nobody guesses at a rating.
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}(?!\d)")
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([pnuµμmkM]?)\s*([A-Za-zΩ%]*)")


@dataclass(frozen=True, slots=True)
class Requirement:
    """One rating that a replacement must have."""

    #: "drain-source voltage", "package" ...
    name: str
    #: "at least", "at most", "the same" or "as" (like the old one; near is enough).
    rule: str
    #: SI value, or text; None where nothing tells.
    value: float | str | None
    unit: str = ""
    #: What it rests on; "unknown" where nothing tells.
    source: str = "unknown"

    def __str__(self) -> str:
        """Return the requirement for people."""
        if self.value is None:
            return self.name
        return (
            f"{self.name} {self.rule} {_shown(self.value, self.unit)} ({self.source})"
        )


@dataclass(frozen=True, slots=True)
class Substitute:
    """What a replacement for a part must meet or beat."""

    ref: str
    kind: str
    #: Parts in parallel, which get the same type.
    mates: tuple[str, ...]
    required: tuple[Requirement, ...]
    #: Ratings that matter and that neither part nor circuit tells.
    unknown: tuple[Requirement, ...]
    #: What to mind, in words.
    notes: tuple[str, ...] = ()


def substitute(circuit: Circuit, view: CircuitView, ref: str) -> Substitute:
    """Return what a replacement for a part must meet or beat.

    Parameters
    ----------
    circuit : Circuit
    view : CircuitView
    ref : str
        KeyError if the board has none.

    Notes
    -----
    From the value's text and the part's fields, then from the circuit: what its rails
    put on the part, with half as much again where its own rating is not known.
    """
    part = view.part(ref)
    kind = view.kind(ref)
    sort = view.sort(ref)
    polarised = sort in ("polarised", "electrolytic", "tantalum")
    left_out = _CERAMIC if kind == "capacitor" and polarised else _POLARISED
    made = [
        _requirement(part, kind, one)
        for one in RATINGS.get(kind, ())
        if one.name not in left_out
    ]
    volts = stressed_volts(circuit, view, ref)
    notes: list[str] = []
    if volts is not None:
        made = [_in_circuit(one, *volts, notes) for one in made]
    if sort:
        made.insert(0, Requirement("sort", "the same", sort, "", "as recognised"))
    made += _body(part, view)
    mates = tuple(m for m in parallel_mates(circuit, ref) if view.fitted(m))
    if kind in ("mosfet", "igbt", "bipolar") and mates:
        notes.append(
            f"in parallel with {', '.join(mates)}: one type, one lot for all of them"
        )
    refused = mixed_set(circuit, {m: type_of(view.part(m)) for m in (ref, *mates)})
    notes += [refused] if refused else []
    return Substitute(
        ref,
        kind,
        mates,
        tuple(one for one in made if one.value is not None),
        tuple(one for one in made if one.value is None),
        tuple(notes),
    )


def _requirement(part: Part, kind: str, rating: Rating) -> Requirement:
    for name in rating.fields:
        text = part.field(name)
        if not text:
            continue
        found: float | str | None = (
            text if rating.unit == "text" else _field_value(text, rating.unit)
        )
        if found is not None:
            unit = "" if rating.unit == "text" else rating.unit
            return Requirement(rating.name, rating.rule, found, unit, f"field {name}")
    value = read_value(part.value, kind).value
    number = (
        getattr(value, rating.value) if value is not None and rating.value else None
    )
    if number not in (None, ""):
        unit = "" if rating.unit == "text" else rating.unit
        return Requirement(rating.name, rating.rule, number, unit, "value")
    if rating.name == "on-resistance":
        match = re.search(r"(\d+(?:\.\d+)?)\s*(m)(?:R|ohm|Ω)\b", part.value)
        if match:
            ohms = float(match[1]) * 1e-3
            return Requirement(rating.name, rating.rule, ohms, "ohm", "value")
    return Requirement(rating.name, rating.rule, None, rating.unit)


def _field_value(text: str, unit: str) -> float | None:
    plain = text.strip().lstrip("<>=±~ ")
    match = _NUMBER.match(plain)
    if match is None or _THOUSANDS.match(plain):
        return None
    number = float(match[1].replace(",", ".")) * _PREFIX[match[2]]
    tail = match[3]
    if unit == "ppm" and plain[len(match[1]) :].lstrip().startswith("ppm"):
        # The p is no prefix here.
        return abs(float(match[1].replace(",", ".")))
    if unit == "%":
        return number / 100 if tail == "%" else None
    same = {
        "V": ("v", "vdc"),
        "A": ("a",),
        "W": ("w",),
        "ohm": ("ohm", "ohms", "r", "ω"),
    }
    known = same.get(unit, (unit.casefold(),))
    if tail and tail.casefold() not in known:
        return None
    return abs(number)


def _in_circuit(
    one: Requirement, volts: float, why: str, notes: list[str]
) -> Requirement:
    """Hold a voltage rating against what the circuit puts on the part."""
    if not one.name.endswith("voltage") or one.rule != "at least":
        return one
    if one.name.startswith("gate"):
        return one
    if one.value is None:
        words = f"the circuit: {why}, and half as much again, common practice"
        return replace(one, value=volts * _MARGIN, source=words)
    if isinstance(one.value, float) and one.value < volts:
        notes.append(
            f"{one.name} of {_engineering(one.value)}V by its {one.source} is below "
            f"what the circuit puts on it ({why}): check before ordering"
        )
        return one
    return replace(one, source=f"{one.source}; the circuit: {why}")


def _body(part: Part, view: CircuitView) -> list[Requirement]:
    package = part.field("Package") or part.footprint.rpartition(":")[2]
    made = [
        Requirement(
            "package",
            "the same",
            package or None,
            "",
            "field Package" if part.field("Package") else "footprint",
        )
    ]
    if len(part.pins) > 2:
        order = " ".join(
            f"{pin.number}={pin.name or view.role(part.ref, pin.number) or '?'}"
            for pin in part.pins
        )
        if len(part.pins) > 12:
            order = f"{len(part.pins)} pins in the old part's order"
        made.append(Requirement("pin order", "the same", order, "", "the board"))
    return made


def type_of(part: Part) -> str:
    """Return what a part's type is called: its part number, else its value."""
    for name in ("MPN", "Manufacturer Part Number", "Part Number"):
        if part.field(name):
            return part.field(name)
    return part.value


def mixed_set(circuit: Circuit, types: Mapping[str, str]) -> str:
    """Return why parts of these types must not stand in parallel, "" where they may.

    Parameters
    ----------
    circuit : Circuit
    types : mapping
        The type proposed (or fitted) for each ref.

    Notes
    -----
    Switches and diodes in parallel share current by what they are alike; capacitors,
    resistors and inductors in parallel may differ.
    """
    for one in circuit.parallel_sets:
        if one.kind not in ("mosfet", "igbt", "bipolar", "diode"):
            continue
        mine = {ref: types[ref] for ref in one.parts if ref in types}
        if len({" ".join(text.split()).casefold() for text in mine.values()}) > 1:
            said = ", ".join(
                f"{ref} {text or '(no type)'}" for ref, text in mine.items()
            )
            return (
                f"mixed set refused: {said}. In parallel they do not share the "
                "current: threshold, on-resistance and gate charge differ; what turns "
                "on first or off last carries it alone; fit one type, one lot"
            )
        missing = [ref for ref in one.parts if ref not in types]
        if mine and missing and len(types) > 1:
            return (
                f"incomplete set refused: {', '.join(mine)} without "
                f"{', '.join(missing)}: old and new in parallel do not share the "
                "current"
            )
    return ""


def shortfalls(
    wanted: Substitute, offered: Mapping[str, float | str]
) -> tuple[str, ...]:
    """Return what an offered part does not meet, and what is not known of either.

    Parameters
    ----------
    wanted : Substitute
    offered : mapping
        Rating by `Requirement.name`, SI values.

    Returns
    -------
    tuple of str
        Empty only if every rating is known and met.
    """
    found = []
    for one in wanted.required:
        have = offered.get(one.name)
        if have is None:
            found.append(f"{one.name}: not stated, wanted {one.rule} {_say(one)}")
        elif not _meets(one, have):
            shown = _shown(have, one.unit)
            found.append(f"{one.name}: {shown}, wanted {one.rule} {_say(one)}")
    for one in wanted.unknown:
        words = "not known of the old part, look it up"
        found.append(f"{one.name}: {words}")
    return tuple(found)


def _meets(one: Requirement, have: float | str) -> bool:
    want = one.value
    if isinstance(want, str) or isinstance(have, str) or want is None:
        a, b = str(want).upper().strip(), str(have).upper().strip()
        if one.name == "dielectric" and a in _CLASSES and b in _CLASSES:
            return _CLASSES.index(b) <= max(_CLASSES.index(a), 1)
        return a == b
    if one.rule == "at least":
        return have >= want * (1 - 1e-9)
    if one.rule == "at most":
        return have <= want * (1 + 1e-9)
    slack = 0.3 if one.rule == "as" else _SAME
    return abs(have - want) <= slack * abs(want)


def _say(one: Requirement) -> str:
    return _shown(one.value if one.value is not None else "", one.unit)


def _shown(value: float | str, unit: str) -> str:
    if isinstance(value, str):
        return value
    return f"{100 * value:g} %" if unit == "%" else f"{_engineering(value)}{unit}"


def _engineering(value: float) -> str:
    """Write a value with an SI prefix ("220 n", "30 ")."""
    for limit, scale, prefix in (
        (1e6, 1e6, "M"),
        (1e3, 1e3, "k"),
        (1.0, 1.0, ""),
        (1e-3, 1e-3, "m"),
        (1e-6, 1e-6, "u"),
        (1e-9, 1e-9, "n"),
    ):
        if abs(value) >= limit * (1 - 1e-9):
            return f"{value / scale:.4g} {prefix}"
    return f"{value / 1e-12:.4g} p"


def substitute_lines(
    circuit: Circuit, view: CircuitView, refs: Iterable[str]
) -> tuple[str, ...]:
    """Return a line a type on what the replacements of parts must meet or beat.

    Parts of one value in one parallel set share a line.
    """
    refs = tuple(dict.fromkeys(refs))
    lines: list[str] = []
    done: set[str] = set()
    for ref in refs:
        if ref in done:
            continue
        found = substitute(circuit, view, ref)
        value = view.part(ref).value
        alike = [
            one
            for one in refs
            if one == ref or (one in found.mates and view.part(one).value == value)
        ]
        done.update(alike)
        words = "; ".join(str(one) for one in found.required)
        text = f"{' '.join(alike)}: {words}" if words else f"{' '.join(alike)}:"
        if found.unknown:
            text += f". Look up: {', '.join(one.name for one in found.unknown)}"
        lines.append(". ".join((text, *found.notes)))
    return tuple(lines)
