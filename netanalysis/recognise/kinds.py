"""Part kinds: symbol, refdes class, value, pins and description together."""

import functools
import re

from ohmtrail.netanalysis.board import Board, Part
from ohmtrail.netanalysis.circuit import KINDS, Kind
from ohmtrail.netanalysis.recognise._kind_tables import (
    DESCRIPTIONS,
    LIBRARIES,
    POLARITY,
    REFDES,
    STATED_WORDS,
    SYMBOLS,
    Rule,
)
from ohmtrail.netanalysis.recognise._part_numbers import PART_NUMBERS
from ohmtrail.netanalysis.values import parse_value

__all__ = ["part_kind", "recognise_kinds", "refdes_letters"]

#: Pin names that only one family of transistor has.
_GATE = re.compile(r"^G(?:ATE)?_?\d?[A-D]?$", re.I)
_DRAIN_SOURCE = re.compile(r"^(?:D(?:RAIN)?|S(?:OURCE)?)_?\d?\d?[A-D]?$", re.I)
_BASE = re.compile(r"^B(?:ASE)?_?\d?$", re.I)
_COLLECTOR = re.compile(r"^C(?:OLLECTOR)?_?\d?$", re.I)
_EMITTER = re.compile(r"^E(?:MITTER)?_?\d?$", re.I)
_HERTZ = re.compile(r"\d\s*[kM]?(?:Hz|HZ|hz)\b|^\d+(?:\.\d+)?M(?:_|$)")
_TVS_VALUE = re.compile(
    r"^(?:TVS|ESD)\b|^(?:S?M[ABCDF]J|P[46]\w*|1\.5KE|SM[ABC]\w*?|5KP)\d+.*C?A\b", re.I
)
#: A current rating: rectifiers are marked with one, zeners with watts.
_AMPERES = re.compile(r"\d\s*m?A\b")
_VOLTS_ONLY = re.compile(r"^\d+(?:[.,]\d+)?\s*V(?:\d+)?(?:\s*[±/_ ].*)?$")
_LED = re.compile(
    r"(?:^|[^A-Za-z])LED(?:[^A-Za-z]|$)|"
    r"^(?:RED|GREEN|YELLOW|BLUE|WHITE|ORANGE|AMBER|RGB)(?:[ _].*)?$"
)
_IMPEDANCE = re.compile(r"@\s*\d+\s*MHz|\d+\s*(?:ohm|Ω|Ω|Z\b)", re.I)
_OSCILLATOR_PINS = frozenset(("OUT", "GND"))
_TABLES: dict[str, tuple[Rule, ...]] = {
    "symbols": SYMBOLS,
    "libraries": LIBRARIES,
    "part_numbers": PART_NUMBERS,
    "descriptions": DESCRIPTIONS,
    "polarity": POLARITY,
}
#: Kinds that a two-letter symbol or the refdes alone must not outvote.
_DIODES = ("diode", "zener", "tvs", "led")
#: What a chip's part number may look like to the table of symbols: R-78E5.0 is no
#: resistor, LED5000 no LED.
_SMALL = ("diode", "other", "resistor", "led", "inductor", "capacitor", "bead")


def recognise_kinds(board: Board) -> dict[str, Kind]:
    """Return the kind of every part of a board, by ref.

    Notes
    -----
    O(parts), each against tables of fixed length.
    """
    return {part.ref: part_kind(part) for part in board.parts}


def refdes_letters(ref: str) -> str:
    """Return the class letters of a refdes in capitals ("Q" of "Q12A").

    >>> refdes_letters("FB3")
    'FB'
    """
    match = re.match(r"(?:.*/)?([A-Za-z]+)", ref)
    return match[1].upper() if match else ""


