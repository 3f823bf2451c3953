"""Diodes of every make: which way they conduct, and at what drop.

Drops are at 1 mA.  Data sheets give them at rated current; what a meter shows is
common practice (no single source).
"""

import itertools
import math
import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.network.elements import Junction, Resistance
from ohmtrail.netanalysis.network.scene import Range, Scene, joined, junction, path
from ohmtrail.netanalysis.values import parse_value

__all__ = ["CLAMP", "PIN_CLAMP", "SILICON", "diode_junctions", "zener_volts"]

SCHOTTKY = Range(0.12, 0.22, 0.45)
SILICON = Range(0.42, 0.58, 0.75)
#: A diode that nothing says more of: either of the two.
DIODE = Range(0.12, 0.5, 0.75)
ZENER = Range(0.5, 0.68, 0.85)
TVS = Range(0.4, 0.6, 0.85)
CLAMP = Range(0.35, 0.5, 0.75)
#: The reason of a clamp from ground to a signal's pin.
PIN_CLAMP = "common practice: clamp from ground"
#: What conducts above this is no path for a meter of 3 V.
_BREAKDOWN_MAX = 6.0
#: A diode that nobody knows the pins of: as little as its drop at the meter's 1 mA.
_HIDDEN = Range(120.0, math.inf, math.inf)
#: Pairs in a package of three pins, (anode, cathode) by pin number, as makers of
#: small-signal diodes number them (common practice, no single source).
_PAIRS = (
    (re.compile(r"-04|^BAV99|_Series", re.I), (("1", "3"), ("3", "2"))),
    (re.compile(r"-05|^BAV70|_CommonK", re.I), (("1", "3"), ("2", "3"))),
    (re.compile(r"-06|^BAW56|_CommonA", re.I), (("3", "1"), ("3", "2"))),
)

_LEDS = (
    (re.compile(r"infra|\bIR\b|9[0-9]0 ?nm", re.I), Range(0.9, 1.1, 1.3)),
    (re.compile(r"red|orange|amber|yellow", re.I), Range(1.4, 1.75, 2.1)),
    (re.compile(r"blue|white", re.I), Range(2.2, 2.6, 3.1)),
    (re.compile(r"green", re.I), Range(1.6, 2.0, 2.7)),
)
LED = Range(1.4, 1.9, 3.1)

_SILICON = re.compile(
    r"^(?:1N4\d\d\d|1N914|BA[SVWL]\d|MUR|ES\d|US\d|RS\d|S\d[A-M]|UF\d|FR\d|LL4|M[1-7]$)",
    re.I,
)
_RECTIFIER = re.compile(r"rectifier|switching diode|silicon", re.I)
#: "5V1", "C3V3" inside a part number; "3.3V" alone.
_ZENER_CODE = re.compile(r"(?<![0-9])(\d{1,2})V(\d)(?![0-9])", re.I)


def zener_volts(part: Part) -> float | None:
    """Return the nominal volts of a Zener diode or TVS; None where unknown."""
    for text in (part.value, part.library.rpartition(":")[2]):
        if match := _ZENER_CODE.search(text):
            return float(f"{match[1]}.{match[2]}")
    value = parse_value(part.value, "zener")
    return value.volts if value is not None else None


def diode_junctions(scene: Scene, part: Part) -> Iterator[Junction | Resistance]:
    """Yield a diode's junctions, breakdown included where a meter could reach it."""
    kind, sort = scene.view.kind(part.ref), scene.view.sort(part.ref)
    if sort in ("varistor", "bidirectional"):
        return
    if sort == "bridge":
        yield from _bridge(scene, part)
        return
    if kind == "tvs" and len(part.pins) > 2:
        yield from _array(scene, part)
        return
    drop, name, emission, because, assumed = _drop(part, kind, sort)
    yield from _terminals(scene, part)
    ways = list(_ways(scene, part)) or list(_usual_pair(part))
    if not ways:
        nodes = scene.nodes(p for p in part.pins if p.net is not None or scene.in_hand)
        for a, b in itertools.pairwise(nodes):
            hidden = "its pins are not known: it may conduct one way"
            yield from path(part, a, b, _HIDDEN, hidden, assumed=True)
    for anode, cathode, inferred in ways:
        ends = scene.node(anode), scene.node(cathode)
        said = because
        if inferred:
            role = scene.view.roles.get((part.ref, anode.number))
            said += f"; polarity: {role.because if role else 'inferred'}"
        yield from junction(
            part, *ends, drop, name, said, emission=emission, assumed=assumed
        )
        volts = zener_volts(part) if kind in ("zener", "tvs") else None
        if volts is not None and 1.0 < volts <= _BREAKDOWN_MAX:
            yield from _breakdown(part, ends, volts)


def _breakdown(part: Part, ends: tuple[str, str], volts: float) -> Iterator[Junction]:
    # Zeners below some 5 V have a soft knee: at 1 mA well under the marked volts.
    soft = volts < 5.0
    low = 0.6 if soft else 0.85
    typical = 0.88 if soft else 0.98
    yield from junction(
        part,
        ends[1],
        ends[0],
        Range(low * volts, typical * volts, 1.08 * volts),
        "breakdown",
        f"breakdown at {volts:g} V, less at 1 mA (common practice)",
        emission=8.0 if soft else 2.0,
    )


