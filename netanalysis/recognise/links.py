"""Low-resistance links: parts through which direct current flows."""

import itertools
import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Link
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.current_sensors import INTERNAL_SHUNT_PARTS
from ohmtrail.netanalysis.values import parse_value

__all__ = ["SHUNT_MAX_OHMS", "across_network", "find_links", "network_pairs"]

#: A resistor up to this value is a link: sense resistors of controllers reach it,
#: and a handheld's lead resistance is as large (common practice, no source).
SHUNT_MAX_OHMS = 0.5

#: A supply has at least this to ground, a filtered signal less (CP).
_SUPPLY_FARADS = 0.9e-6

#: Ends of a current path through a chip, as makers name them: shunt inside the
#: package (IN+ IN-) with a shunt resistor in the description, or a Hall sensor's
#: primary conductor (IP+ IP-).
_HALL_POSITIVE = re.compile(r"^I?P(?:\+|P|_P)$|^IP\+?[1-4]$|^IP\+$")
_HALL_NEGATIVE = re.compile(r"^I?P(?:-|N|_N|M)$|^IP-$")
_INTERNAL_SHUNT = re.compile(
    r"(?:integrated|internal|built-?in|embedded)[^.]{0,30}"
    r"(?:shunt|sens(?:e|ing) resist)",
    re.I,
)


#: Windings of a transformer: AA AB, SA SB SC SD, P1 P2, PRI1+ PRI1-.
_WINDING = re.compile(r"^(A[A-D]?|S[A-D]?|P\d?|PRI\d?|SEC\d?|AUX\d?)[_ ]?")
#: Terminals of a four-terminal shunt: current or force, sense or voltage.
_TERMINAL = re.compile(
    r"^(I|F|FORCE|CURRENT|C|S|SENSE|V|K|KELVIN)_?([12]|[+-]|[PN]|[AB])$"
)


def find_links(view: CircuitView, *, fitted: bool = True) -> tuple[Link, ...]:
    """Return the low-resistance links of a board.

    Parameters
    ----------
    view : CircuitView
        With kinds.
    fitted : bool
        False asks for the links that parts marked "not fitted" would make.

    Notes
    -----
    O(pins).  Links whose two ends are one net are left out.
    """
    found: list[Link] = []
    for part in view.board.parts:
        if view.fitted(part.ref) is fitted:
            found.extend(link for link in _links_of(view, part))
    return tuple(found)


def _links_of(view: CircuitView, part: Part) -> Iterator[Link]:
    kind, sort = view.kind(part.ref), view.sort(part.ref)
    if kind in ("inductor", "bead", "fuse"):
        yield from _coil_or_fuse(view, part, kind, sort)
    elif kind == "transformer":
        yield from _windings(view, part)
    elif kind == "resistor":
        yield from _resistor(view, part, sort)
    elif kind == "jumper":
        yield from _jumper(part, sort)
    elif kind == "switch":
        yield from _switch(part)
    elif kind == "chip":
        yield from _chip(part)
    elif kind == "capacitor" and sort == "feedthrough":
        yield from _feedthrough(view, part, kind)
    elif kind == "connector":
        yield from _header(view, part)


def _link(
    part: Part,
    a: Pin,
    b: Pin,
    kind: str,
    because: str,
    ohms: float | None = None,
    always: bool = True,
) -> Iterator[Link]:
    if a.net is not None and b.net is not None and a.net != b.net:
        yield Link(
            part.ref, a.net, b.net, a.number, b.number, kind, because, ohms, always
        )


def _two_sided(part: Part) -> tuple[Pin, Pin] | None:
    """First pins on the two nets of a part that touches exactly two."""
    first: dict[str, Pin] = {}
    for pin in part.pins:
        if pin.net is not None:
            first.setdefault(pin.net, pin)
    ends = tuple(first.values())
    return (ends[0], ends[1]) if len(ends) == 2 else None


