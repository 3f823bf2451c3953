"""A board from a PADS net list: sections ``*PART*`` and ``*NET*``."""

import re
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._flat_netlist import FlatNetlist
from ohmtrail.importers._text import read_text
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]

_HEADER = re.compile(r"(?:!PADS-[^!]*!|\*PADS[^*]*\*)", re.I)
_WORDS = 1_000_001
#: Widths that may follow the name of a signal.
_RULE = re.compile(r"(?:\s+[\d.]+)+$")
_SECTION = re.compile(r"\*([A-Z0-9_ -]+)\*\s*(.*)", re.I)


def _part(netlist: FlatNetlist, line: str, number: int) -> None:
    """Add ``R1 TYPE@DECAL`` or ``R1 DECAL``; a decal may hold blanks."""
    ref, *rest = line.split(None, 1)
    device, mark, decal = (rest[0].strip() if rest else "").partition("@")
    if mark:
        netlist.add_part(ref, number, "", device, decal)
    else:
        netlist.add_part(ref, number, "", "", device)


def read(path: Path) -> Board:
    """Read a PADS net list.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        If it cannot be read or is no such list.

    Notes
    -----
    O(size).  The format holds no values; lepton-netlist writes names in capitals.
    """
    netlist = FlatNetlist(path)
    lines = read_text(path).replace("\r\n", "\n").split("\n")
    section, net, header = "", "", ""
    sections: set[str] = set()
    pins: list[tuple[str, str, int]] = []
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if not text:
            continue
        if not header:
            match = _HEADER.match(text)
            if match is None:
                raise ParseError(
                    f"found {text[:40]!r}, expected '!PADS-...!' or '*PADS...*'",
                    path,
                    number,
                )
            header = match[0].strip("!*")
            continue
        match = _SECTION.match(text)
        if match is None:
            if section == "PART":
                _part(netlist, text, number)
            elif section == "SIGNAL":
                pins += [(net, word, number) for word in text.split(None, _WORDS)]
                netlist.bounded(len(pins), number)
            elif section in ("", "NET"):
                raise ParseError(
                    f"found {text[:40]!r}, expected '*PART*', '*NET*' or '*SIGNAL*'",
                    path,
                    number,
                )
            else:
                netlist.pass_over(f"line of section {section[:20]}", number)
            continue
        if match[1].strip().upper() == "REMARK":
            continue  # a comment: the section goes on
        section = match[1].strip().upper()
        if section == "SIGNAL":
            # KiCad writes names with blanks as they are.
            net = _RULE.sub("", match[2])
            if not net:
                raise ParseError(
                    "found '*SIGNAL*', expected a name after it", path, number
                )
            netlist.add_net(net, number)
            if net != match[2]:
                netlist.pass_over("rule after the name of a signal", number)
        elif section == "END":
            break
        sections.add(section)
    for net, word, number in pins:
        ref, pin = netlist.split(word, ".", number)
        netlist.add_pin(net, ref, pin, number)
    if not sections & {"PART", "NET", "SIGNAL"}:
        raise ParseError("found no section *PART* or *NET*, expected one", path)
    return netlist.board("pads_netlist", header)
