"""What a KiCad project has beside its sheets."""

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from ohmtrail.importers._errors import ImporterError
from ohmtrail.importers._sexpr import Grammar
from ohmtrail.importers._text import read_text

__all__ = ["beside"]

_SUFFIXES = (".kicad_pro", ".kicad_pcb", ".kicad_dru", ".kicad_sch")
_TABLES = ("sym-lib-table", "fp-lib-table", "design-block-lib-table")
_FILES_MAX = 20_000


def beside(path: Path, models: Iterable[str] = ()) -> list[Path]:
    """Return the files that KiCad reads beside a schematic or a layout.

    Parameters
    ----------
    path : Path
        The root sheet or the layout.
    models : iterable of str
        Files of models for simulation, as parts name them: KiCad's netlist tells of
        them only where they are there.

    Returns
    -------
    list of Path
        Of the project's name: project file, layout, design rules, root sheet; then
        library tables with the libraries in the project's folder that they name,
        drawing sheets, job sets, models for simulation.  Models for pictures in
        space are left out.
    """
    folder = path.parent
    found = [path.with_suffix(suffix) for suffix in _SUFFIXES]
    for name in _TABLES:
        found.append(folder / name)
        found += _libraries(folder / name)
    found += sorted(folder.glob("*.kicad_wks")) + sorted(folder.glob("*.kicad_jobset"))
    found += _drawing_sheets(path.with_suffix(".kicad_pro"))
    named = (_inside(folder, name) for name in models)
    found += [one for one in named if one is not None]
    return [one for one in dict.fromkeys(found) if one.is_file()]


def _inside(folder: Path, name: str) -> Path | None:
    """Return a file named in the project, if it is in the project's folder."""
    name = name.replace("${KIPRJMOD}/", "").replace("\\", "/")
    if "$" in name or name.startswith("/") or ".." in name.split("/") or not name:
        return None
    return folder / name


def _libraries(table: Path) -> Iterator[Path]:
    if not table.is_file():
        return
    try:
        tree = Grammar().parse(read_text(table), table)
    except ImporterError:
        return
    for row in tree[1:]:
        for item in row if isinstance(row, list) else ():
            if not (isinstance(item, list) and item[:1] == ["uri"] and len(item) > 1):
                continue
            library = _inside(table.parent, str(item[1]))
            if library is not None and library.is_dir():
                yield from sorted(library.glob("*.kicad_*"))[:_FILES_MAX]
            elif library is not None:
                yield library


def _drawing_sheets(project: Path) -> Iterator[Path]:
    if not project.is_file():
        return
    try:
        settings: Any = json.loads(read_text(project))
    except (ImporterError, ValueError, RecursionError):
        return
    for section in ("schematic", "pcbnew"):
        part = settings.get(section) if isinstance(settings, dict) else None
        name = part.get("page_layout_descr_file") if isinstance(part, dict) else None
        sheet = _inside(project.parent, name) if isinstance(name, str) else None
        if sheet is not None:
            yield sheet
