"""The definitions of a deck: subcircuits, models, parameters, in their places."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.spice._include import Folder, deck_text
from ohmtrail.importers.spice._lines import Line, logical_lines
from ohmtrail.importers.spice._scope import Scope
from ohmtrail.importers.spice._words import assignments, parameters, split_words

__all__ = ["Deck", "Definition", "Model", "read_deck"]

_NESTED_MAX = 100
_LINES_MAX = 1_500_000
#: Sorts of things not used that are told apart.
_SORTS_MAX = 1000
#: Foundries' libraries have some ten thousand.
_DEFINITIONS_MAX = 250_000


@dataclass(frozen=True, slots=True)
class Model:
    """A ``.model``: its type in lower case, and the whole text."""

    name: str
    type: str
    text: str


@dataclass(slots=True)
class Definition:
    """A subcircuit, or the deck's own top."""

    name: str
    ports: list[str] = field(default_factory=list)
    parent: "Definition | None" = None
    begun: Line | None = None
    devices: list[Line] = field(default_factory=list)
    parameters: dict[str, str] = field(default_factory=dict)
    models: dict[str, Model] = field(default_factory=dict)
    subcircuits: dict[str, "Definition"] = field(default_factory=dict)

    def model(self, name: str) -> Model | None:
        """Return the model that a name means here."""
        name = name.lower()
        here: Definition | None = self
        while here is not None:
            if name in here.models:
                return here.models[name]
            here = here.parent
        return None

    def subcircuit(self, name: str) -> "Definition | None":
        """Return the subcircuit that a name means here."""
        name = name.lower()
        here: Definition | None = self
        while here is not None:
            if name in here.subcircuits:
                return here.subcircuits[name]
            here = here.parent
        return None


@dataclass(slots=True)
class Deck:
    """A deck with everything it includes."""

    top: Definition
    globals: set[str] = field(default_factory=set)
    #: What was met and not used, in words, with the place where it was first.
    unused: Counter[str] = field(default_factory=Counter)
    where: dict[str, str] = field(default_factory=dict)

    def pass_over(self, what: str, line: Line) -> None:
        """Count something that is not used."""
        if what not in self.unused and len(self.unused) >= _SORTS_MAX:
            what = f"things of more than {_SORTS_MAX} other sorts"
        self.unused[what] += 1
        self.where.setdefault(what, f"{line.path.name}:{line.number}")


@dataclass(slots=True)
class _Source:
    """A file that is being read."""

    path: Path
    lines: Iterator[Line]
    #: Section of a library that is wanted, "" for all of the file.
    section: str
    named: Line | None
    inside: bool = False
    found: bool = False
    #: True while a section that nobody asked for is passed over.
    skipping: bool = False
    has_sections: bool = False
    definition: "Definition | None" = None


