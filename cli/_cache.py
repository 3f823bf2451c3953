"""What was imported and recognised, kept between runs.

An answer is kept under a name made from the question (paths, options, the
program's own files) together with a hash of every file that it was made from.
It is used only while all of those still hash to the same: a kept answer never
lies.  A file is written whole under another name and then renamed, and carries
a checksum, so a crash in mid-write leaves nothing that is believed.

``OHMTRAIL_CACHE=off`` switches it off, ``OHMTRAIL_CACHE=DIR`` moves it.
"""

import io
import json
import os
import pickle
import stat
import tempfile
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import Any

from ohmtrail.importers._trace import Files, digest

__all__ = ["Cache", "open_cache"]

#: The folder never holds more than this; what was used longest ago goes first.
MAX_BYTES = 256 * 1024 * 1024
_MAGIC = b"ohmtrail kept answer 1\n"
_MODULES = ("ohmtrail.netanalysis.board", "ohmtrail.netanalysis.circuit")


class _Reader(pickle.Unpickler):
    """Reads back our own frozen values and nothing else."""

    def find_class(self, module: str, name: str) -> Any:
        if module in _MODULES or (module, name) == ("builtins", "frozenset"):
            return super().find_class(module, name)
        raise pickle.UnpicklingError(f"{module}.{name} is not kept")


def _installed(folder: str) -> list[tuple[str, int, int]]:
    """Return what changes when a package comes to a folder of ``sys.path`` or goes.

    Installers keep the folders that end in "-packages", whose own time tells.  Any
    other folder (of ``PYTHONPATH``, the working folder) may change at every turn:
    there the descriptions of packages count, which name the readers they add.
    """
    folder = folder or "."
    status = os.stat(folder)
    if folder.endswith("-packages") or not stat.S_ISDIR(status.st_mode):
        return [(folder, status.st_size, status.st_mtime_ns)]
    found = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.endswith((".dist-info", ".egg-info")):
                for path in (entry.path, os.path.join(entry.path, "entry_points.txt")):
                    with suppress(OSError):
                        status = os.stat(path)
                        found.append((path, status.st_size, status.st_mtime_ns))
    return found


def _own_files() -> str:
    """Return a hash that changes whenever the program does, or what is installed."""
    import sys

    import ohmtrail.cli
    import ohmtrail.importers
    import ohmtrail.netanalysis

    found = []
    for folder in sys.path:
        with suppress(OSError):
            found += _installed(folder)
    for package in (ohmtrail.cli, ohmtrail.importers, ohmtrail.netanalysis):
        folders = [package.__path__[0]]
        while folders:
            with os.scandir(folders.pop()) as entries:
                for entry in entries:
                    if entry.name.endswith(".py"):
                        status = entry.stat()
                        found.append((entry.path, status.st_size, status.st_mtime_ns))
                    elif entry.is_dir() and entry.name != "__pycache__":
                        folders.append(entry.path)
    return digest(repr(sorted(found)).encode())


class Cache:
    """A folder of kept answers.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    max_bytes : int
        Bound on the size of all that is kept.
    """

    def __init__(self, folder: Path, max_bytes: int = MAX_BYTES) -> None:
        self.folder = folder
        self.max_bytes = max_bytes
        self._own = _own_files()

    def _path(self, question: tuple[Any, ...]) -> Path:
        return self.folder / digest(repr((self._own, question)).encode())

    def get(self, question: tuple[Any, ...]) -> Any:
        """Return the kept answer, or None if there is none that still holds.

        Parameters
        ----------
        question : tuple
            All that the answer depends on besides the contents of files; its
            ``repr`` is compared.

        Notes
        -----
        Reads and hashes every file that the answer was made from.
        """
        path = self._path(question)
        try:
            data = path.read_bytes()
            if not data.startswith(_MAGIC):
                return None
            check = data[len(_MAGIC) : len(_MAGIC) + 16]
            body = memoryview(data)[len(_MAGIC) + 16 :]
            if blake2b(body, digest_size=16).digest() != check:
                return None
            size = int.from_bytes(body[:4], "big")
            files = json.loads(bytes(body[4 : 4 + size]))
            for name, wanted in files.items():
                if _hash(name) != wanted:
                    return None
            answer = _Reader(io.BytesIO(body[4 + size :])).load()
        except (OSError, ValueError, EOFError, pickle.PickleError, AttributeError):
            return None
        with suppress(OSError):
            os.utime(path)
        return answer

    def put(self, question: tuple[Any, ...], answer: Any, files: Files) -> None:
        """Keep an answer made from these files; a full disk is no error."""
        names = json.dumps({os.path.abspath(name): h for name, h in files.items()})
        head = names.encode()
        payload = pickle.dumps(answer, protocol=pickle.HIGHEST_PROTOCOL)
        body = len(head).to_bytes(4, "big") + head + payload
        if len(body) > self.max_bytes // 4:
            return
        check = blake2b(body, digest_size=16).digest()
        with suppress(OSError):
            handle, name = tempfile.mkstemp(prefix="part-", dir=self.folder)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(_MAGIC + check + body)
                os.replace(name, self._path(question))
            except OSError:
                os.unlink(name)
                raise
            self._trim()

    def _trim(self) -> None:
        """Remove what was used longest ago until the rest is within bounds."""
        kept = []
        for path in self.folder.iterdir():
            with suppress(OSError):
                status = path.stat()
                kept.append((status.st_mtime_ns, status.st_size, path))
        total = sum(size for _, size, _ in kept)
        for _, size, path in sorted(kept):
            if total <= self.max_bytes:
                break
            with suppress(OSError):
                path.unlink()
                total -= size


def _hash(name: str) -> str | None:
    try:
        with open(name, "rb") as file:
            return digest(file.read())
    except OSError:
        return None


def open_cache() -> Cache | None:
    """Return the user's cache, or None where it is off or cannot be had.

    A folder that somebody else owns or can write to is not trusted.
    """
    where = os.environ.get("OHMTRAIL_CACHE", "")
    if where.casefold() in ("off", "0", "no"):
        return None
    if where:
        folder = Path(where)
    else:
        base = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
        if not os.path.isabs(base):
            return None
        folder = Path(base) / "ohmtrail"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        status = folder.stat()
    except OSError:
        return None
    if hasattr(os, "getuid") and (
        status.st_uid != os.getuid() or status.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    ):
        return None
    return Cache(folder)