def _coil_or_fuse(
    view: CircuitView, part: Part, kind: str, sort: str
) -> Iterator[Link]:
    pins = [pin for pin in part.pins if pin.net is not None]
    if sort == "feedthrough":
        yield from _feedthrough(view, part, kind)
        return
    if kind == "inductor" and len(pins) == 4 and sort in ("common-mode", ""):
        pairs, because = _choke_pairs(part, pins)
        for a, b in pairs:
            yield from _link(part, a, b, kind, because)
        return
    if ends := _two_sided(part):
        yield from _link(part, *ends, kind, f"{kind} from pin to pin")
    elif len(pins) >= 2:
        for a, b in zip(pins[0::2], pins[1::2], strict=False):
            yield from _link(
                part, a, b, kind, f"{kind} with several windings, pins taken in pairs"
            )


def _feedthrough(view: CircuitView, part: Part, kind: str) -> Iterator[Link]:
    """Yield the way through a filter whose third pin is ground."""
    ends = [pin for pin in part.pins if pin.net and not view.is_ground(pin.net)]
    if len({pin.net for pin in ends}) == 2:
        yield from _link(part, ends[0], ends[-1], kind, "feed-through filter")


def _header(view: CircuitView, part: Part) -> Iterator[Link]:
    """Yield where a jumper on a pin header may join two smoothed supplies."""
    text = f"{part.footprint} {part.value} {part.library}"
    if len(part.pins) not in (2, 3) or not re.search(r"header|jumper|01x0", text, re.I):
        return
    for a, b in itertools.pairwise(part.pins):
        if all(
            pin.net is not None
            and not view.is_ground(pin.net)
            and _bulk_farads(view, pin.net) >= _SUPPLY_FARADS
            for pin in (a, b)
        ):
            yield from _link(
                part, a, b, "connector", "header, if a jumper is fitted", always=False
            )


def _bulk_farads(view: CircuitView, net: str) -> float:
    farads = 0.0
    for ref, other in view.neighbours(net, "capacitor"):
        value = parse_value(view.part(ref).value, "capacitor")
        if value is not None and view.is_ground(other):
            farads += value.farads or 0.0
    return farads


def _choke_pairs(part: Part, pins: list[Pin]) -> tuple[list[tuple[Pin, Pin]], str]:
    """Pair the pins of a common-mode choke: 1-2 and 3-4, or 1-4 and 2-3.

    Net names of one line (D+ before and after the choke) decide where they
    tell; else 1-2 and 3-4, as most symbols have it (common practice).
    """
    by_number = {pin.number: pin for pin in pins}
    if set(by_number) != {"1", "2", "3", "4"}:
        return [(pins[0], pins[1]), (pins[2], pins[3])], "windings taken in pin order"
    symbol = part.library.rpartition(":")[2]
    if match := re.search(r"_([1-4])([1-4])([1-4])([1-4])$", symbol):
        a, b, c, d = (by_number[number] for number in match.groups())
        if len(set(match.groups())) == 4:
            return [(a, b), (c, d)], f"choke windings as in the symbol's name {symbol}"
    one, two, three, four = (by_number[str(n)] for n in range(1, 5))
    straight = [(one, two), (three, four)]
    crossed = [(one, four), (two, three)]
    if _likeness(straight) >= _likeness(crossed):
        return straight, "choke windings 1-2 and 3-4 (usual symbol; not certain)"
    return crossed, "choke windings 1-4 and 2-3, from the net names (not certain)"


def _likeness(pairs: list[tuple[Pin, Pin]]) -> int:
    score = 0
    for a, b in pairs:
        if a.net is None or b.net is None:
            continue
        if any(re.search(r"(?:IN|GND|VPP)$", net, re.I) for net in (a.net, b.net)):
            continue  # N of VIN and GND marks no line of a pair
        ends = [
            re.sub(r"[^+\-PN]", "", net.rsplit("/", 1)[-1].upper()[-3:])
            for net in (a.net, b.net)
        ]
        if ends[0] and ends[1]:
            score += 1 if ends[0][-1] == ends[1][-1] else -1
    return score


