"""Words of a line: names, numbers, ``{expressions}``, ``key=value``."""

import re

__all__ = ["assignments", "device_words", "parameters", "split_words"]

_WORD = re.compile(
    r"""\{[^{}]*(?:\{[^{}]*\}[^{}]*)*+\}|'[^']*'|"[^"]*"|<[^<>\s]+(?: [^<>]*)?>|"""
    r"""=|[^\s,()={}'"]+|[{}'"]"""
)
_SPECIAL = re.compile(r"""[(),={}'"<]""")
_SPECIAL_BUT_EQUAL = re.compile(r"""[(),{}'"<]""")
_KEY = re.compile(r"[A-Za-z_][\w.]*")
_ASSIGNED = re.compile(
    r"""(\{[^{}]*\}|'[^']*'|"[^"]*")|([A-Za-z_][\w.]*)\s*(\([^()]*\))?\s*=(?!=)"""
)


def split_words(text: str) -> list[str]:
    """Cut a line into words; brackets and commas part them as blanks do.

    >>> split_words("R1 (a,b) {x + 1} m = 2")
    ['R1', 'a', 'b', '{x + 1}', 'm', '=', '2']
    """
    if _SPECIAL.search(text) is None:
        return text.split()
    return _WORD.findall(text)


def device_words(text: str) -> tuple[list[str], dict[str, str]]:
    """Return ``parameters(split_words(text))``, sooner for plain lines.

    >>> device_words("M1 d g s nch w=1u m = 2")
    (['M1', 'd', 'g', 's', 'nch'], {'w': '1u', 'm': '2'})
    """
    if _SPECIAL_BUT_EQUAL.search(text) is not None:
        return parameters(_WORD.findall(text))
    words = text.split()
    if "=" not in text:
        return words, {}
    alone: list[str] = []
    found: dict[str, str] = {}
    for word in words:
        if "=" not in word:
            alone.append(word)
            continue
        key, _, value = word.partition("=")
        if not value or "=" in value or not (key.isidentifier() and key.isascii()):
            return parameters(_WORD.findall(text))  # blanks around the sign
        key = key.lower()
        if key not in found:
            found[key] = value
    return alone, found


def parameters(words: list[str]) -> tuple[list[str], dict[str, str]]:
    """Part the words that stand alone from ``key = value``.

    >>> parameters(["a", "M1", "w", "=", "1u", "off"])
    (['a', 'M1', 'off'], {'w': '1u'})
    """
    if "=" not in words:
        return words, {}
    alone: list[str] = []
    found: dict[str, str] = {}
    at = 0
    while at < len(words):
        word = words[at]
        if word == "=":
            if alone and at + 1 < len(words) and _KEY.fullmatch(alone[-1]):
                found.setdefault(alone.pop().lower(), words[at + 1])
                at += 1
        else:
            alone.append(word)
        at += 1
    return alone, found


def assignments(text: str) -> dict[str, str]:
    """Return what a ``.param`` line defines, by name in lower case.

    An expression may stand without braces; it ends where the next name begins.
    Functions (``f(x)=``) are left out.

    >>> assignments("a=1 b = {a * 2} c=a+ 3")
    {'a': '1', 'b': '{a * 2}', 'c': 'a+ 3'}
    """
    found: dict[str, str] = {}
    name, begin = "", 0
    for match in _ASSIGNED.finditer(text):
        if match[1] is not None:
            continue
        if name:
            found[name] = text[begin : match.start()].strip(" \t,")
        name = "" if match[3] else match[2].lower()
        begin = match.end()
    if name:
        found[name] = text[begin:].strip(" \t,")
    return found
