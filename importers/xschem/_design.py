"""The whole design: every use of every schematic, joined at its pins."""

import os
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._union import Union
from ohmtrail.importers.xschem._file import Drawing, Instance, read_drawing
from ohmtrail.importers.xschem._folder import Folder
from ohmtrail.importers.xschem._sheet import Placed, Sheet, make_sheet
from ohmtrail.importers.xschem._symbol import Symbol, stand_in, symbol_of

__all__ = ["Design", "Use", "read_design"]

_USES_MAX = 20_000
_PINS_MAX = 2_000_000


@dataclass(slots=True, eq=False)
class Use:
    """One use of a schematic; its nodes count from ``base`` in the design."""

    sheet: Sheet
    path: str
    base: int
    above: frozenset[Path]
    #: Names of nets that the pins of the block stand for.
    ports: frozenset[str] = frozenset()


@dataclass(slots=True, eq=False)
class Design:
    """All uses, the root first."""

    uses: list[Use]
    union: Union
    #: Blocks that stay parts, with the use they are in.
    closed: list[tuple[Use, Placed]]
    unused: dict[tuple[str, str], int]
    #: Names that hold in the whole design, but where a block's pin has one.
    everywhere: set[str] = field(default_factory=lambda: {"0"})

    def shown(self, use: Use, name: str) -> str:
        """Return the name of a net of a use in the whole design."""
        if name in self.everywhere and name not in use.ports:
            return name
        return use.path[1:] + name

    def count(self, what: str, where: str, count: int = 1) -> None:
        """Remember something that was met and not used."""
        key = (what, where)
        self.unused[key] = self.unused.get(key, 0) + count


class _Reading:
    """Reads each file once."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.folder = Folder(root)
        self.symbols: dict[str, Symbol | None] = {}
        self.embedded: dict[str, Symbol] = {}
        self.sheets: dict[Path, Sheet] = {}
        self.by_path: dict[Path, Symbol] = {}
        self.missing: dict[str, list[Instance]] = {}
        self.schematics: dict[tuple[str, Path], Path | None] = {}
        self.design = Design([], Union(), [], {})
        self.size = 0

    def symbol(self, name: str, user: Path) -> Symbol | None:
        embedded = self.embedded.get(name)
        if embedded is not None:
            return embedded
        path = self.folder.find(name, user, ".sym")
        if path is None:
            return stand_in(name)
        known = self.by_path.get(path)
        if known is None:
            known = self.by_path[path] = symbol_of(name, read_drawing(path), path)
        return known

    def sheet(self, path: Path) -> Sheet:
        known = self.sheets.get(path)
        if known is not None:
            return known
        drawing = read_drawing(path)
        for instance in drawing.instances:
            if instance.embedded is not None:
                self.embedded[instance.symbol] = symbol_of(
                    instance.symbol, instance.embedded, None
                )
        symbols: dict[str, Symbol | None] = {}
        for instance in drawing.instances:
            name = instance.symbol
            if name not in symbols:
                symbols[name] = self.symbol(name, path)
            if symbols[name] is None:
                self.missing.setdefault(name, []).append(instance)
        sheet = self.sheets[path] = make_sheet(drawing, symbols)
        for what, count in sheet.unused.items():
            self.design.count(what, path.name, count)
        return sheet

    def use(self, path: Path, name: str, above: frozenset[Path]) -> Use:
        sheet = self.sheet(path)
        uses = self.design.uses
        self.size += len(sheet.objects) + sum(
            len(p.pins) + 1 for p in (*sheet.parts, *sheet.blocks)
        )
        if len(uses) >= _USES_MAX or self.size > _PINS_MAX:
            raise ParseError(
                f"found more than {_USES_MAX} blocks or {_PINS_MAX} pins,"
                " expected a design",
                self.root,
            )
        union = self.design.union
        use = Use(sheet, name, len(union.up), above | {path})
        for _ in sheet.objects:
            union.add()
        uses.append(use)
        return use

    def schematic(self, block: Placed, drawing: Drawing) -> Path | None:
        """Return the file behind a block, None where there is none."""
        symbol, instance = block.symbol, block.instance
        stated = symbol.value(instance, "schematic") or symbol.attributes.get(
            "schematic", ""
        )
        if symbol.attributes.get("spice_stop", "") == "true":
            return None
        user = symbol.path or drawing.path
        name = stated or instance.symbol.removesuffix(".sym")
        key = (name, user)
        if key not in self.schematics:
            found = None
            if not stated and symbol.path is not None:
                beside = symbol.path.with_suffix(".sch")
                if beside.is_file() and self.folder.inside(str(beside)):
                    found = beside
            self.schematics[key] = found or self.folder.find(name, user, ".sch")
        return self.schematics[key]

    def open(self, use: Use) -> None:
        """Add the uses behind the blocks of a use."""
        drawing = use.sheet.drawing
        for block in use.sheet.blocks:
            path = self.schematic(block, drawing)
            if path is None:
                self.design.closed.append((use, block))
                continue
            if path in use.above:
                raise drawing.error(
                    f"found block {block.ref!r} that contains itself"
                    f" ({path.name!r}), expected a tree of schematics",
                    block.instance.offset,
                )
            behind = self.sheet(path)
            if not behind.parts and not behind.blocks:
                # Drawn for a simulator: nothing in it that somebody solders.
                self.design.closed.append((use, block))
                continue
            inner = self.use(path, f"{use.path}{block.ref}/", use.above)
            inner.ports = frozenset(pin.name for pin in block.pins)
            for pin in block.pins:
                node = inner.sheet.names.get(pin.name)
                if node is None:
                    self.design.count(
                        "pin of a block without a label inside",
                        f"{use.path}{block.ref}.{pin.name}",
                    )
                else:
                    self.design.union.join(use.base + pin.node, inner.base + node)

    def join_global(self) -> None:
        """Join the nets whose names hold in the whole design."""
        everywhere = self.design.everywhere
        for sheet in self.sheets.values():
            everywhere.update(sheet.everywhere)
        first: dict[str, int] = {}
        for use in self.design.uses:
            names = use.sheet.names
            for name in names if len(names) < len(everywhere) else everywhere:
                if name in everywhere and name in names and name not in use.ports:
                    node = use.base + names[name]
                    self.design.union.join(first.setdefault(name, node), node)


def read_design(root: Path) -> Design:
    """Read the root schematic and all blocks.

    Raises
    ------
    ImporterError
        For a damaged file, a block that contains itself, or a design in which
        no symbol can be found.

    Notes
    -----
    O(size of the files + pins of all uses).
    """
    root = Path(os.path.abspath(root))
    reading = _Reading(root)
    design = reading.design
    reading.use(root, "/", frozenset())
    done = 0
    while done < len(design.uses):
        reading.open(design.uses[done])
        done += 1
    reading.join_global()
    for name, instances in reading.missing.items():
        refs = [instance.properties.get("name", "?") for instance in instances[:20]]
        design.count(
            f"symbol {name!r}, not found: pins unknown",
            ", ".join(dict.fromkeys(refs)),
            len(instances),
        )
    first = design.uses[0].sheet
    if reading.missing and not any(
        u.sheet.parts or u.sheet.blocks for u in design.uses
    ):
        name, instances = next(iter(reading.missing.items()))
        raise first.drawing.error(
            f"found no file of any part's symbol ({name!r} is the first), expected"
            " them in the schematic's folder, one below, or xschem's library",
            instances[0].offset if instances[0] in first.drawing.instances else None,
        )
    return design
