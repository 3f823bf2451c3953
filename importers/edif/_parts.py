"""Parts and names of nets from a flattened EDIF design."""

from ohmtrail.importers.edif._cells import Instance, Port
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
) -> tuple[dict[int, str], dict[str, tuple[str, ...]]]:
    """Return a name for each net, and the other names of nets that were joined."""
    names: dict[int, str] = {}
    taken: set[str] = set()
    others: dict[str, list[str]] = {}
    repeated = 0
    for net, name in enumerate(flat.names):
        root = flat.root(net)
        if root != net:
            others.setdefault(names[root], []).append(name)
            continue
        if name in taken:
            repeated += 1
            number = 2
            while f"{name}#{number}" in taken:
                number += 1
            name = f"{name}#{number}"
        taken.add(name)
        names[net] = name
    if repeated:
        unused.append(
            Unused("name of two nets that are not joined, numbered", "", repeated)
        )
    return names, {name: tuple(more) for name, more in others.items()}


def _text(instance: Instance, wanted: tuple[str, ...]) -> str:
    for key, text in instance.properties:
        if key.casefold() in wanted:
            return text
    return ""


def _labels(
    instance: Instance, cache: dict[int, list[tuple[Port, int, str]]]
) -> list[tuple[Port, int, str]]:
    """Return (port, bit, what people call it) of all bits of an instance's ports."""
    view = instance.view
    found = cache.get(id(view))
    if found is None:
        found = cache[id(view)] = [
            (port, port.base + index, port.name.of(index))
            for port in view.ports.all()
            for index in range(port.name.width)
        ]
    return found


def _pins(
    source: Source,
    ref: str,
    leaf: Leaf,
    flat: Flat,
    names: dict[int, str],
    labels: list[tuple[Port, int, str]],
    pins: dict[str, Pin],
) -> None:
    """Add the pins of one instance; sections of a package share some."""
    instance = leaf.instance
    for port, bit, label in labels:
        number = instance.pins.get(bit) or port.designator or label
        net = leaf.nets.get(bit)
        name = None if net is None else names[flat.root(net)]
        pin = Pin(
            ref,
            number,
            name,
            "" if label.isdigit() else label,
            port.electrical,
        )
        there = pins.get(number)
        if there is None or there.net is None:
            pins[number] = pin
        elif name is not None and there.net != name:
            raise source.error(
                f"found pin {ref}.{number} in net {name}, but it is in net {there.net}",
                instance.node,
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
    names, others = _net_names(flat, unused)
    cache: dict[int, list[tuple[Port, int, str]]] = {}
    parts: dict[str, tuple[Leaf, dict[str, Pin]]] = {}
    repeated = 0
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
            number = 2
            while f"{ref}#{number}" in parts:
                number += 1
            ref, known = f"{ref}#{number}", None
        if known is None:
            known = parts[ref] = (leaf, {})
        _pins(source, ref, leaf, flat, names, _labels(instance, cache), known[1])
    if repeated:
        unused.append(Unused("path of two instances, numbered", "", repeated))
    return (
        [_part(ref, leaf, pins) for ref, (leaf, pins) in parts.items()],
        list(names.values()),
        others,
    )


def _part(ref: str, leaf: Leaf, pins: dict[str, Pin]) -> Part:
    instance = leaf.instance
    cell = instance.view.cell
    return Part(
        ref=ref,
        value=_text(instance, _VALUE),
        pins=tuple(pins.values()),
        library=f"{cell.library.name.text}:{cell.name.text}",
        footprint=_text(instance, _FOOTPRINT),
        description=_text(instance, _DESCRIPTION),
        sheet=f"/{leaf.path}",
        fields=tuple(
            (key, text)
            for key, text in instance.properties
            if key.casefold() not in _OWN
        ),
    )
