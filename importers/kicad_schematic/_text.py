"""KiCad's escapes in names, text variables and the names of nets without label."""

import re
from collections.abc import Callable

__all__ = ["escape", "expand", "unescape", "unit_letter"]

_ESCAPES = {
    "slash": "/",
    "backslash": "\\",
    "lt": "<",
    "gt": ">",
    "colon": ":",
    "dblquote": '"',
    "brace": "{",
    "bar": "|",
    "comma": ",",
    "tab": "\t",
    "return": "\n",
    "space": " ",
    "amp": "&",
}
_NAMED = re.compile(r"(?<![$~^_@])\{(" + "|".join(_ESCAPES) + r")\}")
_VARIABLE = re.compile(r"\$\{([^{}]*)\}")


def unescape(text: str) -> str:
    """Return a name with ``{slash}`` and its like replaced by the characters."""
    if "{" not in text:
        return text
    return _NAMED.sub(lambda match: _ESCAPES[match[1]], text)


def escape(text: str) -> str:
    """Return a text as KiCad writes it into a net's name."""
    if "/" in text:
        text = text.replace("/", "{slash}")
    if "\n" in text or "\r" in text:
        text = text.replace("\n", "").replace("\r", "")
    return text


def expand(text: str, look_up: Callable[[str], str | None]) -> str:
    """Replace each ``${NAME}`` that ``look_up`` knows; others stay as written."""
    for _ in range(8):
        if "${" not in text:
            break

        def one(match: re.Match[str]) -> str:
            found = look_up(match[1])
            return match[0] if found is None else found

        changed = _VARIABLE.sub(one, text)
        if changed == text:
            break
        text = changed
    return text


def unit_letter(unit: int, first: str = "A", separator: str = "") -> str:
    """Return the suffix of one unit of a part: A, B, ... Z, AA."""
    if first.isdigit():
        return separator + str(unit + int(first) - 1)
    letters = ""
    while unit > 0:
        rest = (unit - 1) % 26
        letters = chr(ord(first) + rest) + letters
        unit = (unit - rest) // 26
    return separator + letters