def part_kind(part: Part) -> Kind:
    """Return what a part is, with the reason.

    The order of belief: what the file states; the symbol's form; transistor pin
    names; the library's name; the part number and the refdes letters; the
    description.  A part about which these say nothing is "other".
    """
    if part.stated_kind:
        word = part.stated_kind.strip().casefold()
        stated, sort = (word, "") if word in KINDS else STATED_WORDS.get(word, ("", ""))
        if stated:
            return _finished(part, Kind(stated, "the file states it", sort))
    library, _, symbol = part.library.rpartition(":")
    letters = refdes_letters(part.ref)
    named = _first("symbols", symbol)
    if named is not None and not (
        letters in ("U", "IC") and len(part.pins) > 2 and named[0] in _SMALL
    ):
        return _finished(part, Kind(named[0], f"symbol {symbol}", named[1]))
    by_pins = _transistor_by_pins(part)
    if by_pins is not None and letters not in ("U", "IC", "J", "P", "SW", "S"):
        return _finished(part, by_pins)
    if library and (shelf := _first("libraries", library)) is not None:
        kind = Kind(shelf[0], f"library {library}", shelf[1])
        if not _contradicts(letters, shelf[0]):
            return _finished(part, kind)
    return _finished(part, _by_letters(part, letters, symbol))


def _first(table: str, text: str) -> tuple[str, str] | None:
    """Return (kind, sort) of the first row of a table that matches, or None."""
    return _cached_first(table, text) if text else None


@functools.lru_cache(maxsize=65536)
def _cached_first(table: str, text: str) -> tuple[str, str] | None:
    for pattern, kind, sort in _TABLES[table]:
        if pattern.search(text):
            return kind, sort
    return None


def _contradicts(letters: str, kind: str) -> bool:
    """Whether refdes letters clearly name another kind than the library does."""
    claimed = REFDES.get(letters, ("?", ""))[0]
    if claimed == "?" or claimed == kind:
        return False
    if kind in _DIODES and claimed in (*_DIODES, "chip"):
        return False
    return claimed not in ("chip", "other", "connector") or kind == "connector"


def _transistor_by_pins(part: Part) -> Kind | None:
    names = [pin.name for pin in part.pins if pin.name]
    names = names or [pin.number for pin in part.pins]
    if not 3 <= len(part.pins) <= 40:
        return None
    gate = any(_GATE.match(name) for name in names)
    ends = sum(1 for name in names if _DRAIN_SOURCE.match(name))
    collector = any(_COLLECTOR.match(name) for name in names)
    emitter = any(_EMITTER.match(name) for name in names)
    if gate and ends and len(part.pins) <= 16:
        return Kind("mosfet", "pins named gate and drain or source")
    if gate and collector and emitter:
        return Kind("igbt", "pins named gate, collector, emitter", "n-channel")
    if collector and emitter and any(_BASE.match(name) for name in names):
        return Kind("bipolar", "pins named base, collector, emitter")
    return None


def _by_letters(part: Part, letters: str, symbol: str) -> Kind:
    """Decide from refdes letters, part number and description."""
    claimed, sort = REFDES.get(letters, ("", ""))
    number = _first("part_numbers", part.value) or _first("part_numbers", symbol)
    words = _first("descriptions", f"{part.description} {part.keywords}")
    pins = len(part.pins)
    if not symbol and "_" in part.value:
        # Without a symbol a value of its form tells as much ("FB_120Z_3A").
        formed = _first("symbols", part.value)
        if formed is not None and (
            claimed == ""
            or (claimed, formed[0]) == ("inductor", "bead")
            or (claimed == "diode" and formed[0] in _DIODES)
        ):
            return Kind(formed[0], f"value {part.value}", formed[1])
    if claimed in ("?", "") and pins == 2:
        if re.search(r"net[_ -]?tie", f"{part.value} {part.footprint}", re.I):
            return Kind("jumper", "called a net tie", "net tie")
    if claimed == "?":
        return _ambiguous_letters(part, letters, sort, number, words)
    if claimed == "":
        if letters and pins == 0:
            return Kind("other", "no pins")
        if words is not None:
            return Kind(words[0], "its description", words[1])
        if _looks_like_connector(part):
            return Kind("connector", "its footprint or value is a connector's")
        return Kind("other", f"nothing known of refdes {part.ref} and {part.value!r}")
    because = f"refdes letters {letters}"
    if claimed in _DIODES:
        if number is not None and number[0] in _DIODES:
            return Kind(number[0], f"{because} and part number {part.value}", number[1])
        if words is not None and words[0] in _DIODES:
            return Kind(words[0], f"{because} and its description", words[1])
    if claimed == "chip" and words is not None and pins <= 8:
        if words[0] in ("mosfet", "bipolar", "igbt", "tvs"):
            return Kind(words[0], f"its description ({because})", words[1])
    if claimed in ("resistor", "capacitor", "inductor", "fuse", "jumper") and words:
        agrees = words[0] == claimed or (claimed, words[0]) in (
            ("inductor", "bead"),
            ("fuse", "bead"),
            ("inductor", "transformer"),
            ("resistor", "tvs"),
        )
        if agrees:
            return Kind(words[0], f"{because} and its description", words[1] or sort)
    if claimed == "jumper" and pins > 4:
        return Kind("connector", f"{because}, but {pins} pins")
    if claimed == "resistor" and pins < 2:
        return Kind("other", f"{because}, but fewer than two pins")
    if claimed == "inductor" and pins == 4:
        return Kind(claimed, f"{because}, four pins", "common-mode")
    if claimed == "inductor" and pins > 4:
        return Kind("transformer", f"{because}, {pins} pins")
    return Kind(claimed, because, sort)


