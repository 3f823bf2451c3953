"""Resistors: marked, in arrays, adjustable, sensing temperature; relay coils."""

import itertools
import math
import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.link_models import link_paths, marked_range
from ohmtrail.netanalysis.network.scene import Range, Scene, path
from ohmtrail.netanalysis.recognise.links import network_pairs

__all__ = ["relay_paths", "resistor_paths"]

#: A resistor whose value cannot be read.
UNKNOWN = Range(1e-3, 1e4, math.inf)
#: A thermistor against its value at 25 degrees, on a bench of 10 to 40 (CP).
_THERMISTOR = Range(0.4, 1.0, 2.2)
#: Whole track of a potentiometer, and end resistance of the wiper in ohms (CP).
_TRACK = Range(0.8, 1.0, 1.2)
_WIPER_OHMS = 0.5
_BUSSED = re.compile(r"R_Network|bussed|star|common", re.I)
_RELAY_COIL = Range(20.0, 200.0, 20e3)
_CONTACT = Range(2e-3, 0.05, 0.5)


def resistor_paths(scene: Scene, part: Part) -> Iterator[Resistance]:
    """Yield the paths of a resistor of any make."""
    if part.ref in scene.links:
        yield from link_paths(scene, part)
        return
    sort = scene.view.sort(part.ref)
    ohms = scene.view.ohms(part.ref)
    if sort == "potentiometer" and len(part.pins) >= 3:
        yield from _potentiometer(scene, part, ohms)
        return
    if ohms is None:
        said = f"value {part.value!r} not read" if part.value else "no value"
        range_, because = UNKNOWN, f"{said}: unknown"
    elif sort == "thermistor":
        low, typical, high = _THERMISTOR
        range_ = Range(ohms * low, ohms * typical, ohms * high)
        because = f"marked {part.value} at 25 °C; bench of 10 to 40 °C"
    elif sort == "potentiometer":
        range_, because = Range(_WIPER_OHMS, ohms / 2, ohms * 1.2), "adjustable"
    else:
        range_, because = marked_range(part, ohms)
    assumed = ohms is None or sort in ("thermistor", "potentiometer")
    for a, b in _pairs(scene, part, sort):
        nodes = scene.node(a), scene.node(b)
        yield from path(part, *nodes, range_, because, assumed=assumed)


def _pairs(scene: Scene, part: Part, sort: str) -> list[tuple[Pin, Pin]]:
    """Return the pin pairs between which a part's resistors lie."""
    pins = [pin for pin in part.pins if pin.net is not None or scene.in_hand]
    if len(pins) < 2:
        return []
    if len(pins) == 2:
        return [(pins[0], pins[1])]
    if _BUSSED.search(f"{part.library} {part.description}"):
        common = next((p for p in pins if "common" in p.name.lower()), pins[0])
        return [(common, pin) for pin in pins if pin is not common]
    if sort == "network":
        return network_pairs(part)
    ends: dict[str | None, Pin] = {}
    for pin in pins:
        ends.setdefault(pin.net, pin)
    first = list(ends.values())
    if len(first) == 2:
        return [(first[0], first[1])]
    if len(pins) % 2 == 0 and len(pins) > 4:
        return network_pairs(part)
    return list(itertools.pairwise(first))


def _potentiometer(
    scene: Scene, part: Part, ohms: float | None
) -> Iterator[Resistance]:
    """Yield the track as two paths that meet at the wiper, wherever it stands."""
    one, wiper, two = part.pins[:3]
    if wiper.name and "3" in wiper.name and part.pins[2].name == "2":
        wiper, two = two, wiper
    if ohms is None:
        range_, because = UNKNOWN, "potentiometer of unknown value"
    else:
        range_ = Range(_WIPER_OHMS, ohms / 2, ohms * _TRACK.high)
        because = f"marked {part.value}: anything up to it, by the wiper"
    for end in (one, two):
        nodes = scene.node(end), scene.node(wiper)
        yield from path(part, *nodes, range_, because, assumed=True)


def relay_paths(scene: Scene, part: Part) -> Iterator[Resistance]:
    """Yield a relay's coil and the contacts that are closed at rest.

    Terminals as EN 50005 numbers them: A1-A2 the coil, 11-12 closed at rest.
    """
    pins = {(pin.name or pin.number).upper(): pin for pin in part.pins}
    pins.update({pin.number.upper(): pin for pin in part.pins})
    if "A1" in pins and "A2" in pins:
        nodes = scene.node(pins["A1"]), scene.node(pins["A2"])
        because = "common practice: relay coil"
        yield from path(part, *nodes, _RELAY_COIL, because, assumed=True)
    for row in "12345678":
        common, rest = pins.get(f"{row}1"), pins.get(f"{row}2")
        if common is not None and rest is not None:
            nodes = scene.node(common), scene.node(rest)
            because = "common practice: relay contact closed at rest"
            yield from path(part, *nodes, _CONTACT, because, assumed=True)
