"""Which device a part of a schematic is: found in the libraries of the file."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import ElementError, find
from ohmtrail.importers.eagle._library import (
    Device,
    DeviceSet,
    Libraries,
    Library,
    Pad,
    attribute,
)

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Resolved", "find_library", "resolve"]


@dataclass(frozen=True, slots=True)
class Resolved:
    """A part with its device, package and value, for one assembly variant."""

    library: Library
    device_set: DeviceSet
    device: Device
    pads: tuple[Pad, ...]
    value: str
    fitted: bool
    #: Attributes of the device, then those of the part, which win.
    fields: tuple[tuple[str, str], ...]

    def direction(self, gate: str, pin: str) -> str | None:
        """Return the direction of a pin, None if there is no such pin."""
        symbol = self.library.symbols.get(self.device_set.gates.get(gate, ""), {})
        return symbol.get(pin)


def find_library(element: "Element", libraries: Libraries) -> Library:
    """Return the library that a part or an element of a board names.

    Raises
    ------
    ElementError
        If there is none of that name.
    """
    name = attribute(element, "library")
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


def resolve(element: "Element", libraries: Libraries, variant: str) -> Resolved:
    """Find a part's device in the libraries.

    Parameters
    ----------
    element : Element
        ``<part>``.
    libraries : dict
        From `read_libraries`.
    variant : str
        The chosen assembly variant, "" for none.

    Raises
    ------
    ElementError
        If the libraries lack it.
    """
    library = find_library(element, libraries)
    name = attribute(element, "deviceset")
    device_set = library.device_sets.get(name)
    if device_set is None:
        raise ElementError(
            f"found device set {name!r}, which library {library.name!r} lacks", element
        )
    variant_name = element.get("device", "")
    device = device_set.devices.get(variant_name)
    if device is None:
        raise ElementError(
            f"found device {variant_name!r}, which {name!r} does not come in", element
        )
    pads: tuple[Pad, ...] = ()
    if device.package is not None:
        found = library.packages.get(device.package)
        if found is None:
            raise ElementError(
                f"found package {device.package!r}, which library "
                f"{library.name!r} lacks",
                element,
            )
        pads = found
    technology, value, fitted = (
        element.get("technology", ""),
        element.get("value"),
        True,
    )
    if variant:
        for one in find(element, "variant"):
            if one.get("name") == variant:
                fitted = one.get("populate") != "no"
                value = one.get("value", value)
                technology = one.get("technology", technology)
    if value is None:
        value = ""
        if not device_set.own_value:
            value = _device_name(device_set, device.name, technology)
    fields = dict(device.technologies.get(technology, {}))
    for item in find(element, "attribute"):
        fields[attribute(item, "name")] = item.get("value", "")
    return Resolved(
        library,
        device_set,
        device,
        pads,
        value,
        fitted,
        tuple((key, text) for key, text in fields.items() if text),
    )
