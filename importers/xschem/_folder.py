"""Finds symbols and schematics: in the project's folder and the installed library.

Nothing outside these two is opened, whatever path a file states.
"""

import os
from pathlib import Path

from ohmtrail.importers._trace import note

__all__ = ["INSTALLED", "Folder"]

#: Where xschem installs its library.
INSTALLED = (
    Path("/usr/share/xschem/xschem_library"),
    Path("/usr/local/share/xschem/xschem_library"),
)
_FOLDERS_MAX = 300
_FILES_MAX = 100_000


class Folder:
    """The folder of a design with the libraries around it."""

    def __init__(self, root: Path) -> None:
        self.path = os.path.abspath(root.parent)
        installed = [os.path.realpath(p) for p in INSTALLED if p.is_dir()]
        self._tops = [os.path.realpath(self.path), *installed]
        self._files: set[str] = set()
        #: Paths of the project by file name.
        self._named: dict[str, list[str]] = {}
        for top in installed:
            self._list(top)
        self._list(self.path)
        self._bases = [b for top in installed for b in (top, f"{top}/devices")]

    def _list(self, top: str) -> None:
        for count, (here, folders, files) in enumerate(os.walk(top)):
            folders[:] = sorted(f for f in folders if not f.startswith("."))
            if count >= _FOLDERS_MAX or len(self._files) > _FILES_MAX:
                return
            for name in sorted(files):
                if name.endswith((".sym", ".sch")):
                    path = os.path.join(here, name)
                    self._files.add(path)
                    if top == self.path:
                        self._named.setdefault(name, []).append(path)

    def inside(self, path: str) -> bool:
        """Tell whether a path, links followed, may be opened."""
        real = os.path.realpath(path)
        return any(
            real == top or real.startswith(top.rstrip(os.sep) + os.sep)
            for top in self._tops
        )

    def find(self, name: str, user: Path, suffix: str) -> Path | None:
        """Return the file that a name means in a file, None where there is none.

        The installed library comes first, as in xschem's own search path; then
        the folder of the file that uses the name, the project's folder, the one
        that it is in (for "lib/x.sym" used inside lib), folders below.
        """
        if not name or not name.isprintable() or len(name) > 400:
            return None
        name = name.replace("\\", "/")
        if "(" in name or name.startswith(("/", "~")):
            # A generator's call, or a path of somebody's own machine.
            name = name.partition("(")[0].rpartition("/")[2]
        if not name.endswith(suffix):
            name += suffix
        here = os.path.abspath(user.parent)
        for base in (*self._bases, here, self.path, os.path.dirname(self.path)):
            path = os.path.normpath(f"{base}/{name}")
            if path in self._files and self.inside(path):
                return Path(path)
            if base not in self._bases:
                note(path, None)
        for path in self._named.get(name.rpartition("/")[2], ()):
            if path.endswith(f"/{name.lstrip('./')}") and self.inside(path):
                return Path(path)
        return None
