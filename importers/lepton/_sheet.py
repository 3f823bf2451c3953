"""What connects within the pages of one (sub)schematic, whatever uses it."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ohmtrail.importers._union import Union
from ohmtrail.importers._wires import join_wires
from ohmtrail.importers.lepton._objects import Component, Drawing
from ohmtrail.importers.lepton._symbol import (
    last,
    net_maps,
    pin_numbers,
    place,
)

__all__ = ["MOCK_REF", "WORK_MAX", "Group", "Placed", "Sheet", "SheetPin", "make_sheet"]

#: Pins and attributes of all placed symbols of a schematic, at most.
WORK_MAX = 3_000_000
#: What the netlister calls a part without a reference.
MOCK_REF = "U?"


@dataclass(slots=True, eq=False)
class SheetPin:
    """A pin of a placed component, drawn or made by a ``net=`` attribute."""

    number: str
    label: str
    kind: str
    #: Index into the groups of the sheet.
    group: int
    #: Name of the net by ``net=``, "" without.
    net: str = ""
    #: Whether the symbol itself names that net.
    inherited: bool = False


@dataclass(slots=True, eq=False)
class Placed:
    """A component of the sheet with its symbol."""

    component: Component
    symbol: Drawing | None
    page: Drawing
    pins: list[SheetPin]
    #: Reference as attached to the component, "" without.
    ref: str
    graphical: bool
    #: Whether it only marks a net as not connected.
    no_connect: bool
    #: File names of the pages that ``source=`` gives.
    sources: tuple[str, ...]

    @property
    def name(self) -> str:
        """The reference by which ports are matched; "" for symbols of nets."""
        if self.ref or self.graphical or self.no_connect:
            return self.ref
        return "" if any(pin.net for pin in self.pins) else MOCK_REF

    def attribute(self, name: str) -> str:
        """Return the attribute that counts, attached before inherited."""
        inherited = self.symbol.floating if self.symbol is not None else {}
        return last(self.component.attributes, inherited, name)


@dataclass(slots=True, eq=False)
class Group:
    """What touches on a sheet, or has one name there."""

    netnames: dict[str, None] = field(default_factory=dict)
    nets: dict[str, None] = field(default_factory=dict)
    #: Wires and drawn pins, counted.
    objects: int = 0


@dataclass(slots=True, eq=False)
class Sheet:
    """Pages that are one (sub)schematic, connected."""

    pages: tuple[Drawing, ...]
    placed: list[Placed]
    groups: list[Group]
    unused: dict[str, int]

    @property
    def composite(self) -> list[Placed]:
        """Components that stand for further pages."""
        return [item for item in self.placed if item.sources]


def _placed(component: Component, symbol: Drawing | None, page: Drawing) -> Placed:
    inherited = symbol.floating if symbol is not None else {}
    attached = component.attributes
    graphical = last(attached, inherited, "graphical") == "1"
    no_connect = last(attached, inherited, "symbol") == "nc" or (
        graphical
        and last(attached, inherited, "device") == "DRC_Directive"
        and last(attached, inherited, "value") == "NoConnection"
    )
    sources: tuple[str, ...] = ()
    if not graphical and not no_connect:
        values = attached.get("source") or inherited.get("source") or []
        sources = tuple(
            name.strip() for value in values for name in value.split(",") if name
        )
    refs = attached.get("refdes")
    return Placed(
        component,
        symbol,
        page,
        [],
        refs[-1].strip() if refs else "",
        graphical,
        no_connect,
        sources,
    )


class _Maker:
    """Collects the groups of all pages of a sheet."""

    def __init__(self) -> None:
        self.groups: list[Group] = []
        self.union = Union()
        self.by_name: dict[str, int] = {}
        self.placed: list[Placed] = []
        self.unused: dict[str, int] = {}
        #: Pin numbers by symbol and slot.
        self.numbers: dict[tuple[int, str], tuple[list[str], bool]] = {}
        #: How much there is in each symbol.
        self.weights: dict[int, int] = {}
        self.work = 0

    def spend(self, component: Component, symbol: Drawing, page: Drawing) -> None:
        """Refuse a file that asks for much more than its size."""
        weight = self.weights.get(id(symbol))
        if weight is None:
            weight = len(symbol.pins) + sum(
                1 if name != "net" else sum(value.count(",") + 1 for value in values)
                for name, values in symbol.floating.items()
            )
            self.weights[id(symbol)] = weight
        self.work += weight
        if self.work > WORK_MAX:
            raise page.error(
                f"found more than {WORK_MAX} pins and attributes of symbols,"
                " expected a design",
                component.line,
            )

    def pin_numbers(
        self, component: Component, symbol: Drawing
    ) -> tuple[list[str], bool]:
        """Return the pins' numbers, worked out once for each symbol and slot."""
        if "slotdef" in component.attributes:
            return pin_numbers(component, symbol)
        slot = component.attributes.get("slot") or [""]
        key = id(symbol), slot[0]
        found = self.numbers.get(key)
        if found is None:
            found = self.numbers[key] = pin_numbers(component, symbol)
        return found

    def new_group(self) -> int:
        self.groups.append(Group())
        return self.union.add()

    def name(self, group: int, name: str) -> None:
        """Join a group with all others of the sheet that have this name."""
        self.union.join(group, self.by_name.setdefault(name, group))

    def count(self, what: str) -> None:
        self.unused[what] = self.unused.get(what, 0) + 1

    def page(self, page: Drawing, symbols: dict[str, Drawing | None]) -> None:
        points: list[tuple[float, float]] = []
        drawn: list[SheetPin] = []
        maps: list[tuple[Placed, dict[str, tuple[str, bool]]]] = []
        for component in page.components:
            symbol = component.embedded or symbols.get(component.name)
            item = _placed(component, symbol, page)
            self.placed.append(item)
            if symbol is None:
                continue
            self.spend(component, symbol, page)
            numbers, defined = self.pin_numbers(component, symbol)
            if not defined:
                self.count("slot without a slotdef")
            netnames: list[tuple[SheetPin, list[str]]] = []
            for pin, number in zip(symbol.pins, numbers, strict=True):
                if pin.bus:
                    self.count("pin of a bus")
                    continue
                points.append(place(component, pin.x, pin.y))
                made = SheetPin(number, pin.text("pinlabel"), pin.text("pintype"), -1)
                drawn.append(made)
                item.pins.append(made)
                if "netname" in pin.attributes:
                    netnames.append((made, pin.attributes["netname"]))
            maps.append((item, net_maps(component, symbol)))
        self._connect(page, points, drawn)
        for item, nets in maps:
            self._apply(item, nets)

    def _connect(
        self,
        page: Drawing,
        points: list[tuple[float, float]],
        drawn: list[SheetPin],
    ) -> None:
        """Give every drawn pin the group of what it touches."""
        touch, where = join_wires(page.nets, points)
        group_of: dict[int, int] = {}
        for pin, node in zip(drawn, where, strict=True):
            root = touch.find(node)
            group = group_of.get(root)
            if group is None:
                group = group_of[root] = self.new_group()
            pin.group = group
            self.groups[group].objects += 1
        bare = 0
        for wire in range(len(page.nets)):
            group = group_of.get(touch.find(wire))
            if group is not None:
                self.groups[group].objects += 1
                for name in page.netnames.get(wire, ()):
                    self.groups[group].netnames[name] = None
                    self.name(group, name)
            else:
                bare += 1
        if bare:
            what = "net line that reaches no pin"
            self.unused[what] = self.unused.get(what, 0) + bare

    def _apply(self, item: Placed, nets: dict[str, tuple[str, bool]]) -> None:
        """Name the nets of pins by ``net=``; make the pins that nobody drew."""
        if not nets:
            return
        by_number: dict[str, SheetPin] = {}
        for pin in item.pins:
            by_number.setdefault(pin.number, pin)
        for number, (name, inherited) in nets.items():
            found = by_number.get(number)
            if found is None:
                found = SheetPin(number, "", "", self.new_group())
                item.pins.append(found)
            found.net, found.inherited = name, inherited
            self.groups[found.group].nets[name] = None
            self.name(found.group, name)

    def sheet(self, pages: Sequence[Drawing]) -> Sheet:
        """Merge the groups that are joined, and number them anew."""
        merged: list[Group] = []
        number: dict[int, int] = {}
        of_old = []
        for old, group in enumerate(self.groups):
            root = self.union.find(old)
            if root not in number:
                number[root] = len(merged)
                merged.append(Group())
            new = merged[number[root]]
            new.netnames.update(group.netnames)
            new.nets.update(group.nets)
            new.objects += group.objects
            of_old.append(number[root])
        for item in self.placed:
            for pin in item.pins:
                pin.group = of_old[pin.group]
        return Sheet(tuple(pages), self.placed, merged, self.unused)


def make_sheet(pages: Sequence[Drawing], symbols: dict[str, Drawing | None]) -> Sheet:
    """Connect the pages of one (sub)schematic.

    Parameters
    ----------
    pages : sequence of Drawing
        They share their net names.
    symbols : dict
        Symbol by file name, None where there is no file.

    Notes
    -----
    O(n log n) in the number of nets and pins.
    """
    maker = _Maker()
    for page in pages:
        maker.page(page, symbols)
    return maker.sheet(pages)
