"""Libraries inside an EAGLE file: packages, symbols, devices."""

import html
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import find, number, required

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = [
    "Device",
    "DeviceSet",
    "Libraries",
    "Library",
    "Pad",
    "headline",
    "read_libraries",
    "shown",
]

_BREAK = re.compile(r"</?(?:p|br|h\d|li|ul|tr|table|div)\b[^<>]*>|\n", re.I)
_ANGLE = re.compile(r"\d{1,3}(?:\.\d{1,6})?")
_TAG = re.compile(r"<[^<>]*>")
_DESCRIPTION_MAX = 200

#: Directions of pins in KiCad's words.  "io" is the default of the DTD, that is
#: what stands on pins whose author did not care: it says nothing.
ELECTRICAL = {
    "nc": "no_connect",
    "in": "input",
    "out": "output",
    "oc": "open_collector",
    "pas": "passive",
    "hiz": "tri_state",
    "pwr": "power_in",
    "sup": "power_out",
}


@dataclass(frozen=True, slots=True)
class Pad:
    """One pad of a package; millimetres from its origin, y up."""

    name: str
    x_mm: float
    y_mm: float
    #: "top" or "bottom" of the unmirrored package, "both" for a drilled pad.
    side: str
    #: Width, height and angle in degrees; None where the file leaves it to rules.
    land: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Device:
    """One package variant of a device set."""

    name: str
    #: Name of the package, None for a symbol that is on no board.
    package: str | None
    #: (gate, pin) -> pads.
    connects: Mapping[tuple[str, str], tuple[str, ...]]
    #: Technology -> attributes.
    technologies: Mapping[str, Mapping[str, str]]


@dataclass(frozen=True, slots=True)
class DeviceSet:
    """One symbol, or several gates, with all packages that it comes in."""

    name: str
    #: Whether people give the value, or the name of the device is the value.
    own_value: bool
    description: str
    #: Gate -> symbol.
    gates: Mapping[str, str]
    devices: Mapping[str, Device]


@dataclass(frozen=True, slots=True)
class Library:
    """One library as far as the file uses it."""

    name: str
    packages: Mapping[str, tuple[Pad, ...]]
    #: Symbol -> pin -> direction.
    symbols: Mapping[str, Mapping[str, str]]
    device_sets: Mapping[str, DeviceSet]


#: (name, urn) -> library; also (name, "") for the first of that name.
Libraries = dict[tuple[str, str], Library]


def headline(text: str) -> str:
    """Return the first line of a description in HTML, as plain text.

    Examples
    --------
    >>> headline("<b>Shunt</b> resistor<p>Source: a catalogue")
    'Shunt resistor'
    """
    for line in _BREAK.split(text[:4096]):
        words = " ".join(html.unescape(_TAG.sub(" ", line)).split())
        if words:
            return words[:_DESCRIPTION_MAX]
    return ""


def shown(pin: str) -> str:
    """Return a pin's name as drawn: ``GND@2`` is a second GND."""
    return pin.partition("@")[0] or pin


def _text(element: "Element", name: str) -> str:
    child = next(find(element, name), None)
    return (child.text or "") if child is not None else ""


def _pads(package: "Element") -> tuple[Pad, ...]:
    pads = []
    for item in package.iterchildren("pad", "smd"):
        side = "both"
        if item.tag == "smd":
            side = "bottom" if item.get("layer") == "16" else "top"
        x, y = number(item, "x"), number(item, "y")
        pads.append(Pad(required(item, "name"), x, y, side, _land(item)))
    return tuple(pads)


def _land(item: "Element") -> tuple[float, float, float] | None:
    """Return the size of a pad; a drilled one may leave its ring to the rules."""
    angle = _ANGLE.search(item.get("rot", ""))
    turn = float(angle[0]) if angle is not None else 0.0
    if item.tag == "smd" and item.get("dx") and item.get("dy"):
        return number(item, "dx"), number(item, "dy"), turn
    if item.tag == "pad" and item.get("diameter"):
        return number(item, "diameter"), number(item, "diameter"), 0.0
    return None


def _device(element: "Element") -> Device:
    connects: dict[tuple[str, str], tuple[str, ...]] = {}
    for item in find(element, "connects", "connect"):
        key = required(item, "gate"), required(item, "pin")
        connects[key] = connects.get(key, ()) + tuple(required(item, "pad").split())
    technologies = {
        technology.get("name", ""): {
            required(item, "name"): item.get("value", "")
            for item in find(technology, "attribute")
        }
        for technology in find(element, "technologies", "technology")
    }
    package = element.get("package")
    return Device(element.get("name", ""), package or None, connects, technologies)


def _device_set(element: "Element") -> DeviceSet:
    return DeviceSet(
        name=required(element, "name"),
        own_value=element.get("uservalue") == "yes",
        description=headline(_text(element, "description")),
        gates={
            required(gate, "name"): required(gate, "symbol")
            for gate in find(element, "gates", "gate")
        },
        devices={
            device.name: device
            for device in map(_device, find(element, "devices", "device"))
        },
    )


def read_libraries(holder: "Element") -> Libraries:
    """Read ``<libraries>`` of a schematic or board.

    Parameters
    ----------
    holder : Element
        ``<schematic>`` or ``<board>``.

    Raises
    ------
    ElementError
        If an element lacks a name or a number.

    Notes
    -----
    O(size).
    """
    libraries: Libraries = {}
    for element in find(holder, "libraries", "library"):
        name = required(element, "name")
        library = Library(
            name=name,
            packages={
                required(package, "name"): _pads(package)
                for package in find(element, "packages", "package")
            },
            symbols={
                required(symbol, "name"): {
                    required(pin, "name"): pin.get("direction", "io")
                    for pin in symbol.iterchildren("pin")
                }
                for symbol in find(element, "symbols", "symbol")
            },
            device_sets={
                one.name: one
                for one in map(_device_set, find(element, "devicesets", "deviceset"))
            },
        )
        libraries[name, element.get("urn", "")] = library
        libraries.setdefault((name, ""), library)
    return libraries
