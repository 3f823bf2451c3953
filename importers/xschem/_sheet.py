"""What connects within one schematic, bit by bit, whatever uses it."""

from dataclasses import dataclass, field

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._union import Union
from ohmtrail.importers._wires import SlantedError, join_wires
from ohmtrail.importers.xschem._file import Drawing, Instance, PinBox
from ohmtrail.importers.xschem._properties import ExpandError, expand
from ohmtrail.importers.xschem._symbol import Symbol, pin_position

__all__ = ["WORK_MAX", "Placed", "Sheet", "SheetPin", "make_sheet"]

#: Bits, pins and properties of all parts of a schematic, at most.
WORK_MAX = 3_000_000


@dataclass(slots=True, eq=False)
class SheetPin:
    """One bit of a pin of one of the parts that an instance stands for."""

    number: str
    name: str
    direction: str
    #: Node of the sheet.
    node: int
    #: Whether the pin is one that nobody draws.
    hidden: bool = False
    #: Whether the instance itself, not its symbol's template, names the net.
    stated: bool = False


@dataclass(slots=True, eq=False)
class Placed:
    """One part or block of a schematic; a vector of four gives four."""

    ref: str
    slot: int
    instance: Instance
    symbol: Symbol
    pins: list[SheetPin]
    #: Whether the instance states numbers of pins itself.
    renumbered: bool = False


@dataclass(slots=True, eq=False)
class Sheet:
    """A schematic, connected."""

    drawing: Drawing
    parts: list[Placed] = field(default_factory=list)
    blocks: list[Placed] = field(default_factory=list)
    #: Nodes by each name that labels give them.
    names: dict[str, int] = field(default_factory=dict)
    #: Names that hold in the whole design.
    everywhere: dict[str, None] = field(default_factory=dict)
    #: Node of each wire of the drawing, None for a bus and where nothing is.
    wires: list[int | None] = field(default_factory=list)
    #: How often each node is touched: pins, labels and (once) wires.
    objects: list[int] = field(default_factory=list)
    unused: dict[str, int] = field(default_factory=dict)

    def count(self, what: str) -> None:
        """Remember something that was met and not used."""
        self.unused[what] = self.unused.get(what, 0) + 1


