"""Turns a design into a board."""

from dataclasses import dataclass, field

from ohmtrail.importers._pin_names import count_objects, name_after_pins
from ohmtrail.importers.xschem._design import Design, Use
from ohmtrail.importers.xschem._sheet import Placed, SheetPin
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["board_of", "names_of", "nets_of", "packages_of"]

_ELECTRICAL = {"in": "input", "out": "output", "inout": "bidirectional"}
#: Types that say nothing about what a part is.
_VAGUE = frozenset(("", "subcircuit", "primitive", "label"))
_PLUMBING = frozenset(("name", "lab", "value", "footprint", "format", "template"))


@dataclass(slots=True, eq=False)
class Package:
    """All instances that are one part."""

    ref: str
    use: Use
    items: list[Placed] = field(default_factory=list)
    pins: list[tuple[SheetPin, int]] = field(default_factory=list)


def packages_of(design: Design) -> list[Package]:
    """Return the parts of a design with the instances that they are drawn as."""
    packages: dict[str, Package] = {}
    closed: dict[int, list[Placed]] = {}
    for use, block in design.closed:
        closed.setdefault(id(use), []).append(block)
    for use in design.uses:
        for item in (*use.sheet.parts, *closed.get(id(use), ())):
            ref = use.path[1:] + item.ref
            package = packages.get(ref)
            if package is None:
                package = packages[ref] = Package(ref, use)
            package.items.append(item)
            package.pins += [(pin, use.base + pin.node) for pin in item.pins]
    return list(packages.values())


def names_of(design: Design) -> tuple[dict[int, str], dict[str, tuple[str, ...]]]:
    """Return the name of each net that a label names, and the names that lost.

    That of the outermost schematic wins, then the first in the file.
    """
    chosen: dict[int, tuple[int, str]] = {}
    others: dict[int, dict[str, None]] = {}
    for use in design.uses:
        for name, node in use.sheet.names.items():
            root = design.union.find(use.base + node)
            shown = design.shown(use, name)
            depth = 0 if shown == name else use.path.count("/")
            others.setdefault(root, {})[shown] = None
            if root not in chosen or depth < chosen[root][0]:
                chosen[root] = depth, shown
    names = {root: name for root, (_, name) in chosen.items()}
    return names, {
        names[root]: tuple(n for n in group if n != names[root])
        for root, group in others.items()
        if len(group) > 1
    }


def nets_of(
    design: Design, packages: list[Package], names: dict[int, str]
) -> dict[int, str]:
    """Name the nets that no label names after their first pin."""
    find = design.union.find
    touching = (
        (use.base + node, count)
        for use in design.uses
        for node, count in enumerate(use.sheet.objects)
    )
    nets = dict(names)
    pins = ((one.ref, pin.number, node) for one in packages for pin, node in one.pins)
    objects = count_objects(touching, find)
    name_after_pins(nets, set(names.values()), pins, objects, find)
    return nets


def _pins(package: Package, design: Design, nets: dict[int, str]) -> tuple[Pin, ...]:
    find = design.union.find
    made: dict[str, Pin] = {}
    stated: set[str] = set()
    for pin, node in package.pins:
        net = nets.get(find(node))
        known = made.get(pin.number)
        if known is not None:
            if known.net == net or net is None:
                continue
            if pin.hidden and (pin.number in stated or not pin.stated):
                continue  # a slot's template beside what another slot states
            if known.net is not None and not (pin.hidden and pin.stated):
                design.count(
                    "pin drawn on two nets, the first one kept",
                    f"{known.key} also on {net}",
                )
                continue
        if pin.stated:
            stated.add(pin.number)
        made[pin.number] = Pin(
            package.ref, pin.number, net, pin.name, _ELECTRICAL.get(pin.direction, "")
        )
    return tuple(made.values())


def _part(package: Package, design: Design, nets: dict[int, str]) -> Part:
    first = package.items[0]
    symbol = first.symbol
    values: dict[str, str] = {}
    for item in package.items:
        for name, text in item.instance.properties.items():
            values.setdefault(name, text)
    for name, text in symbol.template.items():
        values.setdefault(name, text)
    value = values.get("value") or values.get("model") or ""
    if not value and "value" not in symbol.template:
        value = symbol.name  # a gate or a chip: the symbol says which
    fields = [("symbol", symbol.name)]
    fields += [item for item in values.items() if item[0] not in _PLUMBING]
    return Part(
        package.ref,
        value,
        _pins(package, design, nets),
        symbol.name if symbol.kind in _VAGUE else symbol.kind,
        values.get("footprint", ""),
        values.get("device", ""),
        "",
        package.use.path,
        fields=tuple(fields),
    )


def board_of(design: Design) -> Board:
    """Build the board: what somebody solders, blocks without a schematic too."""
    packages = packages_of(design)
    names, aliases = names_of(design)
    nets = nets_of(design, packages, names)
    parts = [_part(package, design, nets) for package in packages]
    used = {pin.net for part in parts for pin in part.pins}
    drawing = design.uses[0].sheet.drawing
    return make_board(
        name=drawing.path.stem,
        format="xschem",
        version=drawing.version,
        parts=parts,
        aliases={net: group for net, group in aliases.items() if net in used},
        sheets=[use.path for use in design.uses],
        unused=[
            Unused(what, where, count) for (what, where), count in design.unused.items()
        ],
    )