def _drop(part: Part, kind: str, sort: str) -> tuple[Range, str, float, str, bool]:
    """Return drop, sort of junction, emission, reason, and whether assumed."""
    practice = "(common practice)"
    if kind == "led":
        text = f"{part.value} {part.description} {part.library}"
        for pattern, range_ in _LEDS:
            if match := pattern.search(text):
                return range_, "led", 2.0, f"{match[0]} LED {practice}", False
        return LED, "led", 2.0, f"LED of unknown colour {practice}", True
    if kind == "zener":
        return ZENER, "zener", 1.2, f"Zener, forward {practice}", False
    if kind == "tvs":
        return TVS, "silicon", 1.2, f"clamp diode, forward {practice}", False
    if "schottky" in sort:
        return SCHOTTKY, "schottky", 1.05, f"Schottky {practice}", False
    if _SILICON.match(part.value) or _RECTIFIER.search(part.description):
        return SILICON, "silicon", 1.7, f"silicon diode {practice}", False
    if sort == "photo":
        return SILICON, "silicon", 1.5, f"photodiode {practice}", True
    return DIODE, "silicon", 1.2, f"diode, silicon or Schottky {practice}", True


def _terminals(scene: Scene, part: Part) -> Iterator[Resistance]:
    """Yield what joins several pins of one anode or one cathode."""
    for role in ("anode", "cathode"):
        by_unit: dict[int, list[Pin]] = {}
        for pin in scene.view.pins_with_role(part.ref, role):
            by_unit.setdefault(scene.view.unit(part.ref, pin.number), []).append(pin)
        for pins in by_unit.values():
            if not scene.in_hand and len({pin.net for pin in pins}) > 1:
                continue
            yield from joined(scene, part, pins)


def _ways(scene: Scene, part: Part) -> Iterator[tuple[Pin, Pin, bool]]:
    """Yield (anode, cathode, whether inferred) of each diode in the package."""
    view = scene.view
    anodes = view.pins_with_role(part.ref, "anode")
    cathodes = view.pins_with_role(part.ref, "cathode")
    others = [pin for pin in part.pins if not view.role(part.ref, pin.number)]
    seen: set[tuple[str, str]] = set()

    def way(anode: Pin, cathode: Pin) -> Iterator[tuple[Pin, Pin, bool]]:
        ends = scene.node(anode), scene.node(cathode)
        if ends not in seen:
            seen.add(ends)
            role = view.roles.get((part.ref, anode.number))
            yield anode, cathode, role is not None and role.inferred

    if anodes and cathodes and len(others) == 1 and len(part.pins) == 3:
        # Two in series: the pin without a role is their middle.
        yield from way(anodes[0], others[0])
        yield from way(others[0], cathodes[0])
        return
    for anode in anodes:
        unit = view.unit(part.ref, anode.number)
        mates = [p for p in cathodes if view.unit(part.ref, p.number) == unit]
        nodes = {scene.node(pin) for pin in cathodes}
        for cathode in mates or (cathodes[:1] if len(nodes) == 1 else ()):
            yield from way(anode, cathode)
    if len({scene.node(pin) for pin in anodes}) == 1:
        for cathode in cathodes:
            yield from way(anodes[0], cathode)


def _usual_pair(part: Part) -> Iterator[tuple[Pin, Pin, bool]]:
    """Yield the diodes of a pair whose pins have no names, by its part number."""
    pins = {pin.number: pin for pin in part.pins}
    if set(pins) != {"1", "2", "3"}:
        return
    for pattern, pairs in _PAIRS:
        if pattern.search(part.value):
            for anode, cathode in pairs:
                yield pins[anode], pins[cathode], True
            return


def _bridge(scene: Scene, part: Part) -> Iterator[Junction]:
    names = {pin: (pin.name or pin.number).upper() for pin in part.pins}
    plus = [pin for pin, name in names.items() if name in ("+", "K", "DC+", "V+")]
    minus = [pin for pin, name in names.items() if name in ("-", "A", "DC-", "V-")]
    if len(plus) != 1 or len(minus) != 1:
        return
    because = "bridge rectifier (common practice)"
    for pin in part.pins:
        if pin in (plus[0], minus[0]):
            continue
        middle, name = scene.node(pin), "silicon"
        ends = (scene.node(minus[0]), middle), (middle, scene.node(plus[0]))
        for anode, cathode in ends:
            yield from junction(
                part, anode, cathode, SILICON, name, because, emission=1.7
            )


def _array(scene: Scene, part: Part) -> Iterator[Junction]:
    """Yield a clamp array: from ground to every line, and up to its supply pin."""
    view = scene.view

    def named(pattern: str, pin: Pin) -> bool:
        return bool(re.search(pattern, pin.name, re.I))

    grounds = [p for p in part.pins if view.is_ground(p.net) or named("GND|VSS|VN", p)]
    if not grounds:
        anodes = view.pins_with_role(part.ref, "anode")
        grounds = list(anodes[:1]) if len(scene.nodes(anodes)) == 1 else []
    if not grounds:
        return
    supplies = [p for p in part.pins if named("^(?:VCC|VDD|VBUS|VP|VB)", p)]
    ground = scene.node(grounds[0])
    because = "clamp array (common practice)"
    for node in scene.nodes(p for p in part.pins if p not in grounds):
        yield from junction(
            part, ground, node, TVS, "clamp", because, emission=1.2, assumed=True
        )
        for top in scene.nodes(supplies):
            yield from junction(
                part, node, top, TVS, "clamp", because, emission=1.2, assumed=True
            )
