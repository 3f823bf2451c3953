"""How a project tells the netlister to name parts and nets of blocks."""

import configparser
from dataclasses import dataclass
from pathlib import Path

from ohmtrail.importers._errors import ImporterError
from ohmtrail.importers._text import read_text
from ohmtrail.importers._trace import note

__all__ = ["Config", "Mangling", "read_config"]

#: File names, newest first, and the prefix of their groups.
_FILES = (("lepton.conf", "netlist"), ("geda.conf", "gnetlist"))


@dataclass(frozen=True, slots=True)
class Mangling:
    """How names inside a block are made: "X1/R2"."""

    #: False: a name is the same whatever block it is in.
    mangle: bool = True
    #: True: the innermost name comes first.
    reverse: bool = False
    separator: str = "/"

    def join(self, name: str, blocks: tuple[str, ...]) -> str:
        """Return the name of something in blocks, which stand innermost first."""
        if not self.mangle or not blocks:
            return name
        words = (name, *blocks)
        return self.separator.join(words if self.reverse else words[::-1])


@dataclass(frozen=True, slots=True)
class Config:
    """Settings of the netlister; the defaults are Lepton's."""

    traverse: bool = True
    refdes: Mangling = Mangling()
    netname: Mangling = Mangling()
    net: Mangling = Mangling()
    #: True: ``netname=`` beats ``net=`` where a net has both.
    prefer_netname: bool = False


def read_config(folder: Path) -> Config:
    """Read ``lepton.conf`` (or gEDA's ``geda.conf``) of a project's folder.

    Lines that cannot be understood leave the default.
    """
    for name, group in _FILES:
        path = folder / name
        if not path.is_file() or path.is_symlink():
            note(path, None)
            continue
        parser = configparser.ConfigParser(
            interpolation=None, strict=False, allow_no_value=True, delimiters=("=",)
        )
        try:
            parser.read_string(read_text(path), str(path))
        except (configparser.Error, ImporterError):
            continue
        return _config(parser, group)
    return Config()


def _config(parser: configparser.ConfigParser, group: str) -> Config:
    hierarchy = f"{group}.hierarchy"

    def flag(key: str, default: bool) -> bool:
        text = (parser.get(hierarchy, key, fallback="") or "").strip().lower()
        return {"true": True, "false": False}.get(text, default)

    def mangling(key: str) -> Mangling:
        separator = parser.get(hierarchy, f"{key}-attribute-separator", fallback="/")
        return Mangling(
            flag(f"mangle-{key}-attribute", True),
            flag(f"{key}-attribute-order", False),
            (separator or "")[:20],
        )

    priority = parser.get(group, "net-naming-priority", fallback="")
    return Config(
        flag("traverse-hierarchy", True),
        mangling("refdes"),
        mangling("netname"),
        mangling("net"),
        priority == "netname-attribute",
    )