def _ambiguous_letters(
    part: Part,
    letters: str,
    choice: str,
    number: tuple[str, str] | None,
    words: tuple[str, str] | None,
) -> Kind:
    transistor = ("mosfet", "bipolar", "igbt")
    because = f"refdes letters {letters}"
    pins = len(part.pins)
    if choice == "filter":
        if pins == 4:
            return Kind("inductor", f"{because}, four pins", "common-mode")
        if pins == 2:
            return Kind("bead", f"{because}, two pins")
        if pins == 3:
            return Kind("bead", f"{because}, three pins", "feedthrough")
        return Kind("other", f"{because}, {pins} pins: filter of unknown make")
    if choice == "connector or crystal":
        if _HERTZ.search(part.value):
            return Kind("crystal", f"{because} and a frequency as value")
        return Kind("connector", f"{because} and no frequency")
    if choice == "zener or regulator":
        if number is not None and number[0] in _DIODES:
            return Kind(number[0], f"{because} and part number", number[1])
        if pins == 2:
            return Kind("zener", f"{because}, two pins")
        return Kind("chip", f"{because}, {pins} pins")
    if number is not None and number[0] in transistor:
        return Kind(number[0], f"{because} and part number {part.value}", number[1])
    if words is not None and words[0] in (*transistor, "transformer"):
        return Kind(words[0], f"{because} and its description", words[1])
    polarity = _first("polarity", f"{part.value} {part.description}")
    if polarity is not None:
        return Kind(polarity[0], f"{because} and value {part.value}", polarity[1])
    if pins >= 9 or (choice == "transformer or transistor" and pins in (4, 5)):
        return Kind("transformer", f"{because}, {pins} pins")
    if choice == "transistor" and _is_power_package(part):
        return Kind("mosfet", f"{because} and the spread of pins over three nets")
    return Kind("other", f"{because}: {choice}, and {part.value!r} does not tell")


def _is_power_package(part: Part) -> bool:
    """Whether pins share three nets as drain, source and gate of a package do."""
    spread: dict[str, int] = {}
    for pin in part.pins:
        if pin.net is not None:
            spread[pin.net] = spread.get(pin.net, 0) + 1
    counts = sorted(spread.values())
    return len(part.pins) >= 5 and len(counts) == 3 and counts[0] == 1 < counts[1]


def _looks_like_connector(part: Part) -> bool:
    text = f"{part.value} {part.footprint}"
    return bool(re.search(r"conn|header|JST|molex|usb|jack|terminal|XT\d0", text, re.I))