def _windings(view: CircuitView, part: Part) -> Iterator[Link]:
    """Yield the windings of a transformer, as far as pin names tell."""
    pins = [pin for pin in part.pins if pin.net is not None]
    groups: dict[str, list[Pin]] = {}
    for pin in pins:
        if match := _WINDING.match(pin.name.upper()):
            groups.setdefault(match[1], []).append(pin)
    # A name of its own for each end (AA and AB, P1 and P2): those of one stem are
    # windings end by end, and three are one winding with a tap.
    stems: dict[str, list[Pin]] = {}
    for name in [name for name, group in groups.items() if len(group) == 1]:
        lettered = name[0] in "AS" and len(name) == 2
        stem = name[0] if lettered else name.rstrip("0123456789")
        stems.setdefault(stem, []).extend(groups.pop(name))
    for alone in stems.values():
        ends = sorted(alone, key=lambda pin: pin.name.upper())
        size = 3 if len(ends) == 3 else 2
        for start in range(0, len(ends), size):
            groups[ends[start].name] = ends[start : start + size]
    for group in groups.values():
        for a, b in itertools.pairwise(group):
            yield from _link(part, a, b, "transformer", "winding by pin names")
    if not groups and len(pins) == 4:
        for a, b in ((pins[0], pins[1]), (pins[2], pins[3])):
            yield from _link(
                part,
                a,
                b,
                "transformer",
                "windings taken in pin order (not certain)",
                always=True,
            )


def _resistor(view: CircuitView, part: Part, sort: str) -> Iterator[Link]:
    if sort in ("potentiometer", "thermistor"):
        return
    ohms = view.ohms(part.ref)
    small = ohms is not None and ohms <= SHUNT_MAX_OHMS
    if sort == "network":
        if small:
            for a, b in network_pairs(part):
                yield from _link(part, a, b, "resistor", "0 ohm network", ohms)
        return
    if not small and not (ohms is None and sort == "shunt"):
        return
    because = "sense shunt" if ohms != 0.0 else "0 ohm"
    if ohms is None:
        because = "sense shunt, value not stated"
    if len(part.pins) == 4:
        yield from _kelvin(part, ohms, because)
    elif ends := _two_sided(part):
        yield from _link(part, *ends, "resistor", because, ohms)


def _kelvin(part: Part, ohms: float | None, because: str) -> Iterator[Link]:
    """Yield a four-terminal shunt: force to force, and each sense to its force.

    Pins 1 and 4 carry the current, 2 and 3 sense (KiCad's R_Shunt).  Pins on
    one net beside one another mean that the drawing joins them.
    """
    numbers = {pin.number: pin for pin in part.pins}
    if named := _force_and_sense(part):
        one, two, three, four = named
    elif set(numbers) != {"1", "2", "3", "4"}:
        if ends := _two_sided(part):
            yield from _link(part, *ends, "resistor", because, ohms)
        return
    else:
        one, two, three, four = (numbers[str(n)] for n in range(1, 5))
    force = f"{because}, force {one.number}-{four.number}"
    yield from _link(part, one, four, "resistor", force, ohms)
    for end, sense in ((one, two), (four, three)):
        if sense.net is not None and sense.net not in (one.net, four.net):
            yield from _link(
                part, end, sense, "resistor", "Kelvin tap of the shunt", 0.0
            )


def _force_and_sense(part: Part) -> tuple[Pin, Pin, Pin, Pin] | None:
    """Return force, sense, sense, force pins where names tell (I1 S1, F+ S+)."""
    found: dict[tuple[str, str], Pin] = {}
    for pin in part.pins:
        match = _TERMINAL.match(clean_pin_name(pin.name))
        if match is None:
            return None
        sort = "force" if match[1][0] in "IFC" else "sense"
        found.setdefault((sort, "1" if match[2] in ("1", "+", "P", "A") else "2"), pin)
    if len(found) != 4:
        return None
    first, second = found["force", "1"], found["force", "2"]
    return first, found["sense", "1"], found["sense", "2"], second


