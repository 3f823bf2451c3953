"""The sheets of a design: files read once, and every use of every sheet."""

import os
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._trace import note
from ohmtrail.importers.kicad_schematic._screen import (
    Screen,
    Sheet,
    Symbol,
    read_screen,
)
from ohmtrail.importers.kicad_schematic._text import expand, unescape
from ohmtrail.importers.kicad_schematic._variables import Project

__all__ = ["Design", "Use", "read_design"]

#: From this version on a power symbol's value names the net, not its hidden pin.
_NAMED_BY_VALUE = 20230221
_USES_MAX = 20_000
_DEPTH_MAX = 200


@dataclass(slots=True, eq=False)
class Use:
    """One use of a file as a sheet."""

    index: int
    screen: Screen
    #: Identifiers of the sheets from the root down, as in the file.
    ids: str
    #: Path in words, "/" or "/Core/Phase A/".
    path: str
    parent: int
    #: The sheet symbol; None for the root.
    sheet: Sheet | None
    fitted: bool
    on_board: bool
    #: Use of the sheet symbols here, by the symbol's identifier.
    children: dict[str, int] = field(default_factory=dict)


@dataclass(slots=True, eq=False)
class Design:
    """Files and uses of a design, the root first."""

    project: Project
    uses: list[Use]
    screens: dict[Path, Screen]
    aliases: dict[str, list[str]]

    def reference(self, use: Use, symbol: Symbol) -> tuple[str, int, bool]:
        """Return reference and unit of a symbol in one use of its sheet.

        The third item says whether the file states them for this very use.
        """
        found = symbol.instances.get(use.ids)
        if found is None:
            old = self.old_instance(use, symbol)
            if old is not None:
                found = old[:2]
        if found is None and symbol.instances:
            # Only other designs use it; KiCad then takes the first one's data.
            ref, unit = next(iter(symbol.instances.values()))
            return ref, unit, False
        if found is None or not found[0]:
            unit = symbol.unit if found is None else found[1]
            return symbol.reference, unit, found is not None
        return found[0], found[1], True

    def value(self, use: Use, symbol: Symbol) -> str:
        """Return the value of a symbol in one use of its sheet."""
        old = self.old_instance(use, symbol)
        return (old[2] if old else "") or symbol.value

    def old_instance(
        self, use: Use, symbol: Symbol
    ) -> tuple[str, int, str, str] | None:
        """Return what a KiCad 6 root file says of a symbol in one use."""
        table = self.uses[0].screen.instances
        if not table or symbol.instances:
            return None
        below = use.ids[len(self.uses[0].ids) :]
        return table.get(f"{below}/{symbol.uuid}")


def _locate(sheet: Sheet, screen: Screen, project: Project) -> Path:
    """Return a sheet's file: as named, or gzipped where only that is there."""
    name = expand(sheet.file, project.environment).replace("\\", "/")
    path = Path(os.path.normpath(screen.path.parent / name))
    packed = Path(f"{path}.gz")
    if not path.is_file() and packed.is_file():
        note(path, None)
        return packed
    return path


def _shown_name(sheet: Sheet, project: Project) -> str:
    """Return a sheet's name with text variables and escapes resolved."""
    if "{" not in sheet.name:
        return sheet.name
    return unescape(
        expand(
            sheet.name, lambda name: sheet.fields.get(name) or project.variable(name)
        )
    )


def _name_by_pin(screen: Screen) -> None:
    """Give power symbols of old files their hidden pin's name as value."""
    for symbol in screen.symbols:
        lib = screen.library.get(symbol.lib_name) or screen.library.get(symbol.lib_id)
        if lib is not None and lib.power == "global" and lib.pins:
            pin = lib.pins[0]
            if pin.electrical == "power_in" and pin.hidden:
                symbol.value = pin.name


def read_design(root: Path) -> Design:
    """Read the root file and every sheet below it, each file once.

    Raises
    ------
    ParseError
        For a damaged or missing file, a sheet that contains itself, and sheets
        nested deeper than 200.

    Notes
    -----
    O(size of the files + number of sheet uses).
    """
    screens: dict[Path, Screen] = {}
    first = read_screen(root)
    screens[Path(os.path.normpath(root))] = first
    project = Project(root)
    uses = [Use(0, first, f"/{first.uuid}", "/", -1, None, True, True)]
    names: dict[int, frozenset[Path]] = {0: frozenset([Path(os.path.normpath(root))])}
    done = 0
    while done < len(uses):
        use = uses[done]
        done += 1
        for sheet in use.screen.sheets:
            path = _locate(sheet, use.screen, project)
            if path in names[use.index]:
                raise use.screen.error(
                    f"found sheet {sheet.name!r} that contains itself"
                    f" ({sheet.file!r}), expected a tree of sheets",
                    sheet.node,
                )
            screen = screens.get(path)
            if screen is None:
                if not path.is_file():
                    raise use.screen.error(
                        f"found no file {sheet.file!r} for sheet {sheet.name!r},"
                        " expected it beside the schematic",
                        sheet.node,
                    )
                screen = screens[path] = read_screen(path)
            index = len(uses)
            if len(names[use.index]) >= _DEPTH_MAX:
                raise use.screen.error(
                    f"found sheets nested deeper than {_DEPTH_MAX}", sheet.node
                )
            if index >= _USES_MAX:
                raise use.screen.error(
                    f"found more than {_USES_MAX} sheets, expected a design",
                    sheet.node,
                )
            use.children[sheet.uuid] = index
            uses.append(
                Use(
                    index,
                    screen,
                    f"{use.ids}/{sheet.uuid}",
                    f"{use.path}{_shown_name(sheet, project)}/",
                    use.index,
                    sheet,
                    use.fitted and sheet.fitted,
                    use.on_board and sheet.on_board,
                )
            )
            names[index] = names[use.index] | {path}
    if first.version < _NAMED_BY_VALUE:
        for screen in screens.values():
            _name_by_pin(screen)
    aliases: dict[str, list[str]] = {}
    for screen in screens.values():
        aliases.update(screen.aliases)
    return Design(project, uses, screens, aliases)
