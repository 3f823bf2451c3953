"""A fast reader of KiCad's s-expressions, shared by the KiCad importers.

A tree is made of plain lists and strings: ``(wire (pts (xy 0 0)))`` becomes
``["wire", ["pts", ["xy", "0", "0"]]]``.  Quoted and bare words are both `str`.
Offsets are not kept; the line of a list is found again, on demand and slowly,
by `Grammar.line_of`.

One regular expression cuts the text into tokens.  A flat list is one token, and
whole groups that the caller names (graphics, text effects) are swallowed
together with the white space, so that the Python loop runs over a fraction of
the file.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, TypeAlias

from ohmtrail.importers._errors import ParseError

__all__ = ["Grammar", "Node"]

#: A list of the tree; its items are strings and lists.  Typed loosely: the
#: callers check what they take from it.
Node: TypeAlias = list[Any]

_STRING = r'"[^"\\]*+(?:\\.[^"\\]*+)*+"'
_DEPTH_MAX = 400
#: Programs write 14 bytes and more a bracket.
_LISTS_MAX = 5_000_000
#: From so many characters, or so many lists and strings, tokens are made one by one.
_STREAM_FROM = 24_000_000
_STREAM_LISTS_FROM = 1_000_000
_ESCAPE = re.compile(r"\\(x[0-9a-fA-F]{1,2}|[0-7]{1,3}|.)", re.DOTALL)
_ESCAPED = {"n": "\n", "r": "\r", "t": "\t", "a": "\a", "b": "\b", "f": "\f", "v": "\v"}


def _swallow(names: Iterable[str], depth: int = 4) -> str:
    """Return a pattern for a whole group whose first word is one of ``names``.

    Groups nested deeper than ``depth`` do not match and are then read in full.
    """
    body = rf'(?:[^()"]++|{_STRING})*+'
    for _ in range(depth):
        body = rf'(?:[^()"]++|{_STRING}|\({body}\))*+'
    return rf"\((?:{'|'.join(sorted(names))})(?=[\s()]){body}\)"


def _unescape(text: str) -> str:
    """Resolve the backslash escapes of a quoted string."""

    def one(match: re.Match[str]) -> str:
        code = match[1]
        if code[0] == "x" and len(code) > 1:
            return chr(int(code[1:], 16))
        if code[0] in "01234567":
            return chr(int(code, 8))
        return _ESCAPED.get(code, code)

    return _ESCAPE.sub(one, text)


class Grammar:
    """A reader that drops groups nobody needs.

    Parameters
    ----------
    skip : iterable of str
        First words of groups to swallow ("effects", "stroke").  A group that
        is nested unusually deep may still appear in the tree, so callers must
        ignore it there.
    skip_patterns : iterable of str
        Regular expressions, without capturing groups, of further balanced
        stretches to swallow.
    lists_max : int
        A tree of more lists is an error.

    Examples
    --------
    >>> Grammar(skip=["uuid"]).parse('(a (uuid 1) (b "c d"))', "x")
    ['a', ['b', 'c d']]
    """

    def __init__(
        self,
        skip: Iterable[str] = (),
        skip_patterns: Iterable[str] = (),
        lists_max: int = _LISTS_MAX,
    ) -> None:
        self._lists_max = lists_max
        blanks = [r"\s++", *skip_patterns]
        names = list(skip)
        if names:
            blanks.append(_swallow(names))
        token = rf'\([^()"]*+\)?+|\)|{_STRING}|[^\s()"]++|"'
        # The end counts as a token, empty: else a group swallowed just before it
        # would be given back piece by piece. Not possessive: before Python 3.11.5 a
        # possessive group may match too little (CPython gh-106052).
        self._token = re.compile(rf"(?:{'|'.join(blanks)})*({token}|\Z)", re.DOTALL)

    def parse(
        self,
        text: str,
        path: str | Path,
        fold: tuple[str, Callable[[Node], Any]] | None = None,
    ) -> Node:
        """Return the tree of the one list that ``text`` holds.

        Parameters
        ----------
        text : str
            The whole file.
        path : str or Path
            For messages.
        fold : (str, callable), optional
            First word of lists that are replaced, when they close, by what the
            callable makes of them: keeps memory small where a file has millions
            of one sort.  `line_of` does not work on such a tree.

        Raises
        ------
        ParseError
            With the line: no list, unbalanced brackets, an unterminated
            string, text after the list, nesting deeper than 400, too many lists.

        Notes
        -----
        O(length); no recursion.
        """
        tokens: Iterable[str]
        left = [self._lists_max]
        if (
            len(text) < _STREAM_FROM
            and text.count("(") + text.count('"') // 2 < _STREAM_LISTS_FROM
        ):
            tokens = self._token.findall(text)
        else:
            tokens = self._stream(text, path, left)
        top: Node = []
        stack: list[Node] = []
        push, pop = stack.append, stack.pop
        node = top
        folded, make = fold if fold is not None else (None, None)
        for token in tokens:
            first = token[:1]
            if first == "(":
                if token[-1] == ")":
                    node.append(token[1:-1].split())
                else:
                    push(node)
                    child = token[1:].split()
                    node.append(child)
                    node = child
                    if len(stack) > _DEPTH_MAX:
                        break
            elif first == ")":
                if not stack:
                    break
                closed, node = node, pop()
                if make is not None and closed and closed[0] == folded:
                    left[0] += len(closed)  # it and the lists in it
                    node[-1] = make(closed)
            elif first == '"':
                if "\\" in token:
                    node.append(_unescape(token[1:-1]))
                elif token == '"':
                    break
                else:
                    node.append(token[1:-1])
            elif first:
                node.append(token)
        else:
            if not stack and len(top) == 1 and isinstance(top[0], list):
                return top[0]
        raise self._explain(text, path)

    def line_of(self, text: str, tree: Node, node: Node) -> int:
        """Return the line on which ``node``, a list of ``tree``, begins.

        Reads the text again: for error messages only.
        """
        wanted = 0
        pending = [tree]
        while pending:
            here = pending.pop()
            if here is node:
                break
            wanted += 1
            pending.extend(x for x in reversed(here) if isinstance(x, list))
        for match in self._token.finditer(text):
            if match[1].startswith("("):
                if wanted == 0:
                    return text.count("\n", 0, match.start(1)) + 1
                wanted -= 1
        return 1

    def _stream(self, text: str, path: str | Path, left: list[int]) -> Iterator[str]:
        """Give the tokens one by one, lists no more than ``left``.

        The caller adds to ``left`` what it no longer keeps.
        """
        for match in self._token.finditer(text):
            token = match[1]
            if token[:1] == "(":
                left[0] -= 1
                if left[0] < 0:
                    line = text.count("\n", 0, match.start(1)) + 1
                    raise ParseError(
                        f"found more than {self._lists_max} brackets, expected a "
                        "design file",
                        path,
                        line,
                    )
            yield token

    def _explain(self, text: str, path: str | Path) -> ParseError:
        """Find what is wrong with a text that did not parse."""
        opened: list[int] = []
        done = False

        def at(message: str, offset: int) -> ParseError:
            return ParseError(message, path, text.count("\n", 0, offset) + 1)

        for match in self._token.finditer(text):
            offset, token = match.start(1), match[1]
            if not token:
                break
            first = token[0]
            if done:
                found = "')'" if first == ")" else "more text after the last ')'"
                return at(f"found {found}, expected end of file", offset)
            if token == '"':
                return at("found end of file inside a string, expected '\"'", offset)
            if first == "(":
                if token[-1] != ")":
                    opened.append(offset)
                if len(opened) > _DEPTH_MAX:
                    return at(f"found brackets nested deeper than {_DEPTH_MAX}", offset)
            elif not opened:
                return at(f"found {token[:20]!r}, expected '('", offset)
            elif first == ")":
                opened.pop()
            done = not opened
        if not opened:
            return ParseError("found an empty file, expected '('", path, 1)
        begun = text.count("\n", 0, opened[-1]) + 1
        return at(
            f"found end of file, expected ')' for the '(' of line {begun}",
            len(text.rstrip()),
        )
