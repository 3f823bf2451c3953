"""Which device a part of a schematic is: found in the libraries of the file."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import ElementError, required
from ohmtrail.importers.eagle._library import (
    ELECTRICAL,
    Device,
    DeviceSet,
    Libraries,
    Library,
    shown,
)

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Catalogue", "Package", "Resolved", "find_library"]


@dataclass(frozen=True, slots=True)
class Package:
    """A device in its package: all that its parts have in common."""

    library: Library
    device_set: DeviceSet
    device: Device
    #: Pad -> name and electrical type of its pin, in the order of the package.
    pads: Mapping[str, tuple[str, str]]
    #: (gate, pin) -> direction.
    directions: Mapping[tuple[str, str], str]
    #: (gate, pin) of pins that take a supply.
    power: tuple[tuple[str, str], ...]

    @property
    def on_board(self) -> bool:
        """Whether there is a package: supply symbols and frames have none."""
        return self.device.package is not None


@dataclass(frozen=True, slots=True)
class Resolved:
    """A part with its device, value and fields, for one assembly variant."""

    package: Package
    value: str
    fitted: bool
    #: Attributes of the device, then those of the part, which win.
    fields: tuple[tuple[str, str], ...]


def find_library(element: "Element", libraries: Libraries) -> Library:
    """Return the library that a part or an element of a board names.

    Raises
    ------
    ElementError
        If there is none of that name.
    """
    name = required(element, "library")
    library = libraries.get((name, element.get("library_urn", "")))
    library = library or libraries.get((name, ""))
    if library is None:
        raise ElementError(f"found unknown library {name!r}", element)
    return library


def _device_name(device_set: DeviceSet, device: str, technology: str) -> str:
    """Name of a device in full: "74*00?" with technology "LS" and variant "N"."""
    name = device_set.name
    if "?" not in name:
        name += "?"
    if "*" not in name:
        name = name.replace("?", "*?", 1)
    return name.replace("*", technology, 1).replace("?", device, 1)


def _package(library: Library, device_set: DeviceSet, device: Device) -> Package:
    directions = {
        (gate, pin): direction
        for gate, symbol in device_set.gates.items()
        for pin, direction in library.symbols.get(symbol, {}).items()
    }
    drawn: dict[str, tuple[str, str]] = {}
    for key, numbers in device.connects.items():
        electrical = ELECTRICAL.get(directions.get(key, ""), "")
        for number in numbers:
            drawn.setdefault(number, (shown(key[1]), electrical))
    lands = library.packages.get(device.package or "", ())
    return Package(
        library,
        device_set,
        device,
        {
            name: drawn.get(name, ("", ""))
            for name in (*(pad.name for pad in lands), *drawn)
        },
        directions,
        tuple(key for key in device.connects if directions.get(key) == "pwr"),
    )


@dataclass(slots=True)
class Catalogue:
    """Devices of the libraries, put together once each."""

    libraries: Libraries
    _found: dict[tuple[str, str, str, str], Package] = field(default_factory=dict)

    def _find(self, element: "Element") -> Package:
        library = find_library(element, self.libraries)
        name = required(element, "deviceset")
        device_set = library.device_sets.get(name)
        if device_set is None:
            raise ElementError(
                f"found device set {name!r}, which library {library.name!r} lacks",
                element,
            )
        variant = element.get("device", "")
        device = device_set.devices.get(variant)
        if device is None:
            raise ElementError(
                f"found device {variant!r}, which {name!r} does not come in", element
            )
        if device.package is not None and device.package not in library.packages:
            raise ElementError(
                f"found package {device.package!r}, which library "
                f"{library.name!r} lacks",
                element,
            )
        return _package(library, device_set, device)

    def resolve(self, element: "Element", variant: str) -> Resolved:
        """Find a part's device in the libraries.

        Parameters
        ----------
        element : Element
            ``<part>``.
        variant : str
            The chosen assembly variant, "" for none.

        Raises
        ------
        ElementError
            If the libraries lack it.
        """
        get = element.get
        key = (
            get("library", ""),
            get("library_urn", ""),
            get("deviceset", ""),
            get("device", ""),
        )
        package = self._found.get(key)
        if package is None:
            package = self._found[key] = self._find(element)
        technology, value, fitted = get("technology", ""), get("value"), True
        own: dict[str, str] = {}
        for item in element:
            if item.tag == "attribute":
                own[required(item, "name")] = item.get("value", "")
            elif item.tag == "variant" and item.get("name") == variant:
                fitted = item.get("populate") != "no"
                value = item.get("value", value)
                technology = item.get("technology", technology)
        fields = {**package.device.technologies.get(technology, {}), **own}
        if value is None:
            value = ""
            if not package.device_set.own_value:
                name = package.device.name
                value = _device_name(package.device_set, name, technology)
        return Resolved(
            package,
            value,
            fitted,
            tuple((key, text) for key, text in fields.items() if text),
        )
