"""A board from a Tango net list: parts in ``[ ]``, nets in ``( )``."""

from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._flat_netlist import FlatNetlist
from ohmtrail.importers._text import read_text
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]

_PART_LINES = 64


def _part(netlist: FlatNetlist, lines: list[str], begun: int) -> None:
    """Add a part: ref, pattern, device, value, then lines that are blank.

    Protel writes no device: there the third line is the value (its comment).
    """
    if not lines or not lines[0]:
        raise netlist.error("found a part without a ref, expected one", begun + 1)
    ref, pattern, device, value = (lines + [""] * 4)[:4]
    netlist.add_part(ref, begun, value or device, device, pattern)
    for offset, text in enumerate(lines[4:], begun + 5):
        if text:
            netlist.pass_over("fifth or later line of a part", offset)


def _net(netlist: FlatNetlist, lines: list[str], begun: int) -> None:
    if not lines or not lines[0]:
        raise netlist.error("found a net without a name, expected one", begun + 1)
    netlist.add_net(lines[0], begun)
    for number, text in enumerate(lines[1:], begun + 2):
        if text:
            # Protel 2 writes type and direction after the pin.
            ref, pin = netlist.split(text.split()[0], "-", number)
            netlist.add_pin(lines[0], ref, pin, number)


def read(path: Path) -> Board:
    """Read a Tango net list.

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
    O(size).  Nets are read after all parts, wherever these stand: only so can a pin
    ``A-1-2`` be told to be pin 2 of A-1.
    """
    netlist = FlatNetlist(path)
    nets: list[tuple[list[str], int]] = []
    lines = read_text(path).replace("\r\n", "\n").split("\n")
    opened, begun, ends = "", 0, 0
    found: list[str] = []
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if not opened:
            if text in ("[", "("):
                opened, begun, found = text, number, []
            elif text:
                raise ParseError(
                    f"found {text[:40]!r}, expected '[' or '('", path, number
                )
        elif text == ("]" if opened == "[" else ")"):
            if opened == "[":
                _part(netlist, found, begun)
            else:
                nets.append((found, begun))
                ends += len(found)
                netlist.bounded(ends, number)
            opened = ""
        elif text in ("[", "(", "]", ")") or (
            opened == "[" and len(found) >= _PART_LINES
        ):
            close = "]" if opened == "[" else ")"
            raise ParseError(
                f"found {text[:40]!r}, expected {close!r} for line {begun}",
                path,
                number,
            )
        else:
            found.append(text)
    if opened:
        close = "]" if opened == "[" else ")"
        raise ParseError(
            f"found end of file, expected {close!r} for line {begun}", path, len(lines)
        )
    for found, begun in nets:
        _net(netlist, found, begun)
    return netlist.board("tango", "")
