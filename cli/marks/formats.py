"""Which module marks which format.

Such a module is `ohmtrail.cli.marks.<name>` and has

``insertions(path, board, plan) -> dict[Path, list[Insertion]]``
    What goes into each file; ``path`` is the root file as it was given, the keys are
    files that it is made of.
``project_files(path) -> list[Path]``
    Every file that the copy must have for the viewer to open ``path``, itself first.
``companions(path) -> list[tuple[str, Path]]``, may be left out
    Other views of the same board to be marked too: (format, file).
``without_marks(data) -> bytes``, may be left out
    A file that the viewer has written anew since, with the marks taken out.
"""

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ohmtrail.cli.marks.insertions import Insertion
    from ohmtrail.cli.marks.plan import MarkPlan
    from ohmtrail.netanalysis.board import Board

__all__ = ["FORMATS", "companions", "insertions", "project_files", "without_marks"]

#: Name of the importer -> module.
FORMATS: dict[str, str] = {
    "kicad_layout": "kicad_layout",
    "kicad_schematic": "kicad_schematic",
    "lepton": "lepton",
    "xschem": "xschem",
}


def _function(format: str, name: str) -> Callable[..., Any] | None:
    module = import_module(f"ohmtrail.cli.marks.{FORMATS[format]}")
    found: Callable[..., Any] | None = getattr(module, name, None)
    return found


def insertions(
    format: str, path: Path, board: "Board", plan: "MarkPlan"
) -> "dict[Path, list[Insertion]]":
    """Return what goes into each file of a board.

    Raises
    ------
    KeyError
        If nothing marks this format.
    ImporterError
        As reading it does, and for a version that cannot be marked.
    """
    function = _function(format, "insertions")
    assert function is not None, format
    made: dict[Path, list[Insertion]] = function(path, board, plan)
    return made


def project_files(format: str, path: Path) -> list[Path]:
    """Return every file that a copy of the project needs, the root first."""
    function = _function(format, "project_files")
    assert function is not None, format
    found: list[Path] = function(path)
    return found


def companions(format: str, path: Path) -> list[tuple[str, Path]]:
    """Return further views to be marked: (format, file)."""
    function = _function(format, "companions")
    return [] if function is None else list(function(path))


def without_marks(format: str, data: bytes) -> bytes | None:
    """Return a file without its marks; None where the format cannot tell them."""
    function = _function(format, "without_marks")
    return None if function is None else function(data)
