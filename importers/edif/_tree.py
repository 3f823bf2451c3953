"""The brackets of an EDIF file as nested lists that know their place.

``(portRef a (instanceRef u1))`` becomes
``["portref", 0, "a", ["instanceref", 11, "u1"]]``: keyword in lower case (EDIF
ignores its case), offset in the text, then words and lists.
"""

import re
from pathlib import Path
from typing import Any, TypeAlias

from ohmtrail.importers._errors import ParseError

__all__ = ["Node", "Source", "first", "lists"]

#: A list of the tree: keyword, offset, then words and lists.
Node: TypeAlias = list[Any]

_TOKEN = re.compile(r'\([^()"]*+\)?+|\)[\s)]*+|"[^"]*+"|[^\s()"]++|"')
_ESCAPE = re.compile(r"%([\s\d]*+)%")
_DEPTH_MAX = 400
_LISTS_MAX = 4_000_000


def _escaped(match: re.Match[str]) -> str:
    codes = [code for code in match[1].split() if len(code) < 8]
    return "".join(chr(int(code)) if int(code) < 0xD800 else "\ufffd" for code in codes)


def _string(token: str) -> str:
    """Undo ``%34 65%``; line ends within a string are no part of it."""
    text = token[1:-1]
    if "\n" in text or "\r" in text:
        text = text.replace("\r", "").replace("\n", "")
    return _ESCAPE.sub(_escaped, text) if "%" in text else text


class Source:
    """An EDIF text, its tree, and errors that name its lines.

    Parameters
    ----------
    text : str
        The whole file.
    path : Path
        For messages.

    Examples
    --------
    >>> Source('(edif (rename a "b%33%"))', Path("x")).tree
    ['edif', 0, ['rename', 6, 'a', 'b!']]
    """

    def __init__(self, text: str, path: Path) -> None:
        self.text = text
        self.path = path
        self.tree = self._parse()

    def error(self, message: str, place: Node | int) -> ParseError:
        """Return an error about a list of the tree, or an offset."""
        offset = place if isinstance(place, int) else place[1]
        return ParseError(message, self.path, self.text.count("\n", 0, offset) + 1)

    def _parse(self) -> Node:
        """Return the one list of the text.

        Raises
        ------
        ParseError
            No list, unbalanced brackets, text after the list, a string without
            end, nesting deeper than 400, too many lists.
        """
        text = self.text
        if text.count("(") > _LISTS_MAX:
            raise ParseError(
                f"found more than {_LISTS_MAX} brackets, expected a board", self.path
            )
        keywords: dict[str, str] = {}
        top: Node = ["", 0]
        stack: list[Node] = []
        node = top
        for match in _TOKEN.finditer(text):
            token = match[0]
            begin = token[0]
            if begin == "(":
                flat = token[-1] == ")"
                child: Node = token[1:-1].split() if flat else token[1:].split()
                word = child[0] if child else ""
                keyword = keywords.get(word)
                if keyword is None:
                    keyword = keywords[word] = word.lower()
                child[:1] = keyword, match.start()
                node.append(child)
                if not stack and len(top) > 3:
                    raise self.error(
                        "found more text after the last ')', expected end of file",
                        child,
                    )
                if not flat:
                    stack.append(node)
                    node = child
                    if len(stack) > _DEPTH_MAX:
                        raise self.error(
                            f"found brackets nested deeper than {_DEPTH_MAX}", child
                        )
            elif begin == ")":
                count = token.count(")")
                if len(stack) < count:
                    raise self.error("found ')', expected '('", match.start())
                node = stack[-count]
                del stack[-count:]
            elif token == '"':
                raise self.error(
                    "found end of file inside a string, expected '\"'", match.start()
                )
            elif not stack:
                wanted = "end of file" if len(top) > 2 else "'(edif'"
                raise self.error(
                    f"found {token[:20]!r}, expected {wanted}", match.start()
                )
            else:
                node.append(_string(token) if begin == '"' else token)
        if stack:
            begun = text.count("\n", 0, node[1]) + 1
            raise self.error(
                f"found end of file, expected ')' for the '(' of line {begun}",
                len(text.rstrip()),
            )
        if len(top) == 2:
            raise ParseError("found no brackets, expected '(edif'", self.path, 1)
        tree: Node = top[2]
        return tree


def lists(node: Node | None, *keywords: str) -> list[Node]:
    """Return the lists in ``node`` with one of these keywords."""
    return [
        child
        for child in (node or ())[2:]
        if isinstance(child, list) and child[0] in keywords
    ]


def first(node: Node | None, keyword: str) -> Node | None:
    """Return the first list in ``node`` with a keyword, or None."""
    for child in (node or ())[2:]:
        if isinstance(child, list) and child[0] == keyword:
            return child
    return None
