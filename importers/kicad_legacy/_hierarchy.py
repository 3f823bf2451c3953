"""The sheets of a legacy design: files read once, and every use of each."""

import os
from dataclasses import dataclass
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.kicad_legacy._model import Screen, Sheet, Symbol
from ohmtrail.importers.kicad_legacy._screen import read_screen

__all__ = ["Use", "read_design"]

_USES_MAX = 20_000
_DEPTH_MAX = 200


@dataclass(slots=True, eq=False)
class Use:
    """One use of a file as a sheet."""

    index: int
    screen: Screen
    #: Time stamps of the sheets from the root down: "/" or "/5C45ED62/".
    stamps: str
    #: Path in words: "/" or "/Core/Phase A/".
    path: str
    parent: "Use | None"
    depth: int
    #: Uses of the sheets here, in the order of ``screen.sheets``.
    children: list["Use"]

    def reference(self, symbol: Symbol) -> tuple[str, int]:
        """Return reference and unit that a symbol has in this use."""
        stated = symbol.uses.get(self.stamps + symbol.stamp) if symbol.uses else None
        if stated is not None:
            return stated
        return symbol.fields.get(0) or symbol.reference, symbol.unit


def _inside_itself(use: Use, path: Path) -> bool:
    above: Use | None = use
    while above is not None:
        if os.path.normpath(above.screen.path) == str(path):
            return True
        above = above.parent
    return False


def _read(
    sheet: Sheet, use: Use, screens: dict[str, Screen], path: Path, name: str
) -> Screen:
    screen = screens.get(str(path))
    if screen is None:
        try:
            present = path.is_file()
        except (OSError, ValueError):
            present = False
        if not present:
            raise ParseError(
                f"found no file {sheet.file!r} for sheet {name!r},"
                " expected it beside the schematic",
                use.screen.path,
                sheet.line,
            )
        screen = screens[str(path)] = read_screen(path)
    return screen


def read_design(root: Path) -> tuple[list[Use], list[Screen]]:
    """Read the root file and every sheet below it, each file once.

    Returns
    -------
    uses : list of Use
        The root first.
    screens : list of Screen
        The files, the root first.

    Raises
    ------
    ParseError
        For a damaged or missing file, and for a sheet that contains itself.

    Notes
    -----
    O(size of the files + number of sheet uses * depth).
    """
    first = read_screen(root)
    screens = {os.path.normpath(root): first}
    uses = [Use(0, first, "/", "/", None, 0, [])]
    done = 0
    while done < len(uses):
        use = uses[done]
        done += 1
        for sheet in use.screen.sheets:
            name = sheet.name or sheet.file
            where = use.screen.path.parent / sheet.file.replace("\\", "/")
            path = Path(os.path.normpath(where))
            if _inside_itself(use, path):
                raise ParseError(
                    f"found sheet {name!r} that contains itself ({sheet.file!r}),"
                    " expected a tree of sheets",
                    use.screen.path,
                    sheet.line,
                )
            if use.depth >= _DEPTH_MAX:
                raise ParseError(
                    f"found sheets nested more than {_DEPTH_MAX} deep,"
                    " expected a design",
                    use.screen.path,
                    sheet.line,
                )
            if len(uses) >= _USES_MAX:
                raise ParseError(
                    f"found more than {_USES_MAX} sheets, expected a design",
                    use.screen.path,
                    sheet.line,
                )
            screen = _read(sheet, use, screens, path, name)
            child = Use(
                len(uses),
                screen,
                f"{use.stamps}{sheet.stamp}/",
                f"{use.path}{name}/",
                use,
                use.depth + 1,
                [],
            )
            use.children.append(child)
            uses.append(child)
    return uses, list(screens.values())