def _finished(part: Part, kind: Kind) -> Kind:
    """Refine sort (and diode family) from value, description and pins."""
    name, sort, because = kind.kind, kind.sort, kind.because
    text = f"{part.library.rpartition(':')[2]} {part.value} {part.description}"
    number = _first("part_numbers", part.value)
    words = f"{part.description} {part.keywords}"
    if name in ("diode", "zener"):
        if _TVS_VALUE.search(part.value):
            name, sort, because = "tvs", "", f"{because}, value {part.value}"
        elif name == "diode" and (
            _LED.search(part.value.upper()) or _LED.search(part.footprint)
        ):
            name, because = "led", f"{because}, value or footprint says LED"
        elif (
            name == "diode"
            and not sort
            and _VOLTS_ONLY.match(part.value)
            and not _AMPERES.search(part.value)
            and not re.search(r"schottky|rectifier", text, re.I)
        ):
            # Rectifiers are not drawn with a bare voltage; zeners are (CP).
            name, because = "zener", f"{because}, value {part.value} alone"
        elif name == "diode" and not sort and re.search(r"schottky", text, re.I):
            sort = "schottky"
        elif name == "diode" and number is not None and number[0] in _DIODES:
            name, sort = number[0], sort or number[1]
            because = f"{because}, part number {part.value}"
    if name == "tvs" and not sort:
        pin_names = {pin.name.upper() for pin in part.pins}
        if pin_names == {"A1", "A2"} or re.search(r"\bbi-?directional", words, re.I):
            sort = "bidirectional"
        if re.search(r"\d+(?:\.\d+)?CA(?:-|$|\W)", part.value):
            sort = "bidirectional"
        elif re.search(r"\d+(?:\.\d+)?A(?:-|$|\W)", part.value) or re.search(
            r"unidirectional", words, re.I
        ):
            sort = sort if not re.search(r"\d+A(?:-|$|\W)", part.value) else ""
    if name in ("mosfet", "bipolar", "igbt") and not sort:
        polarity = _first("polarity", text)
        if polarity is not None and polarity[0] == name:
            sort = polarity[1]
        elif number is not None and number[0] == name:
            sort = number[1]
    if name == "inductor" and not sort and _IMPEDANCE.search(part.value):
        name, because = "bead", f"{because}, impedance at a frequency"
    if name == "resistor" and sort == "potentiometer" and len(part.pins) == 2:
        if _VOLTS_ONLY.match(part.value) or re.search(r"varistor", words, re.I):
            name, sort, because = "tvs", "varistor", f"{because}, {part.value}"
    if name == "crystal" and _OSCILLATOR_PINS <= {
        pin.name.upper() for pin in part.pins
    }:
        name, because = "chip", f"{because}, but has an output pin: an oscillator"
    if name == "relay" and len(part.pins) < 4 and "refdes" in because:
        name, because = "other", f"{because}, too few pins for a relay"
    if name == "chip" and not part.pins:
        name, because = "other", "no pins"
    if name == "capacitor" and not sort:
        sort = _capacitor_sort(part, text)
    if name == "resistor" and not sort:
        sort = _resistor_sort(part)
    if name == "jumper" and not sort and part.footprint:
        if re.search(r"bridged|closed", part.footprint, re.I):
            sort = "closed"
        elif re.search(r"open", part.footprint, re.I):
            sort = "open"
    return Kind(name, because, sort)


def _capacitor_sort(part: Part, text: str) -> str:
    everywhere = f"{text} {part.footprint}"
    for pattern, sort in (
        (r"tantal|\btant\b|CP_Tant|EIA-7343|EIA-3528|EIA-3216", "tantalum"),
        (r"polymer|OSCON|SP-?cap", "polymer"),
        (r"elec|CP_Radial|CP_Elec|elko|alumin", "electrolytic"),
        (r"(?<!un)polari[sz]ed", "polarised"),
    ):
        if re.search(pattern, everywhere, re.I):
            return sort
    return ""


def _resistor_sort(part: Part) -> str:
    if re.search(r"shunt|current_?sense", f"{part.value} {part.footprint}", re.I):
        return "shunt"
    value = parse_value(part.value, "resistor")
    if value is not None and value.ohms is not None and 0 < value.ohms <= 0.1:
        return "shunt"
    if len(part.pins) > 4 and len(part.pins) % 2 == 0:
        return "network"
    return ""