class _Reader:
    def __init__(self, path: Path) -> None:
        self.folder = Folder(path)
        self.deck = Deck(Definition(path.name))
        self.here = self.deck.top
        self.sources: list[_Source] = []
        #: For each open .if: [a branch was taken, this branch is taken].
        self.branches: list[list[bool]] = []
        self.open_if: list[Line] = []
        self.definitions = 0
        self.conditions = Scope(self.deck.top.parameters)
        self._open(path, deck_text(path), True, "", None)

    def _open(
        self, path: Path, text: str, title: bool, section: str, named: Line | None
    ) -> None:
        source = _Source(path, logical_lines(text, path, title), section, named)
        source.has_sections = ".endl" in text.lower()
        self.sources.append(source)

    def run(self) -> Deck:
        count = 0
        while self.sources:
            source = self.sources[-1]
            line = next(source.lines, None)
            if line is None:
                self._close(source)
                continue
            count += 1
            if count > _LINES_MAX:
                raise ParseError(
                    f"found more than {_LINES_MAX} lines that say something, "
                    "expected a board",
                    line.path,
                    line.number,
                )
            if self._wanted(source, line):
                self._line(source, line)
        here = self.here
        if here.begun is not None:
            raise ParseError(
                f"found end of file, expected .ends for .subckt {here.name}",
                here.begun.path,
                here.begun.number,
            )
        if self.open_if:
            line = self.open_if[-1]
            raise ParseError(
                "found end of file, expected .endif", line.path, line.number
            )
        return self.deck

    def _close(self, source: _Source) -> None:
        self.sources.pop()
        if source.section and not source.found and source.named is not None:
            raise ParseError(
                f"found no section {source.section} in {source.path.name}",
                source.named.path,
                source.named.number,
            )

    def _wanted(self, source: _Source, line: Line) -> bool:
        """Whether a line stands in the section that was asked for."""
        if not source.has_sections:
            return True
        word = line.text[:5].lower()
        if word == ".endl":
            source.inside = source.skipping = False
            return False
        if source.skipping:
            return False
        if source.section and not source.inside:
            words = split_words(line.text) if word.startswith(".lib") else []
            if len(words) == 2 and words[1].lower() == source.section:
                source.inside = source.found = True
            return False
        return True

    def _line(self, source: _Source, line: Line) -> None:
        text = line.text
        if text[0] != ".":
            if not self.branches or self.branches[-1][1]:
                self.here.devices.append(line)
            return
        word, _, rest = text.partition(" ")
        if "\t" in word:
            word, _, rest = text.replace("\t", " ").partition(" ")
        word = word.lower()
        if word in (".if", ".elseif", ".else", ".endif"):
            self._condition(word, rest, line)
            return
        if self.branches and not self.branches[-1][1]:
            return
        if word in (".subckt", ".macro"):
            self._subcircuit(rest, line)
        elif word in (".ends", ".eom"):
            if self.here.parent is None:
                raise ParseError(
                    f"found {word}, expected .subckt before it", line.path, line.number
                )
            self.here = self.here.parent
        elif word == ".model":
            self._model(rest, line)
        elif word in (".param", ".params", ".parameter", ".parameters"):
            self.here.parameters.update(assignments(rest))
        elif word == ".global":
            self.deck.globals.update(node.casefold() for node in rest.split())
        elif word in (".include", ".inc", ".incl"):
            self._include(rest, "", line)
        elif word == ".lib":
            self._library(source, rest, line)
        elif word == ".end":
            left = sum(1 for _ in source.lines)
            if left:
                self.deck.unused["line after .end"] += left
        elif word == ".title":
            pass
        else:
            self.deck.pass_over(f"command {word[:20]}", line)

    def _subcircuit(self, rest: str, line: Line) -> None:
        words, given = parameters(split_words(rest))
        words = [word for word in words if word.lower() not in ("params:", "params")]
        if not words:
            raise ParseError(
                "found .subckt, expected a name after it", line.path, line.number
            )
        depth, up = 0, self.here.parent
        while up is not None:
            depth, up = depth + 1, up.parent
            if depth > _NESTED_MAX:
                raise ParseError(
                    f"found .subckt nested deeper than {_NESTED_MAX}",
                    line.path,
                    line.number,
                )
        self.definitions += 1
        if self.definitions > _DEFINITIONS_MAX:
            raise ParseError(
                f"found more than {_DEFINITIONS_MAX} subcircuits, expected a deck",
                line.path,
                line.number,
            )
        name, ports = words[0], words[1:]
        definition = Definition(
            name, [port.casefold() for port in ports], self.here, line, [], dict(given)
        )
        if len(set(definition.ports)) < len(ports):
            raise ParseError(
                f"found a node twice in .subckt {name}", line.path, line.number
            )
        if self.here.subcircuits.setdefault(name.lower(), definition) is not definition:
            self.deck.pass_over("repeated .subckt, the first counts", line)
        self.here = definition

    def _model(self, rest: str, line: Line) -> None:
        words = split_words(rest)
        if len(words) < 2:
            raise ParseError(
                f"found {line.text[:40]!r}, expected .model with a name and a type",
                line.path,
                line.number,
            )
        model = Model(words[0], words[1].lower(), rest)
        models = self.here.models
        name = words[0].lower()
        if models.setdefault(name, model) is not model:
            self.deck.pass_over("repeated .model, the first counts", line)
        stem, _, bin_number = name.rpartition(".")
        if stem and bin_number.isdigit():  # nch.1, nch.2: one device in many sizes
            models.setdefault(stem, model)

    def _condition(self, word: str, rest: str, line: Line) -> None:
        if word == ".if":
            outer = not self.branches or self.branches[-1][1]
            if len(self.branches) >= _NESTED_MAX:
                raise ParseError("found .if nested too deep", line.path, line.number)
            taken = outer and self._true(rest, line)
            self.branches.append([taken or not outer, taken])
            self.open_if.append(line)
            return
        if not self.branches:
            raise ParseError(
                f"found {word}, expected .if before it", line.path, line.number
            )
        branch = self.branches[-1]
        if word == ".endif":
            self.branches.pop()
            self.open_if.pop()
        elif word == ".else":
            branch[:] = [True, not branch[0]]
        else:
            taken = not branch[0] and self._true(rest, line)
            branch[:] = [branch[0] or taken, taken]

    def _true(self, text: str, line: Line) -> bool:
        value = self.conditions.number(text)
        if value is None:
            raise ParseError(
                f"found condition {text.strip()[:40]!r}, expected one that parameters "
                "above it decide",
                line.path,
                line.number,
            )
        return value != 0

    def _library(self, source: _Source, rest: str, line: Line) -> None:
        words = split_words(rest)
        if len(words) > 1:
            self._include(words[0], words[1].lower(), line)
        elif source.has_sections and (
            not words or self.folder.find(words[0], line) is None
        ):
            source.skipping = True  # a section's own beginning
        else:
            self._include(rest, "", line)

    def _include(self, name: str, section: str, line: Line) -> None:
        path = self.folder.find(name, line)
        if path is None:
            self.deck.pass_over(
                f"included file that is not there: {name.strip()[:60]}", line
            )
            return
        if any(source.path.resolve() == path.resolve() for source in self.sources):
            # A library may take another section of itself.
            if not section or any(s.section == section for s in self.sources):
                raise ParseError(
                    f"found {path.name} included by itself", line.path, line.number
                )
        if len(self.sources) > _NESTED_MAX:
            raise ParseError("found files included too deep", line.path, line.number)
        text = self.folder.read(path, line)
        self._open(path, text, False, section, line)


def read_deck(path: Path) -> Deck:
    """Read a deck and the files that it includes.

    Parameters
    ----------
    path : Path
        The deck.

    Raises
    ------
    ImporterError
        If a file cannot be read, an include leaves the deck's folder or goes round
        in a circle, a ``.subckt`` or ``.if`` is not closed, or a condition cannot
        be decided.

    Notes
    -----
    O(size of all files read).  An include that is not there is counted in
    ``Deck.unused``: the parts of the deck itself are still good.
    """
    return _Reader(path).run()
