"""The whole design: every use of every (sub)schematic, and what ports join."""

import os
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._union import Union
from ohmtrail.importers.lepton._folder import Folder
from ohmtrail.importers.lepton._objects import Drawing
from ohmtrail.importers.lepton._parse import read_drawing
from ohmtrail.importers.lepton._sheet import MOCK_REF, Placed, Sheet, make_sheet
from ohmtrail.importers.lepton._symbol import settle_ends

__all__ = ["Design", "Use", "read_design"]

_USES_MAX = 20_000
_PINS_MAX = 3_000_000


@dataclass(slots=True, eq=False)
class Use:
    """One use of a (sub)schematic."""

    sheet: Sheet
    #: References of the blocks around, innermost first.
    blocks: tuple[str, ...]
    #: Number of this use's first group among those of the design.
    base: int
    #: Components that are a port of this use, by identity.
    ports: set[int] = field(default_factory=set)
    #: Components whose pages are further uses, by identity.
    opened: set[int] = field(default_factory=set)
    above: frozenset[Path] = frozenset()

    @property
    def path(self) -> str:
        """The use in words, "/" or "/X1/X2/"."""
        return "/" + "".join(f"{name}/" for name in reversed(self.blocks))


@dataclass(slots=True, eq=False)
class Design:
    """All uses, the root first, and what is joined through ports."""

    folder: Folder
    uses: list[Use]
    #: Over the groups of all uses, each from its ``base``.
    union: Union
    unused: dict[tuple[str, str], int]

    def count(self, what: str, where: str, count: int = 1) -> None:
        """Remember something that was met and not used."""
        key = (what, where)
        self.unused[key] = self.unused.get(key, 0) + count


class _Reading:
    """Reads each file once."""

    def __init__(self, root: Path, extra: list[Path]) -> None:
        self.folder = Folder(root)
        self.pages: dict[Path, Drawing] = {}
        self.symbols: dict[str, Drawing | None] = {}
        self.sheets: dict[tuple[Path, ...], Sheet] = {}
        self.missing: dict[str, list[str]] = {}
        self.design = Design(self.folder, [], Union(), {})
        self.roots = [_normal(root), *extra]
        self.pins = 0

    def sheet(self, paths: tuple[Path, ...]) -> Sheet:
        known = self.sheets.get(paths)
        if known is not None:
            return known
        pages = []
        for path in paths:
            page = self.pages.get(path)
            if page is None:
                page = self.pages[path] = read_drawing(path)
                for what, count in page.unused.items():
                    self.design.count(what, path.name, count)
            pages.append(page)
            for component in page.components:
                if component.embedded is not None:
                    settle_ends(component.embedded)
                else:
                    self._symbol(component.name)
                    if self.symbols[component.name] is None:
                        refs = component.attributes.get("refdes") or ["?"]
                        self.missing.setdefault(component.name, []).append(refs[-1])
        sheet = self.sheets[paths] = make_sheet(pages, self.symbols)
        for what, count in sheet.unused.items():
            self.design.count(what, paths[0].name, count)
        return sheet

    def _symbol(self, name: str) -> None:
        if name in self.symbols:
            return
        path = self.folder.symbol(name)
        symbol = None if path is None else read_drawing(path)
        if symbol is not None:
            settle_ends(symbol)
        self.symbols[name] = symbol

    def use(
        self, paths: tuple[Path, ...], parent: Use | None, block: Placed | None
    ) -> Use:
        """Add a use of some pages."""
        sheet = self.sheet(paths)
        design = self.design
        blocks: tuple[str, ...] = ()
        above = frozenset(paths)
        if parent is not None and block is not None:
            blocks = (block.name or MOCK_REF, *parent.blocks)
            above |= parent.above
        self.pins += sum(len(i.pins) + 1 for i in sheet.placed) + len(sheet.groups)
        if len(design.uses) >= _USES_MAX or self.pins > _PINS_MAX:
            raise ParseError(
                f"found more than {_USES_MAX} blocks or {_PINS_MAX} pins,"
                " expected a design",
                self.roots[0],
            )
        use = Use(sheet, blocks, len(design.union.up), above=above)
        for _ in sheet.groups:
            design.union.add()
        design.uses.append(use)
        return use

    def open(self, use: Use) -> None:
        """Add the uses of the pages behind the blocks of a use."""
        for block in use.sheet.composite if self.folder.config.traverse else ():
            paths = []
            for name in block.sources:
                path = self.folder.source(name)
                if path is None:
                    self.design.count(
                        f"page {name!r} of a block, not found", use.path + block.ref
                    )
                elif (path := _normal(path)) in use.above:
                    raise block.page.error(
                        f"found block {block.ref or block.component.name!r} that"
                        f" contains itself ({name!r}), expected a tree of pages",
                        block.component.line,
                    )
                else:
                    paths.append(path)
            if not paths:
                continue
            inner = self.use(tuple(paths), use, block)
            use.opened.add(id(block))
            self._join_ports(use, block, inner)

    def _join_ports(self, outer: Use, block: Placed, inner: Use) -> None:
        """Join each pin of a block with the port that has its label's name."""
        ports: dict[str, Placed] = {}
        for item in inner.sheet.placed:
            if item.name:
                ports.setdefault(item.name, item)
        done: set[str] = set()
        for pin in block.pins:
            where = f"{outer.path}{block.ref}.{pin.number}"
            port = ports.get(pin.label) if pin.label else None
            if port is None or not port.pins:
                self.design.count("pin of a block without a port inside", where)
            elif pin.label in done:
                self.design.count("second pin of a block with one label", where)
            else:
                done.add(pin.label)
                inner.ports.add(id(port))
                self.design.union.join(
                    outer.base + pin.group, inner.base + port.pins[0].group
                )


def _normal(path: Path) -> Path:
    return Path(os.path.abspath(path))


def read_design(root: Path, extra: list[Path]) -> Design:
    """Read the root page (with further pages beside it) and all blocks.

    Raises
    ------
    ImporterError
        For a damaged file, a block that contains itself, or a design in which
        no symbol can be found.

    Notes
    -----
    O(size of the files + pins of all uses).
    """
    reading = _Reading(root, extra)
    uses = reading.design.uses
    reading.use(tuple(reading.roots), None, None)
    done = 0
    while done < len(uses):
        reading.open(uses[done])
        done += 1
    for name, refs in reading.missing.items():
        shown = ", ".join(dict.fromkeys(refs[:20])) + (" ..." if len(refs) > 20 else "")
        reading.design.count(
            f"symbol {name!r}, not found: pins unknown", shown, len(refs)
        )
    for what, count in reading.folder.unused.items():
        reading.design.count(what, "gafrc", count)
    if reading.missing and not any(
        item.pins for use in uses for item in use.sheet.placed
    ):
        name = next(iter(reading.missing))
        line = next(
            c.line
            for page in reading.pages.values()
            for c in page.components
            if c.name == name
        )
        raise (
            uses[0]
            .sheet.pages[0]
            .error(
                f"found no file of any symbol ({name!r} is the first), expected them"
                " in the schematic's folder, one below, or Lepton's installed library",
                line,
            )
        )
    return reading.design
