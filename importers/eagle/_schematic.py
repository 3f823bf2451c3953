"""An EAGLE schematic to a board: pins to pads, nets of every sheet and module."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX
from ohmtrail.importers._xml import ElementError, find
from ohmtrail.importers.eagle._device import Catalogue, Resolved
from ohmtrail.importers.eagle._flatten import Nets, Use, join_ports, unfold
from ohmtrail.importers.eagle._library import read_libraries, shown
from ohmtrail.importers.eagle._scope import Drawn, Scope, read_scope
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["read_schematic"]

#: (index of the use, name of the net in it).
Key = tuple[int, str]


@dataclass(slots=True)
class _Building:
    """The board while uses of drawings are added to it."""

    catalogue: Catalogue
    uses: list[Use]
    nets: Nets = field(default_factory=Nets)
    #: (index of the use, part) -> device.
    devices: dict[Key, Resolved] = field(default_factory=dict)
    #: (index of the use, part, pad) -> net.
    pads: dict[tuple[int, str, str], Key] = field(default_factory=dict)
    notes: Counter[tuple[str, str]] = field(default_factory=Counter)


def _connect(
    work: _Building, index: int, part: str, gate: str, pin: str, key: Key
) -> None:
    """Put the pads of a pin on a net."""
    package = work.devices[index, part].package
    if not package.on_board:
        return
    pads = package.device.connects.get((gate, pin), ())
    if not pads:
        ref = work.uses[index].part(part)
        work.notes["pin of a symbol without a pad", f"{ref} {pin}"] += 1
    for pad in pads:
        known = work.pads.setdefault((index, part, pad), key)
        if known != key:
            ref = work.uses[index].part(part)
            what = f"pad drawn on net {key[1]} too, taken as on {known[1]}"
            work.notes[what, f"{ref}.{pad}"] += 1


def _resolve_parts(work: _Building) -> None:
    pins = 0
    for index, use in enumerate(work.uses):
        for name, drawn in use.scope.parts.items():
            one = work.catalogue.resolve(drawn.element, use.variant)
            work.devices[index, name] = one
            pins += len(one.package.pads)
            if pins > PINS_MAX or len(work.devices) > PARTS_MAX:
                raise ElementError(
                    f"found more than {PARTS_MAX} parts or {PINS_MAX} pins, expected "
                    "a board",
                    drawn.element,
                )


def _drawn_nets(work: _Building) -> set[tuple[int, str, str, str]]:
    """Connect what nets say; return the power pins that a net reaches."""
    reached = set()
    for index, use in enumerate(work.uses):
        for name, wiring in use.scope.nets.items():
            key = (index, name)
            work.nets.find(key)
            for part, gate, pin in wiring.pins:
                one = work.devices.get((index, part))
                if one is None:
                    raise ElementError(
                        f"found unknown part {part!r}",
                        wiring.pin_element(part, gate, pin),
                    )
                direction = one.package.directions.get((gate, pin))
                if direction is None:
                    raise ElementError(
                        f"found pin {pin!r} of gate {gate!r}, which {part} lacks",
                        wiring.pin_element(part, gate, pin),
                    )
                _connect(work, index, part, gate, pin, key)
                if direction == "pwr":
                    reached.add((index, part, gate, pin))
                # A supply symbol makes its net one through all modules.
                elif direction == "sup" and index and name not in use.scope.ports:
                    work.nets.join((0, name), key)
    return reached


def _power_pins(work: _Building, reached: set[tuple[int, str, str, str]]) -> None:
    """Connect power pins that no net reaches to the net of their name.

    The net must be there: EAGLE makes none for a pin alone.
    """
    for (index, part), one in work.devices.items():
        if not one.package.on_board:
            continue
        scope = work.uses[index].scope
        for gate, pin in one.package.power:
            if (index, part, gate, pin) in reached:
                continue
            name = shown(pin)
            where = f"{work.uses[index].part(part)} {pin}"
            if name in scope.nets:
                key = (index, name)
            elif name in work.uses[0].scope.nets:
                key = (0, name)
            else:
                work.notes["power pin on no net", where] += 1
                continue
            _connect(work, index, part, gate, pin, key)
            work.notes[f"power pin not drawn, taken as on net {name}", where] += 1


def _join_modules(work: _Building) -> None:
    inner: list[dict[str, int]] = [{} for _ in work.uses]
    for index, use in enumerate(work.uses):
        if use.path:
            inner[use.above][use.path[-1].name] = index
    for index in range(len(work.uses)):
        for port in join_ports(work.nets, work.uses, index, inner[index]):
            work.notes["port of a bus whose members do not pair", port] += 1


def _net_names(work: _Building) -> tuple[dict[Key, str], dict[str, tuple[str, ...]]]:
    """Name each net on the board; the names that lost become aliases."""
    names: dict[Key, str] = {}
    used: set[str] = set()
    losers: dict[Key, list[str]] = {}
    for key in work.nets.keys():
        top = work.nets.find(key)
        own = work.uses[key[0]].prefix + key[1]
        if top == key:
            names[key] = own
            used.add(own)
        else:
            losers.setdefault(top, []).append(own)
    aliases = {
        names[top]: tuple(dict.fromkeys(one for one in found if one != names[top]))
        for top, found in losers.items()
    }
    return names, aliases


def _sheet(use: Use, drawn: Drawn) -> str:
    number = f"{min(drawn.sheets)}/" if drawn.sheets and use.scope.sheets > 1 else ""
    return use.sheet + number


def _pins(
    work: _Building, index: int, name: str, ref: str, names: dict[Key, str]
) -> tuple[Pin, ...]:
    """Return the pads of a part in the order of its package."""
    pins = []
    for pad, (label, electrical) in work.devices[index, name].package.pads.items():
        key = work.pads.get((index, name, pad))
        net = names[work.nets.find(key)] if key is not None else None
        pins.append(Pin(ref, pad, net, label, electrical))
    return tuple(pins)


def _parts(work: _Building, names: dict[Key, str]) -> list[Part]:
    parts: dict[str, Part] = {}
    for (index, name), one in work.devices.items():
        use, package = work.uses[index], one.package
        ref = use.part(name)
        if not package.on_board:
            if set(package.directions.values()) - {"sup"}:
                work.notes["part without a package, so not on the board", ref] += 1
            continue
        if ref in parts:
            work.notes["part named like another, called by its module", ref] += 1
            ref = use.prefix + name
        drawn = use.scope.parts[name]
        if ref in parts:
            raise ElementError(f"found part {ref} again", drawn.element)
        library = package.library.name
        parts[ref] = Part(
            ref=ref,
            value=one.value,
            pins=_pins(work, index, name, ref, names),
            library=f"{library}:{package.device_set.name}",
            footprint=f"{library}:{package.device.package}",
            description=package.device_set.description,
            sheet=_sheet(use, drawn),
            fitted=one.fitted,
            fields=one.fields,
        )
    return list(parts.values())


def _sheets(uses: list[Use]) -> list[str]:
    found = []
    for use in uses:
        if use.scope.sheets > 1:
            found += [f"{use.sheet}{n}/" for n in range(1, use.scope.sheets + 1)]
        else:
            found.append(use.sheet)
    return found


def read_schematic(drawing: "Element", path: Path, version: str) -> Board:
    """Make a board of ``<schematic>``.

    Parameters
    ----------
    drawing : Element
        The element.
    path : Path
        The file, for the name of the design.
    version : str
        Version of EAGLE that wrote it.

    Raises
    ------
    ElementError
        If it contradicts itself.

    Notes
    -----
    O(size), times the uses of each module.
    """
    modules: dict[str, Scope] = {}
    for one in find(drawing, "modules", "module"):
        scope = read_scope(one)
        if scope.name in modules:
            raise ElementError(f"found module {scope.name!r} again", one)
        modules[scope.name] = scope
    uses = unfold(read_scope(drawing), modules)
    work = _Building(Catalogue(read_libraries(drawing)), uses)
    _resolve_parts(work)
    reached = _drawn_nets(work)
    _join_modules(work)
    _power_pins(work, reached)
    names, aliases = _net_names(work)
    parts = _parts(work, names)
    used = {pin.net for part in parts for pin in part.pins}
    idle = sum(name not in used for name in names.values())
    unused = [Unused(what, where, n) for (what, where), n in work.notes.items()]
    if idle:
        unused.append(Unused("net without pads", path.name, idle))
    return make_board(
        name=path.name.removesuffix(".gz").removesuffix(".sch"),
        format="eagle",
        version=version,
        parts=parts,
        net_order=(name for name in names.values() if name in used),
        aliases=aliases,
        sheets=_sheets(uses),
        unused=unused,
    )
