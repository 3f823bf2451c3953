"""Finds symbols and pages: in the project's folder and the installed library.

Files of a design come from strangers, so nothing outside these two is opened,
whatever path a file states.
"""

import os
import re
from collections.abc import Iterator
from pathlib import Path

from ohmtrail.importers._text import read_text
from ohmtrail.importers._trace import note
from ohmtrail.importers.lepton._config import Config, read_config

__all__ = ["INSTALLED", "Folder"]

#: Where Lepton and gEDA install their symbols, one folder for each family.
INSTALLED = (Path("/usr/share/lepton-eda/sym"), Path("/usr/share/gEDA/sym"))

_RC_FILES = ("gafrc", "gschemrc", "gnetlistrc")
_COMMAND = re.compile(
    r"\((reset-component-library|reset-source-library)\s*\)"
    r"|\((component-library|component-library-search"
    r'|source-library|source-library-search)\s+"([^"\n]*)"'
)
_COMMENT = re.compile(r'("(?:[^"\\\n]|\\.)*")|;[^\n]*')
#: Folders of a project that are searched, at most.
_FOLDERS_MAX = 1000


class Folder:
    """The folder of a design, with the libraries that its settings name.

    Attributes
    ----------
    config : Config
        How the netlister is told to name things.
    unused : dict
        Settings that were met and not followed -> count.
    """

    def __init__(self, root: Path) -> None:
        self.path = Path(os.path.abspath(root.parent))
        self._real = os.path.realpath(self.path)
        self._installed = [os.path.realpath(p) for p in INSTALLED if p.is_dir()]
        self.unused: dict[str, int] = {}
        self._symbols: list[Path] = []
        self._sources: list[Path] = []
        self._reset = False
        self._listings: dict[Path, frozenset[str]] = {}
        for name in _RC_FILES:
            self._read_rc(self.path / name)
        self.config: Config = read_config(self.path)
        self._near: dict[str, Path] | None = None
        self._index: dict[str, Path] | None = None

    # Settings ---------------------------------------------------------------

    def _read_rc(self, path: Path) -> None:
        if not path.is_file() or not self.inside(path):
            note(path, None)
            return
        text = _COMMENT.sub(lambda m: m[1] or "", read_text(path))
        for reset, command, value in _COMMAND.findall(text):
            if reset == "reset-component-library":
                self._symbols, self._reset = [], True
            elif reset:
                self._sources = []
            else:
                target = self._symbols
                if command.startswith("source"):
                    target = self._sources
                for folder in self._named(value, command.endswith("-search")):
                    if folder in target:
                        target.remove(folder)
                    target.insert(0, folder)

    def _named(self, value: str, deep: bool) -> list[Path]:
        """Return the folder that a setting names, with those below if ``deep``."""
        folder = (
            Path(os.path.normpath(self.path / value)) if "\0" not in value else None
        )
        if folder is None or not folder.is_dir():
            if folder is not None:
                note(folder, None)
            self._skip("library folder that does not exist")
            return []
        if self._is_installed(folder):
            return [folder]
        if not self.inside(folder):
            self._skip("library folder outside the project's folder, not opened")
            return []
        return list(self._below(folder)) if deep else [folder]

    def _below(self, top: Path) -> Iterator[Path]:
        count = 0
        for here, folders, _ in os.walk(top):
            folders[:] = sorted(f for f in folders if not f.startswith("."))
            yield Path(here)
            count += 1
            if count >= _FOLDERS_MAX:
                self._skip(f"library folders beyond {_FOLDERS_MAX}")
                return

    def _skip(self, what: str) -> None:
        self.unused[what] = self.unused.get(what, 0) + 1

    # Safety -----------------------------------------------------------------

    def inside(self, path: Path) -> bool:
        """Tell whether a path, links followed, stays in the project's folder."""
        return _within(os.path.realpath(path), self._real)

    def _is_installed(self, path: Path) -> bool:
        real = os.path.realpath(path)
        return any(_within(real, top) for top in self._installed)

    def _listing(self, folder: Path) -> frozenset[str]:
        """Return the names in a folder, looked up once."""
        known = self._listings.get(folder)
        if known is None:
            try:
                known = frozenset(os.listdir(folder))
            except OSError:
                known = frozenset()
            self._listings[folder] = known
        return known

    def _look(self, folders: list[Path], name: str) -> Path | None:
        for folder in folders:
            path = folder / name
            if name not in self._listing(folder) or not path.is_file():
                note(path, None)
            elif self.inside(path) or self._is_installed(path):
                return path
            else:
                self._skip("file that a link leads out of the project's folder")
        return None

    # Look-ups ---------------------------------------------------------------

    def symbol(self, name: str) -> Path | None:
        """Return the file of a symbol, None where there is none.

        The libraries that the settings name come first, the last one foremost;
        then, unless the settings drop it, the installed library; then any folder
        right below the project's own.
        """
        if not _plain(name):
            return None
        found = self._look(self._symbols, name)
        if found is not None:
            return found
        if not self._reset:
            found = self._installed_symbol(name)
        if found is None:
            found = self._nearby(name)
        if found is None and self._reset:
            found = self._installed_symbol(name)
        return found

    def source(self, name: str) -> Path | None:
        """Return the file of a block's page, None where there is none."""
        if not _plain(name):
            return None
        return self._look(self._sources, name) or self._nearby(name)

    def _nearby(self, name: str) -> Path | None:
        """Return a file in the project's folder or one right below it."""
        if self._near is None:
            self._near = {}
            below = sorted(n for n in self._listing(self.path) if n[0] != ".")
            folders = [self.path / n for n in below if (self.path / n).is_dir()]
            for folder in [self.path, *folders[:_FOLDERS_MAX]]:
                if self.inside(folder):
                    for entry in self._listing(folder):
                        self._near.setdefault(entry, folder / entry)
        path = self._near.get(name)
        if path is None or path.parent != self.path:
            note(self.path / name, None)
        if path is None:
            return None
        return self._look([path.parent], name)

    def _installed_symbol(self, name: str) -> Path | None:
        if self._index is None:
            self._index = {}
            for top in self._installed:
                for folder in sorted(p for p in Path(top).iterdir() if p.is_dir()):
                    for entry in self._listing(folder):
                        self._index.setdefault(entry, folder / entry)
        return self._index.get(name)


def _within(path: str, top: str) -> bool:
    return path == top or path.startswith(top.rstrip(os.sep) + os.sep)


def _plain(name: str) -> bool:
    """Tell whether a name is that of a file, with no way to another folder."""
    return (
        bool(name)
        and name.isprintable()
        and len(name) < 200
        and not any(c in name for c in '/\\:*?"<>|')
        and name not in (".", "..")
    )
