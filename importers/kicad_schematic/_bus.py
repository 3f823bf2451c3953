"""Net and bus names: vectors, groups, aliases, and how a name is inherited."""

import re
from collections.abc import Mapping, Sequence

from ohmtrail.importers.kicad_schematic._text import escape, unescape

__all__ = ["GROUP", "NET", "VECTOR", "Connection", "match_member"]

NET, VECTOR, GROUP = 0, 1, 2
#: What KiCad calls a net whose label shows no text.
_NAMELESS = "<NO NET>"
_MEMBERS_MAX = 5_000
#: Of both ends of a vector; Python turns no 5000 of them into a number.
_DIGITS_MAX = 40
#: The opening mark of an overbar, a subscript or a superscript.
_MARK = re.compile(r"[_^~]\{")


def _vector(text: str) -> list[str] | None:
    """Return the members of ``D[0..7]``, or None if it is none.

    Overbar, subscript and superscript marks do not enter the members' names.
    """
    head, bracket, rest = text.partition("[")
    span, closed, tail = rest.partition("]")
    first, dots, last = span.partition("..")
    if not (bracket and closed and dots) or " " in head or "]" in head:
        return None
    if not (first.isdecimal() and last.isdecimal()) or tail.strip("}+-PN"):
        return None
    if len(first) + len(last) > _DIGITS_MAX:
        return None
    plain = _MARK.sub("\0", head)
    nesting = plain.count("\0") - plain.count("}")
    if "{" in plain or nesting != tail.count("}"):
        return None
    low, high = sorted((int(first), int(last)))
    if low == high or high - low > _MEMBERS_MAX:
        return None
    prefix = plain.replace("\0", "").replace("}", "")
    suffix = tail.replace("}", "")
    return [f"{prefix}{number}{suffix}" for number in range(low, high + 1)]


def _group(text: str) -> tuple[str, list[str]] | None:
    """Return prefix and members of ``MEM{A B D[0..7]}``, or None."""
    plain = _MARK.sub("\0", text)
    prefix, brace, rest = plain.partition("{")
    if not brace or any(char in prefix for char in " []"):
        return None
    if prefix.count("\0") != prefix.count("}"):
        return None
    members: list[str] = []
    word = ""
    nesting = 0
    for char in rest:
        if char == "{":
            return None
        if char == "\0":
            nesting += 1
        elif char == "}":
            if not nesting:
                if word:
                    members.append(word)
                # KiCad keeps the closing brace of an overbar in a prefix.
                return prefix.replace("\0", ""), members
            nesting -= 1
        elif char in " ,":
            if word:
                members.append(word)
            word = ""
        else:
            word += char
    return None


class Connection:
    """The name that a subgraph carries, and its members if it is a bus.

    ``sheet`` is the index of the sheet use that gave the name; a name that is
    not global is written with that sheet's path in front.
    """

    __slots__ = (
        "group_prefix",
        "index",
        "kind",
        "local",
        "local_prefix",
        "members",
        "name",
        "prefix",
        "sheet",
        "suffix",
        "with_path",
    )

    def __init__(self, sheet: int, prefix: str = "") -> None:
        self.sheet = sheet
        self.name = ""
        self.local = ""
        self.prefix = prefix
        self.local_prefix = prefix
        self.suffix = ""
        self.group_prefix = ""
        self.kind = NET
        self.with_path = True
        self.members: list[Connection] = []
        self.index = 0

    def short(self) -> str:
        """Return the name without the sheet's path."""
        return f"{self.prefix}{self.name}{self.suffix}" if self.name else _NAMELESS

    def full(self, paths: Sequence[str]) -> str:
        """Return the name with the sheet's path where it is not global."""
        short = self.short()
        return f"{paths[self.sheet]}{short}" if self.with_path else short

    def full_local(self) -> str:
        """Return prefix and name as they were before any inheritance."""
        return f"{self.local_prefix}{self.local}"

    def configure(
        self,
        label: str,
        aliases: Mapping[str, Sequence[str]],
        budget: list[int] | None = None,
    ) -> None:
        """Take a label's text: a net, a vector or a group.

        Raises
        ------
        RecursionError
            If aliases that contain one another give too many members.
        """
        self.members = []
        self.name = self.local = label
        self.local_prefix = self.prefix
        self.kind = NET
        if "[" not in label and "{" not in label:
            return
        plain = unescape(label)
        names = _vector(plain)
        if names is not None:
            self.kind = VECTOR
            for index, name in enumerate(names):
                member = Connection(self.sheet, self.prefix)
                member.name = member.local = escape(name)
                member.index = index
                self.members.append(member)
            return
        group = _group(plain)
        if group is None:
            return
        self.kind = GROUP
        self.group_prefix, names = group
        prefix = self.group_prefix + "." if self.group_prefix else ""
        budget = budget or [_MEMBERS_MAX]
        for name in names:
            for inner in aliases.get(name, [name]):
                member = Connection(self.sheet, prefix)
                budget[0] -= 1
                if budget[0] <= 0:
                    raise RecursionError
                member.configure(escape(inner), aliases, budget)
                self.members.append(member)

    def set_path(self, with_path: bool) -> None:
        """Say whether the name is local to its sheet, for members too."""
        self.with_path = with_path
        for member in self.members:
            member.set_path(with_path)

    def copy(self) -> "Connection":
        """Return a copy that shares the members."""
        other = Connection(self.sheet)
        for slot in self.__slots__:
            setattr(other, slot, getattr(self, slot))
        return other

    def clone(self, other: "Connection") -> None:
        """Inherit another connection's name; local names of members stay."""
        self.sheet = other.sheet
        self.name = other.name
        self.local = self.local or other.local
        self.prefix = other.prefix
        self.suffix = other.suffix
        self.with_path = other.with_path
        if self.kind == other.kind != NET:
            if not self.members:
                self.members = other.members
            elif self.kind == VECTOR:
                for mine, theirs in zip(self.members, other.members, strict=False):
                    if mine is not theirs:
                        mine.clone(theirs)
            else:
                by_local: dict[str, Connection] = {}
                for theirs in other.members:
                    by_local.setdefault(theirs.local, theirs)
                for mine in self.members:
                    found = by_local.get(mine.local)
                    if found is not None and found is not mine:
                        mine.clone(found)
        self.kind = other.kind


def match_member(bus: Connection, wanted: Connection) -> Connection | None:
    """Return the member of ``bus`` that stands for ``wanted``, or None.

    A vector is matched by position, a group by local name.
    """
    if bus.kind == VECTOR:
        for member in bus.members:
            if member.index == wanted.index:
                return member
        return None
    for member in bus.members:
        if member.kind == VECTOR:
            for inner in member.members:
                if inner.local == wanted.local:
                    return inner
        elif member.local == wanted.local:
            return member
    return None
