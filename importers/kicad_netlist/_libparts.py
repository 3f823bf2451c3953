"""Symbols of a netlist: the pins that each has, connected or not."""

import re
from dataclasses import dataclass

from ohmtrail.importers.kicad_netlist._tree import Node, blank, first, lists, text

__all__ = ["LibPart", "find", "plain_type", "read_libparts", "stacked"]

#: What KiCad 4 and 5 call the electrical types, and the later words.
_OLD_TYPES = {
    "BiDi": "bidirectional",
    "3state": "tri_state",
    "openCol": "open_collector",
    "openEm": "open_emitter",
    "NotConnected": "no_connect",
    "unspc": "unspecified",
}
_STACK_MAX = 10_000


def plain_type(electrical: str) -> str:
    """Return an electrical type in the words of KiCad 6 and later.

    The mark of a no-connect flag on the pin is dropped.

    Examples
    --------
    >>> plain_type("BiDi"), plain_type("passive+no_connect")
    ('bidirectional', 'passive')
    """
    electrical = electrical.removesuffix("+no_connect")
    return _OLD_TYPES.get(electrical, electrical)


def stacked(number: str) -> list[str]:
    """Return the pin numbers of KiCad 10's stacked notation.

    Examples
    --------
    >>> stacked("[1,3-5]"), stacked("A1")
    (['1', '3', '4', '5'], ['A1'])
    """
    if not (number.startswith("[") and number.endswith("]")):
        return [number]
    numbers = []
    for item in number[1:-1].split(","):
        span = re.fullmatch(r"\s*(\D*)(\d{1,6})\s*-\s*(\D*)(\d{1,6})\s*", item)
        if span and span[1] == span[3] and 0 <= int(span[4]) - int(span[2]):
            low, high = int(span[2]), int(span[4])
            if high - low < _STACK_MAX:
                numbers += [f"{span[1]}{n}" for n in range(low, high + 1)]
                continue
        if not item.strip() or span:
            return [number]
        numbers.append(item.strip())
    return numbers


@dataclass(frozen=True, slots=True)
class LibPart:
    """A symbol."""

    description: str
    #: Pin number -> (name, electrical type), all units.
    pins: dict[str, tuple[str, str]]


def read_libparts(section: Node | None) -> dict[str, LibPart]:
    """Return the symbols by "library:name" and, where that is unique, by name.

    Parameters
    ----------
    section : list or None
        The section "libparts", which some programs leave out.
    """
    full: dict[str, LibPart] = {}
    short: dict[str, LibPart | None] = {}
    for item in lists(section, "libpart"):
        pins: dict[str, tuple[str, str]] = {}
        for pin in lists(first(item, "pins"), "pin"):
            named = (blank(text(pin, "name")), plain_type(text(pin, "type")))
            for number in stacked(text(pin, "num")):
                pins.setdefault(number, named)
        part = LibPart(text(item, "description"), pins)
        aliases = lists(first(item, "aliases"), "alias")
        for name in (text(item, "part"), *(text(alias) for alias in aliases)):
            full.setdefault(f"{text(item, 'lib')}:{name}", part)
            short[name] = None if name in short else part
    for name, only in short.items():
        if only is not None:
            full.setdefault(name, only)
    return full


def find(libparts: dict[str, LibPart], library: str, name: str) -> LibPart | None:
    """Return the symbol of a part, or None."""
    return libparts.get(f"{library}:{name}") or libparts.get(name)
