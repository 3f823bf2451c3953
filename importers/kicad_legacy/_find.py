"""Which libraries a legacy project has, and the symbol for a name."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

from ohmtrail.importers._errors import ImporterError, ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.importers._trace import note
from ohmtrail.importers.kicad_legacy._documents import read_documents
from ohmtrail.importers.kicad_legacy._library import Library, LibSymbol, read_library
from ohmtrail.importers.kicad_legacy._model import Screen

__all__ = ["Libraries"]

_ROW = re.compile(r"\(lib\b")
_NAME = re.compile(r'\(name\s+(?:"([^"]*)"|([^\s()]+))')
_URI = re.compile(r'\(uri\s+(?:"([^"]*)"|([^\s()]+))')
_LISTED = re.compile(r"^LibName\d+=(.+)$", re.MULTILINE)
_HEAD = b"EESchema-LIB"
#: Where KiCad 5 has its own libraries: a variable, and Debian's folder.
_VARIABLE = "KICAD_SYMBOL_DIR"
_FOLDER = "/usr/share/kicad/library"
_NAMESAKES_MAX = 64
#: A project lists some dozens of libraries.
_LISTED_MAX = 2_000
_PLAIN = re.compile(r"[\w.+-]*\w")


def _by_name(library: Library, name: str) -> LibSymbol | None:
    if name in library.symbols:
        return library.symbols[name]
    return library.aliases[name][0] if name in library.aliases else None


def _is_library(path: Path) -> bool:
    try:
        with open(path, "rb") as file:
            return _HEAD in file.read(64)
    except OSError:
        return False


class Libraries:
    """Finds symbols in a project's own libraries.

    First the cache that the schematic editor wrote beside the root, for that is
    what it drew; then libraries for rescued symbols, those of the project's
    table, those that project and sheets list, and all others beside the root.
    What none of them holds is looked for in the libraries of an installed
    KiCad 5 (variable ``KICAD_SYMBOL_DIR``), which may be newer than the drawing.

    Parameters
    ----------
    screens : list of Screen
        The sheet files, the root first.

    Raises
    ------
    ImporterError
        If a library is damaged.
    """

    def __init__(self, screens: list[Screen]) -> None:
        self.root = screens[0].path
        self.folder = self.root.parent
        self._by_nick: dict[str, Library] = {}
        self._found: dict[str, LibSymbol | None] = {}
        #: Of all libraries in their order: the first symbol of each name, and
        #: the first few that have an alias.
        self._symbols: dict[str, LibSymbol] = {}
        self._aliases: dict[str, list[LibSymbol]] = {}
        #: Description and keywords by name without library.
        self._about: dict[str, tuple[str, str]] = {}
        #: Names found only in KiCad 5's own libraries, installed here.
        self.installed: list[str] = []
        #: Names of which only another library of the project has the last part.
        self.namesakes: list[str] = []
        self._installed: dict[str, Library | None] = {}
        seen: set[str] = set()
        for nick, path in self._candidates(screens):
            key = os.path.normpath(path)
            if key in seen:
                continue
            seen.add(key)
            if not path.is_file():
                note(path, None)
                continue
            if not _is_library(path):
                continue
            library = read_library(path)
            if library is not None:
                self._add(nick or path.stem, library)

    def about(self, name: str) -> tuple[str, str]:
        """Return description and keywords of a symbol, empty where unknown."""
        return self._about.get(name.rpartition(":")[2], ("", ""))

    def _add(self, nick: str, library: Library) -> None:
        documents = library.path.with_suffix(".dcm")
        if documents.is_file():
            for name, words in read_documents(documents).items():
                self._about.setdefault(name, words)
        else:
            note(documents, None)
        self._by_nick.setdefault(nick, library)
        for name, symbol in library.symbols.items():
            self._symbols.setdefault(name, symbol)
        for name, symbols in library.aliases.items():
            known = self._aliases.setdefault(name, [])
            known += symbols[: _NAMESAKES_MAX - len(known)]

    def _candidates(self, screens: list[Screen]) -> Iterator[tuple[str, Path]]:
        stem = self.root.stem
        for name in (f"{stem}-cache.lib", f"{stem}.cache.lib", f"{stem}-rescue.lib"):
            yield "", self.folder / name
        yield from self._table()
        yield from self._listed(screens)
        try:
            names = sorted(entry.name for entry in os.scandir(self.folder))
        except OSError:
            names = []
        # Caches that hold the word of another root come last.
        names.sort(key=lambda name: "cache" in name.lower())
        for name in names:
            if name.lower().endswith(".lib"):
                yield "", self.folder / name

    def _table(self) -> Iterator[tuple[str, Path]]:
        """Libraries of the project's ``sym-lib-table`` that lie in the project."""
        path = self.folder / "sym-lib-table"
        if not path.is_file():
            note(path, None)
            return
        for text in _ROW.split(read_text(path))[1 : _LISTED_MAX + 1]:
            name, uri = _NAME.search(text), _URI.search(text)
            if name is None or uri is None:
                continue
            where = (uri[1] or uri[2] or "").replace("\\", "/")
            where = where.replace("$(KIPRJMOD)", "${KIPRJMOD}")
            inside = self._inside(where.removeprefix("${KIPRJMOD}/"))
            if inside is not None and inside.suffix.lower() == ".lib":
                yield name[1] or name[2] or "", inside

    def _listed(self, screens: list[Screen]) -> Iterator[tuple[str, Path]]:
        """Libraries that the ``.pro`` file or the sheets list by name."""
        names: dict[str, None] = {}
        project = self.root.with_suffix(".pro")
        if project.is_file():
            try:
                for match in _LISTED.finditer(read_text(project)):
                    names[match[1].strip()] = None
            except ImporterError:
                pass  # a project file of another program
        else:
            note(project, None)
        for screen in screens:
            names.update(dict.fromkeys(name.strip() for name in screen.libraries))
        if len(names) > _LISTED_MAX:
            raise ParseError(
                f"found {len(names)} libraries listed, expected fewer than"
                f" {_LISTED_MAX}",
                self.root,
            )
        for name in names:
            name = name.replace("\\", "/").replace("${KIPRJMOD}/", "")
            inside = self._inside(name + ".lib") if name else None
            if inside is not None:
                yield "", inside

    def _inside(self, name: str) -> Path | None:
        """Return a path below the project's folder, None for one outside."""
        clean = os.path.normpath(name)
        if "\0" in clean or os.path.isabs(clean) or clean.split(os.sep)[0] == "..":
            return None
        return self.folder / clean

    def symbol(self, name: str) -> LibSymbol | None:
        """Return the symbol of a name as in a sheet, None if no library has it.

        Notes
        -----
        O(1), but for reading an installed library the first time.
        """
        if name not in self._found:
            self._found[name] = self._search(name)
        return self._found[name]

    def _search(self, name: str) -> LibSymbol | None:
        nick, colon, bare = name.partition(":")
        if not colon:
            nick, bare = "", name
        # The cache writes "nick_name"; an alias stands there without its nick.
        wanted = f"{nick}_{bare}" if colon else bare
        wanted = wanted.removeprefix("~") if not colon else wanted
        spellings = dict.fromkeys(
            (wanted, wanted.replace("/", "_"), wanted.replace("{slash}", "/"))
        )
        for spelling in spellings:
            if spelling in self._symbols:
                return self._symbols[spelling]
        for symbol in self._aliases.get(bare, ()):
            if not colon or symbol.name.startswith(f"{nick}_"):
                return symbol
        if wanted in self._aliases:
            return self._aliases[wanted][0]
        if not colon:
            return None
        own = self._by_nick.get(nick)
        if own is not None:
            return _by_name(own, bare)
        installed = self._from_installation(nick)
        found = _by_name(installed, bare) if installed is not None else None
        if found is not None:
            self.installed.append(name)
            return found
        found = self._symbols.get(bare) or self._aliases.get(bare, [None])[0]
        if found is not None:
            self.namesakes.append(name)
        return found

    def _from_installation(self, nick: str) -> Library | None:
        """Return a library of an installed KiCad 5, None without one."""
        if nick not in self._installed:
            found = None
            if _PLAIN.fullmatch(nick):
                for folder in (os.environ.get(_VARIABLE, ""), _FOLDER):
                    path = Path(folder, f"{nick}.lib")
                    if folder and path.is_file():
                        found = read_library(path)
                        break
                    if folder:
                        note(path, None)
            self._installed[nick] = found
        return self._installed[nick]