class _Maker:
    def __init__(self, drawing: Drawing, symbols: dict[str, Symbol | None]) -> None:
        self.sheet = Sheet(drawing)
        self.symbols = symbols
        self.union = Union()
        self.objects: list[int] = []
        #: Nodes of each bunch of wires, one a bit.
        self.bits: dict[int, list[int]] = {}
        self.first_name: dict[int, str] = {}
        self.work = 0

    def spend(self, work: int, instance: Instance) -> None:
        """Refuse a file that asks for much more than its size."""
        self.work += work
        if self.work > WORK_MAX:
            raise self.error(
                f"found more than {WORK_MAX} bits, pins and properties of symbols,"
                " expected a design",
                instance,
            )

    def error(self, message: str, instance: Instance) -> ParseError:
        return self.sheet.drawing.error(message, instance.offset)

    def expanded(self, label: str, instance: Instance) -> list[str]:
        try:
            names = expand(label)
            self.spend(len(names), instance)
            return names
        except ExpandError as error:
            raise self.error(str(error), instance) from None

    def new_node(self, instance: Instance) -> int:
        self.spend(1, instance)
        self.objects.append(0)
        return self.union.add()

    def named(self, name: str, instance: Instance) -> int:
        node = self.sheet.names.get(name)
        if node is None:
            node = self.sheet.names[name] = self.new_node(instance)
            self.first_name[node] = name
        return node

    def make(self) -> Sheet:
        drawing = self.sheet.drawing
        placed: list[tuple[Instance, Symbol, list[int]]] = []
        points: list[tuple[float, float]] = []
        for instance in drawing.instances:
            symbol = self.symbols.get(instance.symbol)
            if symbol is None:
                continue
            first = len(points)
            points += [pin_position(instance, pin) for pin in symbol.pins]
            placed.append((instance, symbol, list(range(first, len(points)))))
        try:
            union, where = join_wires(drawing.wires, points, slanted=True)
        except SlantedError as error:
            raise drawing.error(f"{error}, expected a design", None) from None
        roots = [union.find(node) for node in where]
        self._labels(placed, roots)
        self._taps(placed, roots)
        self._widths(placed, roots)
        of_wires = [union.find(wire) for wire in range(len(drawing.wires))]
        for root in set(of_wires):
            for node in self.bits.get(root, ()):
                self.objects[node] += 1
        for root in of_wires:
            bits = self.bits.get(root, ())
            self.sheet.wires.append(bits[0] if len(bits) == 1 else None)
        for instance, symbol, points_of in placed:
            self._instance(instance, symbol, [roots[k] for k in points_of])
        return self._finished()

    def _labels(
        self, placed: list[tuple[Instance, Symbol, list[int]]], roots: list[int]
    ) -> None:
        """Name the bits of nets; two labels on one net join their names."""
        for instance, symbol, points in placed:
            if not symbol.is_label or not points:
                continue
            label = symbol.value(instance, "lab").strip()
            if not label:
                self.sheet.count("label without a name")
                continue
            names = self.expanded(label, instance)
            nodes = [self.named(name, instance) for name in names]
            if symbol.is_global:
                self.sheet.everywhere.update(dict.fromkeys(names))
            for node in nodes:
                self.objects[node] += 1
            root = roots[points[0]]
            known = self.bits.setdefault(root, nodes)
            if known is not nodes:
                if len(known) != len(nodes):
                    self.sheet.count("labels of different widths on one bus")
                for a, b in zip(known, nodes, strict=False):
                    self.union.join(a, b)

    def _taps(
        self, placed: list[tuple[Instance, Symbol, list[int]]], roots: list[int]
    ) -> None:
        """Name what leaves a bus at a tap: the bus' name with the tap's index."""
        for instance, symbol, points in placed:
            if symbol.kind != "bus_tap" or len(points) < 2:
                continue
            tap, bus = roots[points[0]], roots[points[1]]
            label = symbol.value(instance, "lab").strip()
            if label.startswith("["):
                base = ""
                for node in self.bits.get(bus, ())[:1]:
                    base = self.first_name.get(node, "").partition("[")[0]
                label = base + label if base else ""
            if not label:
                self.sheet.count("tap of a bus without a name")
                continue
            names = self.expanded(label, instance)
            nodes = [self.named(name, instance) for name in names]
            for a, b in zip(self.bits.setdefault(tap, nodes), nodes, strict=False):
                self.union.join(a, b)

    def _widths(
        self, placed: list[tuple[Instance, Symbol, list[int]]], roots: list[int]
    ) -> None:
        """Make the bits of nets that no label names, as wide as their pins."""
        widths: dict[int, tuple[int, Instance]] = {}
        for instance, symbol, points in placed:
            if symbol.is_label or not points:
                continue
            copies = 1
            if "[" in (name := instance.properties.get("name", "")) or "*" in name:
                copies = len(self.expanded(name, instance))
            for point, pin in zip(points, symbol.pins, strict=True):
                root = roots[point]
                if root in self.bits:
                    continue
                width = copies * len(self._pin_bits(pin, instance))
                if width > widths.get(root, (0, instance))[0]:
                    widths[root] = width, instance
        for root, (width, instance) in widths.items():
            self.bits[root] = [self.new_node(instance) for _ in range(width)]

    def _pin_bits(self, pin: PinBox, instance: Instance) -> list[str]:
        name = pin.properties["name"]
        if "[" not in name and "," not in name and "*" not in name:
            return [name]
        return self.expanded(name, instance)

    def _instance(self, instance: Instance, symbol: Symbol, roots: list[int]) -> None:
        part, block = symbol.is_part(instance), symbol.is_block
        if not part and not (block and symbol.pins):
            if symbol.is_left_out(instance):
                self.sheet.count("part marked spice_ignore")
            for root in roots if not symbol.is_label else ():
                for node in self.bits.get(root, ()):
                    self.objects[node] += 1
            return
        if not part:
            self.sheet.count("block marked spice_ignore")
            return
        name = symbol.value(instance, "name").strip()
        if not name:
            self.sheet.count("part without a name")
            name = symbol.template.get("name", "") or symbol.name
        refs = self.expanded(name, instance)
        pins = [
            (pin, self._pin_bits(pin, instance), self.bits.get(root, []))
            for pin, root in zip(symbol.pins, roots, strict=True)
        ]
        weight = len(symbol.template) + len(symbol.extra)
        weight += sum(len(names) for _, names, _ in pins)
        self.spend(len(refs) * weight, instance)
        renumbered = any(key.startswith("pinnumber(") for key in instance.properties)
        for index, ref in enumerate(refs):
            base, colon, slot = ref.partition(":")
            number = int(slot) if slot.isdecimal() and len(slot) < 6 else 1
            placed = Placed(
                base if colon else ref, number, instance, symbol, [], renumbered
            )
            for pin, names, bits in pins:
                self._pin(placed, pin, names, bits, index)
            self._extra(placed)
            (self.sheet.blocks if block else self.sheet.parts).append(placed)

    def _pin(
        self,
        placed: Placed,
        pin: PinBox,
        names: list[str],
        bits: list[int],
        index: int,
    ) -> None:
        """Add the bits of a pin; copies take the bits of a bus in turn."""
        own = pin.properties
        whole = own["name"]
        text = own.get("pinnumber", "")
        if placed.renumbered:
            text = placed.instance.properties.get(f"pinnumber({whole})") or text
        slots = text.split(":")
        numbers = slots[min(placed.slot, len(slots)) - 1] if text else ""
        listed = self.expanded(numbers, placed.instance) if numbers else []
        if len(listed) != len(names):
            listed = [numbers] if numbers and len(names) == 1 else names
        width = len(names)
        for bit, (name, number) in enumerate(zip(names, listed, strict=True)):
            node = bits[(bit + width * index) % len(bits)] if bits else -1
            if node < 0:
                node = self.new_node(placed.instance)
            self.objects[node] += 1
            placed.pins.append(SheetPin(number, name, own.get("dir", ""), node))

    def _extra(self, placed: Placed) -> None:
        """Add the pins that a property connects by name."""
        instance, symbol = placed.instance, placed.symbol
        drawn = {pin.name for pin in placed.pins}
        for name, number in symbol.extra:
            net = symbol.value(instance, name).strip()
            if not net or name in drawn:
                continue
            node = self.named(net, instance)
            self.objects[node] += 1
            stated = name in instance.properties
            placed.pins.append(SheetPin(number or name, name, "", node, True, stated))

    def _finished(self) -> Sheet:
        """Return the sheet with joined nodes numbered anew."""
        sheet, find = self.sheet, self.union.find
        number: dict[int, int] = {}
        new = []
        for node in range(len(self.objects)):
            root = find(node)
            if root not in number:
                number[root] = len(sheet.objects)
                sheet.objects.append(0)
            sheet.objects[number[root]] += self.objects[node]
            new.append(number[root])
        for placed in (*sheet.parts, *sheet.blocks):
            for pin in placed.pins:
                pin.node = new[pin.node]
        sheet.wires = [None if node is None else new[node] for node in sheet.wires]
        sheet.names = {name: new[node] for name, node in sheet.names.items()}
        return sheet


def make_sheet(drawing: Drawing, symbols: dict[str, Symbol | None]) -> Sheet:
    """Connect one schematic.

    Raises
    ------
    ParseError
        For labels that stand for no or too many names.

    Notes
    -----
    O(n log n) in the number of wires, pins and bits.
    """
    return _Maker(drawing, symbols).make()
