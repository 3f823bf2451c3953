"""Turns a design into a board."""

from dataclasses import dataclass, field

from ohmtrail.importers._numbering import free_name
from ohmtrail.importers._pin_names import count_objects, name_after_pins
from ohmtrail.importers.lepton._design import Design, Use
from ohmtrail.importers.lepton._names import name_nets
from ohmtrail.importers.lepton._sheet import Placed, SheetPin
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["board_of", "nets_of", "packages_of"]

#: KiCad's words for ``pintype=``.
_ELECTRICAL = {
    "in": "input",
    "out": "output",
    "io": "bidirectional",
    "oc": "open_collector",
    "oe": "open_emitter",
    "pas": "passive",
    "tp": "output",
    "tri": "tri_state",
    "clk": "input",
    "pwr": "power_in",
}
#: Attributes that are no facts about a part.
_PLUMBING = frozenset(
    "refdes value footprint description net slot slotdef numslots graphical source"
    " pinnumber symversion netname".split()
)


@dataclass(slots=True, eq=False)
class Package:
    """All components that are one part."""

    ref: str
    use: Use
    items: list[Placed] = field(default_factory=list)
    #: Pins with the group of the design they are in.
    pins: list[tuple[SheetPin, int]] = field(default_factory=list)


def _default(item: Placed) -> bool:
    """Tell whether a component still has the reference that its symbol gives."""
    own = item.symbol.floating.get("refdes") if item.symbol is not None else None
    return own is not None and item.ref.endswith("?") and item.ref == own[-1]


def packages_of(design: Design) -> list[Package]:
    """Return the parts of a design with the components that they are drawn as."""
    packages: dict[str, Package] = {}
    numbered: dict[str, int] = {}
    config = design.folder.config
    for use in design.uses:
        for item in use.sheet.placed:
            if item.graphical or item.no_connect or not item.name:
                continue
            if id(item) in use.opened or id(item) in use.ports:
                continue
            ref = config.refdes.join(item.name, use.blocks)
            if not item.ref or _default(item):
                # Nobody gave it a reference: it is a part of its own.
                if ref in packages:
                    ref = free_name(ref, "#", packages, numbered)
                design.count("part without a reference, named here", ref)
            package = packages.get(ref)
            if package is None:
                package = packages[ref] = Package(ref, use)
            package.items.append(item)
            package.pins += [(pin, use.base + pin.group) for pin in item.pins]
    return list(packages.values())


def nets_of(
    design: Design, packages: list[Package], names: list[str]
) -> dict[int, str]:
    """Return the name of each joined group that is a net.

    A net without a name is called after its first pin; one lone pin that touches
    nothing is in no net.
    """
    find = design.union.find
    touching = (
        (use.base + index, group.objects)
        for use in design.uses
        for index, group in enumerate(use.sheet.groups)
    )
    nets: dict[int, str] = {}
    for package in packages:
        for _, node in package.pins:
            if names[node]:
                nets.setdefault(find(node), names[node])
    pins = ((one.ref, pin.number, node) for one in packages for pin, node in one.pins)
    name_after_pins(nets, set(names), pins, count_objects(touching, find), find)
    return nets


def _shown_label(text: str) -> str:
    r"""Write an overbar as KiCad does: ``\_RESET\_`` is ``~{RESET}``."""
    pieces = text.split("\\_")
    if len(pieces) < 3:
        return text
    if len(pieces) % 2 == 0:
        pieces.append("")
    return "".join(
        f"~{{{piece}}}" if index % 2 and piece else piece
        for index, piece in enumerate(pieces)
    )


def _pins(package: Package, design: Design, nets: dict[int, str]) -> tuple[Pin, ...]:
    find = design.union.find
    made: dict[str, Pin] = {}
    for pin, node in package.pins:
        where = f"{package.ref}.{pin.number}"
        if not pin.number:
            design.count("pin without a number", package.ref)
            continue
        net = nets.get(find(node))
        known = made.get(pin.number)
        if known is not None:
            if known.net == net or net is None:
                continue
            if known.net is not None:
                design.count(
                    "pin drawn on two nets, the first one kept",
                    f"{where} also on {net}",
                )
                continue
        name = pin.label or (pin.net if pin.inherited else "")
        made[pin.number] = Pin(
            package.ref,
            pin.number,
            net,
            _shown_label(name),
            _ELECTRICAL.get(pin.kind, ""),
        )
    return tuple(made.values())


def _part(package: Package, design: Design, nets: dict[int, str]) -> Part:
    attributes: dict[str, str] = {}
    for item in package.items:
        for name, values in item.component.attributes.items():
            attributes.setdefault(name, values[-1])
    for item in package.items:
        if item.symbol is not None:
            for name, values in item.symbol.floating.items():
                attributes.setdefault(name, values[-1])
    symbol = package.items[0].component.name.removesuffix(".sym")
    device = attributes.pop("device", "")
    if device.lower() == "none":
        device = ""
    fields = [("symbol", symbol)]
    fields += [item for item in attributes.items() if item[0] not in _PLUMBING]
    return Part(
        package.ref,
        attributes.get("value") or device,
        _pins(package, design, nets),
        device or symbol,
        attributes.get("footprint", ""),
        attributes.get("description", ""),
        "",
        package.use.path,
        fields=tuple(fields),
    )


def board_of(design: Design) -> Board:
    """Build the board: parts that are no ports, blocks or symbols of nets."""
    packages = packages_of(design)
    names, aliases = name_nets(design)
    nets = nets_of(design, packages, names)
    parts = [_part(package, design, nets) for package in packages]
    used = {pin.net for part in parts for pin in part.pins}
    page = design.uses[0].sheet.pages[0]
    return make_board(
        name=page.path.stem,
        format="lepton",
        version=page.version,
        parts=parts,
        aliases={net: group for net, group in aliases.items() if net in used},
        sheets=[use.path for use in design.uses],
        unused=[
            Unused(what, where, count) for (what, where), count in design.unused.items()
        ],
    )
