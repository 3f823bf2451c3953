"""Readers of open schematic and netlist formats: one folder a format.

>>> from ohmtrail.importers import importers
>>> "pin_table" in importers()
True
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ohmtrail.importers._errors import (
        ImporterError,
        ParseError,
        UnknownFormatError,
    )
    from ohmtrail.importers._importer import Importer
    from ohmtrail.importers._registry import importers, load, recognise

__all__ = [
    "Importer",
    "ImporterError",
    "ParseError",
    "UnknownFormatError",
    "importers",
    "load",
    "recognise",
]

_HOMES = {
    "Importer": "_importer",
    "ImporterError": "_errors",
    "ParseError": "_errors",
    "UnknownFormatError": "_errors",
    "importers": "_registry",
    "load": "_registry",
    "recognise": "_registry",
}


def __getattr__(name: str) -> object:
    """Import what is asked for only then: start-up stays fast."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    thing = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = thing
    return thing
