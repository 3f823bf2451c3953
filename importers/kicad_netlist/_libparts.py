"""Symbols of a netlist: the pins that each has, connected or not."""

from dataclasses import dataclass

from ohmtrail.importers._stacked import stacked
from ohmtrail.importers.kicad_netlist._tree import Node, blank, first, lists, text

__all__ = ["LibPart", "find", "plain_type", "read_libparts"]

#: What KiCad 4 and 5 call the electrical types, and the later words.
_OLD_TYPES = {
    "BiDi": "bidirectional",
    "3state": "tri_state",
    "openCol": "open_collector",
    "openEm": "open_emitter",
    "NotConnected": "no_connect",
    "unspc": "unspecified",
}


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
