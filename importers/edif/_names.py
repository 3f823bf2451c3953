"""Names in EDIF: ``a``, ``(rename a "a<0>")``, ``(array a 4)``, ``(member a 1)``."""

import re
from dataclasses import dataclass
from typing import Generic, TypeVar

from ohmtrail.importers.edif._tree import Node, Source

__all__ = ["Name", "Table", "member", "name_of", "words"]

T = TypeVar("T")

_RANGE = re.compile(r"(.*?)([\[(<])(-?\d{1,9}):(-?\d{1,9})([\])>])", re.DOTALL)
_WIDTH_MAX = 65536


@dataclass(frozen=True, slots=True)
class Name:
    """An identifier, what people call it, and how many there are."""

    identifier: str
    text: str
    #: 0 for a single thing, else the size of the array.
    size: int = 0

    @property
    def width(self) -> int:
        """Number of things: 1, or the size of the array."""
        return self.size or 1

    def of(self, index: int) -> str:
        """Return what people call one member, counted from the left.

        >>> Name("d", "d[7:0]", 8).of(0), Name("d", "d", 8).of(0)
        ('d[7]', 'd[0]')
        """
        if not self.size:
            return self.text
        match = _RANGE.fullmatch(self.text)
        if match is None:
            return f"{self.text}[{index}]"
        left, right = int(match[3]), int(match[4])
        number = left - index if left > right else left + index
        return f"{match[1]}{match[2]}{number}{match[5]}"


class Table(Generic[T]):
    """Things by identifier; case counts only where two differ in nothing else."""

    def __init__(self) -> None:
        self._exact: dict[str, T] = {}
        self._folded: dict[str, T] = {}

    def add(self, identifier: str, thing: T) -> bool:
        """Add a thing; False if the identifier is taken."""
        if identifier in self._exact:
            return False
        self._exact[identifier] = thing
        self._folded.setdefault(identifier.casefold(), thing)
        return True

    def find(self, identifier: str) -> T | None:
        """Return the thing with this identifier, or None."""
        found = self._exact.get(identifier)
        return self._folded.get(identifier.casefold()) if found is None else found

    def all(self) -> list[T]:
        """Return the things in the order of the file."""
        return list(self._exact.values())


def words(node: Node | str | None) -> str:
    """Return a text: a word, ``(string "x")``, ``(stringDisplay "x" ...)``."""
    if node is None or isinstance(node, str):
        return node or ""
    if node[0] == "e" and len(node) == 4:  # (e mantissa exponent)
        return f"{node[2]}e{node[3]}"
    if node[0] in ("true", "false"):
        return str(node[0])
    for child in node[2:]:
        if isinstance(child, str):
            return child
        if child[0] in ("e", "true", "false", "stringdisplay", "string"):
            return _flat(child)
    return ""


def _flat(node: Node) -> str:
    parts = [child for child in node[2:] if isinstance(child, str)]
    if node[0] == "e" and len(parts) == 2:
        return f"{parts[0]}e{parts[1]}"
    return parts[0] if parts else str(node[0])


def _plain(source: Source, node: Node | str, parent: Node) -> tuple[str, str]:
    """Return identifier and text of a name without an array."""
    if isinstance(node, str):
        return node, node.removeprefix("&")
    if node[0] == "rename" and len(node) > 3:
        identifier, original = node[2], node[3]
        if isinstance(identifier, list):
            identifier = words(identifier)
        return identifier, words(original) or identifier.removeprefix("&")
    if node[0] == "name" and len(node) > 2 and isinstance(node[2], str):
        return node[2], node[2].removeprefix("&")
    raise source.error(f"found '({node[0]}', expected a name", node)


def _number(source: Source, node: Node, text: object, most: int) -> int:
    if isinstance(text, str) and text.isascii() and text.isdigit() and len(text) < 9:
        number = int(text)
        if number <= most:
            return number
    shown = text if isinstance(text, str) else "("
    raise source.error(f"found {shown[:20]!r}, expected a number up to {most}", node)


def name_of(source: Source, parent: Node) -> Name:
    """Return the name that a list begins with.

    Raises
    ------
    ParseError
        If it has none, or an array of none or more than 65,536.
    """
    if len(parent) < 3:
        raise source.error(f"found '({parent[0]})', expected a name in it", parent)
    node = parent[2]
    if isinstance(node, list) and node[0] == "array" and len(node) > 3:
        size = 1
        for text in node[3:]:
            size *= _number(source, node, text, _WIDTH_MAX)
            if not 0 < size <= _WIDTH_MAX:
                raise source.error(
                    f"found an array of {size}, expected 1 to {_WIDTH_MAX}", node
                )
        return Name(*_plain(source, node[2], node), size)
    return Name(*_plain(source, node, parent))


def member(source: Source, reference: Node) -> tuple[str, int | None]:
    """Return what a reference names, and which member (None for all of it).

    Raises
    ------
    ParseError
        If it is neither an identifier nor ``(member identifier position)``.
    """
    if len(reference) < 3:
        raise source.error(f"found '({reference[0]})', expected a name", reference)
    node = reference[2]
    if isinstance(node, str):
        return node, None
    if node[0] == "member" and len(node) == 4 and isinstance(node[2], str):
        return node[2], _number(source, node, node[3], _WIDTH_MAX)
    if node[0] == "member" and len(node) > 4:
        raise source.error("found a member of an array of arrays, expected one", node)
    return _plain(source, node, reference)[0], None
