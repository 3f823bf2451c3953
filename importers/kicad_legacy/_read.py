"""Reads a legacy schematic, with sheets and libraries, into a board."""

from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._pause import no_collection
from ohmtrail.importers.kicad_legacy._board import Placed, board_of
from ohmtrail.importers.kicad_legacy._find import Libraries
from ohmtrail.importers.kicad_legacy._hierarchy import Use, read_design
from ohmtrail.importers.kicad_legacy._library import LibPin, LibSymbol
from ohmtrail.importers.kicad_legacy._model import Screen, Symbol
from ohmtrail.importers.kicad_legacy._nets import connect
from ohmtrail.importers.kicad_legacy._touch import Group, Touching, touching
from ohmtrail.netanalysis.board import Board, Unused

__all__ = ["read"]

#: Version that the files of KiCad 5.0 and later have.
_KICAD_5 = 4
_ITEMS_MAX = 800_000
_UNKNOWN_SHOWN = 20


def _stand_in(symbol: Symbol) -> LibSymbol | None:
    """Return a power symbol drawn from its value, None for parts.

    Each power symbol of KiCad's own library is one hidden power input at its
    origin that has the symbol's name; flags have one visible output.
    """
    if not symbol.reference.startswith("#"):
        return None
    name = symbol.library.rpartition(":")[2]
    value = symbol.fields.get(1) or name
    flag = symbol.reference.startswith("#FLG") or name == "PWR_FLAG"
    kind = "power_out" if flag else "power_in"
    pin = LibPin(value, "1", 0, 0, 0, 0, kind, not flag)
    return LibSymbol(name, 1, True, [], [pin])


class _Placing:
    """Looks up the symbols and references of every use of every sheet."""

    def __init__(self, uses: list[Use], libraries: Libraries) -> None:
        self.placed: dict[tuple[int, int], Placed] = {}
        self.groups: list[list[Group]] = []
        self.missing: dict[str, list[str]] = {}
        self.drawn: list[str] = []
        self.nameless: list[str] = []
        self.loose: list[str] = []
        self.libraries = libraries
        self._symbols: dict[int, list[LibSymbol | None]] = {}
        self._known: dict[tuple[int, tuple[int, ...]], Touching] = {}
        self._refs: set[str] = set()
        self._items = 0
        for use in uses:
            self._use(use)

    def _library(self, screen: Screen) -> list[LibSymbol | None]:
        found = self._symbols.get(id(screen))
        if found is None:
            found = []
            for symbol in screen.symbols:
                library = self.libraries.symbol(symbol.library)
                if library is None:
                    library = _stand_in(symbol)
                    if library is not None:
                        self.drawn.append(f"{symbol.library} as {library.pins[0].name}")
                found.append(library)
            self._symbols[id(screen)] = found
        return found

    def _ref(self, ref: str) -> str:
        """Return a reference; parts without a number get one each."""
        if not ref.endswith("?") or ref.startswith("#"):
            return ref
        self.nameless.append(ref)
        number = len(self.nameless)
        while f"{ref}{number}" in self._refs:
            number += 1
        self._refs.add(f"{ref}{number}")
        return f"{ref}{number}"

    def _use(self, use: Use) -> None:
        screen = use.screen
        symbols = self._library(screen)
        units = []
        for index, symbol in enumerate(screen.symbols):
            ref, unit = use.reference(symbol)
            ref = self._ref(ref)
            library = symbols[index]
            units.append(unit)
            about = self.libraries.about(symbol.library)
            placed = Placed(ref, unit, use, symbol, library, about)
            self.placed[use.index, index] = placed
            if library is None:
                self.missing.setdefault(symbol.library, []).append(ref)
        key = id(screen), tuple(units)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = touching(screen, symbols, key[1])
            self.loose += [f"{screen.path.name}:{line}" for line in found.loose]
        self.groups.append(found.groups)
        self._items += len(found.groups) + len(units)
        if self._items > _ITEMS_MAX:
            raise ParseError(
                f"found more than {_ITEMS_MAX} items on all sheets, expected a design",
                screen.path,
            )

    def unused(self) -> list[Unused]:
        found = [
            Unused(
                f"part whose symbol {name} no library holds (it has no pins here)",
                ", ".join(refs[:20]) + (" ..." if len(refs) > 20 else ""),
                len(refs),
            )
            for name, refs in self.missing.items()
        ]
        for what, where in (
            ("power symbol that no library holds, taken by its value", self.drawn),
            (
                "symbol that only the installed KiCad 5 libraries hold",
                self.libraries.installed,
            ),
            (
                "symbol taken from a library of another name, for its own is absent",
                self.libraries.namesakes,
            ),
            ("part without a number, one was given", self.nameless),
            ("bus label on a wire, which it does not name", self.loose),
        ):
            if where:
                shown = ", ".join(dict.fromkeys(where[:20]))
                found.append(Unused(what, shown, len(where)))
        return found


def _unused_lines(screens: list[Screen]) -> list[Unused]:
    found = []
    for screen in screens:
        name = screen.path.name
        ordered = sorted(screen.unknown.items(), key=lambda item: -item[1])
        found += [
            Unused(f"unknown line {word[:40]!r}", name, count)
            for word, count in ordered[:_UNKNOWN_SHOWN]
        ]
        rest = ordered[_UNKNOWN_SHOWN:]
        if rest:
            count = sum(count for _, count in rest)
            found.append(Unused("unknown line of other kinds", name, count))
    return found


def read(path: Path) -> Board:
    """Return the board that a root schematic describes.

    Parameters
    ----------
    path : Path
        The root ``.sch``; its sheets and libraries are found from there.

    Raises
    ------
    ParseError
        For damaged, missing or self-containing sheets and damaged libraries,
        with file and line.

    Notes
    -----
    Each file is read once.  Nets and their names are those of KiCad 5's
    netlister: a local label joins a power pin of its name, a power pin is named
    by the pin and not by the value, equal hierarchical labels are one only
    through the pin of their sheet.
    """
    with no_collection():
        uses, screens = read_design(Path(path))
        placing = _Placing(uses, Libraries(screens))
        old = screens[0].version < _KICAD_5
        nets = connect(uses, placing.groups, kind_first=old)
        unused = placing.unused() + _unused_lines(screens)
        return board_of(uses, placing.placed, nets, unused, str(screens[0].version))