def network_pairs(part: Part) -> list[tuple[Pin, Pin]]:
    """Pair the pins of a resistor array: by name R1.1/R1.2, else across."""
    by_name: dict[str, list[Pin]] = {}
    for pin in part.pins:
        if match := re.match(r"^(R\d+)[._]", pin.name.upper()):
            by_name.setdefault(match[1], []).append(pin)
    if by_name and all(len(pair) == 2 for pair in by_name.values()):
        return [(pair[0], pair[1]) for pair in by_name.values()]
    pins = sorted(part.pins, key=lambda pin: (len(pin.number), pin.number))
    half = len(pins) // 2
    return [(pins[i], pins[-1 - i]) for i in range(half)]


def across_network(part: Part, net: str) -> tuple[str, ...]:
    """Return the nets at the far ends of an array's resistors that start on a net."""
    found: dict[str, None] = {}
    for pair in network_pairs(part):
        for near, far in (pair, pair[::-1]):
            if near.net == net and far.net is not None and far.net != net:
                found[far.net] = None
    return tuple(found)


def _jumper(part: Part, sort: str) -> Iterator[Link]:
    """Yield what a jumper joins, as drawn; one that may be pulled is not certain."""
    pins = [pin for pin in part.pins if pin.net is not None]
    symbol, value = part.library.rpartition(":")[2], part.value
    places = (symbol, part.footprint.rpartition(":")[2], value)
    said = [_position(place) for place in places]
    if sort == "net tie":
        for pin in pins[1:]:
            yield from _link(part, pins[0], pin, "jumper", "net tie", 0.0)
        return
    if "open" in said and "closed" not in said:
        return
    header = re.search(r"header|socket|2\.54|conn", part.footprint, re.I)
    certain = "closed" in said and "open" not in said and not header
    because = "closed jumper" if certain else "jumper, position not certain"
    if header and "closed" in said:
        because = "jumper drawn closed on a header: may be pulled"
    bridged = re.search(r"bridged(\d)(\d)", " ".join(places), re.I)
    for a, b in itertools.pairwise(pins):
        apart = (
            bridged is not None
            and len(pins) > 2
            and {a.number, b.number} != {bridged[1], bridged[2]}
        )
        if not apart:
            yield from _link(
                part, a, b, "jumper", because, 0.0 if certain else None, certain
            )


def _position(text: str) -> str:
    """Return "open", "closed" or "" as a symbol, footprint or value says."""
    if re.search(r"bridged|closed|(?:^|_)NC(?:_|$)|normally closed", text, re.I):
        return "closed"
    if re.search(r"(?:^|[_-])open|(?:^|_)NO(?:_|$)|normally open", text, re.I):
        return "open"
    return ""


def _switch(part: Part) -> Iterator[Link]:
    pins = [
        pin
        for pin in part.pins
        if pin.net is not None and not re.search(r"SH|GND|MP", pin.name.upper())
    ]
    for a, b in itertools.pairwise(pins):
        yield from _link(part, a, b, "switch", "switch, when closed", always=False)


def _chip(part: Part) -> Iterator[Link]:
    names = {pin: clean_pin_name(pin.name) for pin in part.pins}
    plus = [pin for pin, name in names.items() if _HALL_POSITIVE.match(name)]
    minus = [pin for pin, name in names.items() if _HALL_NEGATIVE.match(name)]
    if plus and minus:
        yield from _link(part, plus[0], minus[0], "other", "current sensor's conductor")
        return
    text = f"{part.description} {part.keywords}"
    inside = _INTERNAL_SHUNT.search(text) or INTERNAL_SHUNT_PARTS.match(part.value)
    if inside:
        plus = [pin for pin, name in names.items() if re.match(r"^V?IN_?(\+|P)$", name)]
        minus = [pin for pin, name in names.items() if re.match(r"^V?IN_?(-|N)$", name)]
        if plus and minus:
            yield from _link(part, plus[0], minus[0], "other", "shunt inside the chip")
