"""Look-ups in the lists that both forms of an ``export`` netlist become."""

from collections.abc import Iterator
from sys import intern
from typing import Any, TypeAlias

#: A list of the tree: its tag, then words and lists.
Node: TypeAlias = list[Any]

#: A node of a net, packed: ref, pin (None if it has none), pin name, type.
Packed: TypeAlias = tuple[str, str | None, str, str]

__all__ = ["Node", "Packed", "blank", "first", "lists", "pack", "tag", "text"]


def lists(node: Node | None, tag: str) -> Iterator[Node]:
    """Give the lists in ``node`` that begin with ``tag``."""
    for child in node or ():
        if isinstance(child, list) and child and child[0] == tag:
            yield child


def first(node: Node | None, tag: str) -> Node | None:
    """Return the first list in ``node`` that begins with ``tag``."""
    for child in node or ():
        if child.__class__ is list and child and child[0] == tag:
            return child
    return None


def tag(child: object) -> str:
    """Return what a list begins with; "a word" or "a nameless list" for the rest.

    Examples
    --------
    >>> tag(["net", ["name", "GND"]]), tag([["x"]]), tag("loose")
    ('net', 'a nameless list', 'a word')
    """
    if not isinstance(child, list):
        return "a word"
    return child[0] if child and isinstance(child[0], str) else "a nameless list"


def text(node: Node | None, tag: str = "") -> str:
    """Return the text of ``node``, or of its first list ``tag``; "" if none.

    Examples
    --------
    >>> text(["comp", ["ref", "R1"], ["value", "10k"]], "value")
    '10k'
    """
    if tag:
        node = first(node, tag)
    if node is None:
        return ""
    if len(node) == 2:
        word = node[1]
        return word if isinstance(word, str) else ""
    return " ".join(x for x in node[1:] if isinstance(x, str))


def blank(value: str) -> str:
    """Return "" for KiCad's mark of an empty text."""
    return "" if value == "~" else value


def pack(node: Node) -> Packed:
    """Return what matters of a net's node; its strings are shared with its like.

    Examples
    --------
    >>> pack(["node", ["ref", "U1"], ["pin", "4"], ["pintype", "input"]])
    ('U1', '4', '', 'input')
    """
    ref = name = electrical = ""
    pin = None
    for child in node:
        if isinstance(child, list) and len(child) == 2 and isinstance(child[1], str):
            word, value = child
            if word == "ref":
                ref = intern(value)
            elif word == "pin":
                pin = intern(value)
            elif word == "pinfunction":
                name = intern(value)
            elif word == "pintype":
                electrical = intern(value)
        elif child == ["pin"]:
            pin = ""
    return ref, pin, name, electrical
