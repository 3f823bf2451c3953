"""Net and bus names: vectors, groups, aliases, and how a name is inherited."""

from collections.abc import Mapping, Sequence

from ohmtrail.importers.kicad_schematic._text import escape, unescape

__all__ = ["GROUP", "NET", "VECTOR", "Connection", "match_member"]

NET, VECTOR, GROUP = 0, 1, 2
_MEMBERS_MAX = 100_000


def _vector(text: str) -> list[str] | None:
    """Return the members of ``D[0..7]``, or None if it is none."""
    head, bracket, rest = text.partition("[")
    if not bracket or " " in head or "]" in head:
        return None
    nesting = 0
    for index, char in enumerate(head):
        if char == "{":
            if index == 0 or head[index - 1] not in "_^~":
                return None
            nesting += 1
        elif char == "}":
            nesting -= 1
    span, bracket, tail = rest.partition("]")
    first, dots, last = span.partition("..")
    if not (bracket and dots and first.isdecimal() and last.isdecimal()):
        return None
    if tail.strip("}+-PN") or nesting != tail.count("}"):
        return None
    low, high = sorted((int(first), int(last)))
    if low == high or high - low > _MEMBERS_MAX:
        return None
    return [f"{head}{number}{tail}" for number in range(low, high + 1)]


def _group(text: str) -> tuple[str, list[str]] | None:
    """Return prefix and members of ``MEM{A B D[0..7]}``, or None."""
    nesting = 0
    index = 0
    for index, char in enumerate(text):
        if char == "{":
            if index == 0 or text[index - 1] not in "_^~":
                break
            nesting += 1
        elif char == "}":
            nesting -= 1
        if char in " []":
            return None
    else:
        return None
    if nesting:
        return None
    prefix = text[:index]
    members: list[str] = []
    word = ""
    for here in range(index + 1, len(text)):
        char = text[here]
        if char == "{":
            if text[here - 1] not in "_^~":
                return None
            nesting += 1
        elif char == "}":
            if not nesting:
                if word:
                    members.append(word)
                return prefix, members
            nesting -= 1
        if char in " ,":
            if word:
                members.append(word)
            word = ""
            continue
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
        return f"{self.prefix}{self.name}{self.suffix}"

    def full(self, paths: Sequence[str]) -> str:
        """Return the name with the sheet's path where it is not global."""
        if self.with_path:
            return f"{paths[self.sheet]}{self.prefix}{self.name}{self.suffix}"
        return f"{self.prefix}{self.name}{self.suffix}"

    def full_local(self) -> str:
        """Return prefix and name as they were before any inheritance."""
        return f"{self.local_prefix}{self.local}"

    def configure(self, label: str, aliases: Mapping[str, Sequence[str]]) -> None:
        """Take a label's text: a net, a vector or a group."""
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
        for name in names:
            for inner in aliases.get(name, [name]):
                member = Connection(self.sheet, prefix)
                member.configure(escape(inner), aliases)
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
