"""Parts and names of nets from a flattened EDIF design."""

from functools import lru_cache
from typing import TypeAlias

from ohmtrail.importers._numbering import free_name
from ohmtrail.importers.edif._cells import Instance
from ohmtrail.importers.edif._flatten import Flat, Leaf
from ohmtrail.importers.edif._tree import Source
from ohmtrail.netanalysis.board import Part, Pin, Unused

__all__ = ["parts_of"]

#: Properties with a place of their own in `Part` (common practice of writers).
_VALUE = ("value",)
_FOOTPRINT = ("footprint", "pcb_footprint", "pcb footprint", "package", "pattern")
_DESCRIPTION = ("description",)
_OWN = {*_VALUE, *_FOOTPRINT, *_DESCRIPTION, "reference", "refdes", "designator"}


def _net_names(
    flat: Flat, unused: list[Unused]
) -> tuple[list[str], list[str], dict[str, tuple[str, ...]]]:
    """Return the name of each net of ``flat``, the names, the names that lost."""
    names: list[str] = []
    taken: dict[str, None] = {}
    others: dict[str, list[str]] = {}
    repeated = 0
    last: dict[str, int] = {}
    for net, name in enumerate(flat.names):
        root = flat.root(net)
        if root != net:  # then root is less
            others.setdefault(names[root], []).append(name)
            names.append(names[root])
            continue
        if name in taken:
            repeated += 1
            name = free_name(name, "#", taken, last)
        taken[name] = None
        names.append(name)
    if repeated:
        unused.append(
            Unused("name of two nets that are not joined, numbered", "", repeated)
        )
    return names, list(taken), {name: tuple(more) for name, more in others.items()}


_Properties: TypeAlias = tuple[tuple[str, str], ...]


def _text(properties: _Properties, wanted: tuple[str, ...]) -> str:
    for key, text in properties:
        if key.casefold() in wanted:
            return text
    return ""


@lru_cache(1024)
def _told(properties: _Properties) -> tuple[str, str, str, _Properties]:
    """Return value, footprint, description, and the other properties."""
    return (
        _text(properties, _VALUE),
        _text(properties, _FOOTPRINT),
        _text(properties, _DESCRIPTION),
        tuple((key, text) for key, text in properties if key.casefold() not in _OWN),
    )


#: Number of the pin unless the instance has its own, bit, name, electrical type.
_Label: TypeAlias = tuple[str, int, str, str]


def _labels(instance: Instance, cache: dict[int, list[_Label]]) -> list[_Label]:
    """Return what is known of all bits of an instance's ports."""
    view = instance.view
    found = cache.get(id(view))
    if found is None:
        found = cache[id(view)] = []
        for port in view.ports.all():
            for index in range(port.name.width):
                label = port.name.of(index)
                found.append(
                    (
                        port.designator or label,
                        port.base + index,
                        "" if label.isdigit() else label,
                        port.electrical,
                    )
                )
    return found


def _pins(
    source: Source,
    ref: str,
    leaf: Leaf,
    names: list[str],
    labels: list[_Label],
    pins: dict[str, Pin],
) -> None:
    """Add the pins of one instance; sections of a package share some."""
    own, nets = leaf.instance.pins, leaf.nets
    for number, bit, label, electrical in labels:
        if own:
            number = own.get(bit) or number
        net = nets.get(bit)
        name = None if net is None else names[net]
        there = pins.get(number)
        if there is None or there.net is None:
            pins[number] = Pin(ref, number, name, label, electrical)
        elif name is not None and there.net != name:
            raise source.error(
                f"found pin {ref}.{number} in net {name}, but it is in net {there.net}",
                leaf.instance.node,
            )


def parts_of(
    source: Source, flat: Flat, unused: list[Unused]
) -> tuple[list[Part], list[str], dict[str, tuple[str, ...]]]:
    """Return parts, names of the nets in order, and the nets' other names.

    Raises
    ------
    ParseError
        If two sections of one package put a pin into two nets.

    Notes
    -----
    Instances of one designator in one cell are sections of one package.
    """
    names, order, others = _net_names(flat, unused)
    cache: dict[int, list[_Label]] = {}
    parts: dict[str, tuple[Leaf, dict[str, Pin]]] = {}
    repeated = 0
    last: dict[str, int] = {}
    for leaf in flat.leaves:
        instance = leaf.instance
        ref = leaf.path + instance.text
        known = parts.get(ref)
        if known is not None and not (
            instance.designated
            and known[0].instance.designated
            and known[0].path == leaf.path
        ):
            repeated += 1
            ref, known = free_name(ref, "#", parts, last), None
        if known is None:
            known = parts[ref] = (leaf, {})
        _pins(source, ref, leaf, names, _labels(instance, cache), known[1])
    if repeated:
        unused.append(Unused("path of two instances, numbered", "", repeated))
    return (
        [_part(ref, leaf, pins) for ref, (leaf, pins) in parts.items()],
        order,
        others,
    )


def _part(ref: str, leaf: Leaf, pins: dict[str, Pin]) -> Part:
    cell = leaf.instance.view.cell
    value, footprint, description, fields = _told(leaf.instance.properties)
    return Part(
        ref=ref,
        value=value,
        pins=tuple(pins.values()),
        library=cell.title,
        footprint=footprint,
        description=description,
        sheet=f"/{leaf.path}",
        fields=fields,
    )
