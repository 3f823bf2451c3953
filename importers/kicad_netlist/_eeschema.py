"""The text form before KiCad 4: "EESchema Netlist Version 1.1".

A part begins ``( timestamp footprint ref value {Lib=device}``; each pin is a
line ``( number net )``; a lone bracket ends the part.  The net ``?`` means none.
"""

import re
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.netanalysis.board import Board, Part, Pin, make_board

__all__ = ["read_eeschema"]

_HEADER = re.compile(r"\s*(?:#|\(\s*\{)\s*EESchema Netlist Version (\S+)")
_PART = re.compile(r"\(\s*(\S+)\s+(\S+)\s+(\S+)\s*(.*)")
_PIN = re.compile(r"\(\s*(\S+)\s+(\S+)\s*\)\s*(?:\{.*)?")
_LIBRARY = re.compile(r"\s*\{Lib=(.*)\}\s*")


def _part(words: re.Match[str], pins: dict[str, str], fields: tuple[str, str]) -> Part:
    value, library = fields
    ref = words[3]
    return Part(
        ref=ref,
        value="" if value == "~" else value,
        pins=tuple(
            Pin(ref, number, None if net == "?" else net)
            for number, net in pins.items()
        ),
        library=library,
        footprint="" if words[2] == "$noname" else words[2],
        sheet="/",
    )


def read_eeschema(text: str, path: Path) -> Board:
    """Read the old text form.

    Parameters
    ----------
    text : str
        The whole file.
    path : Path
        For messages and the board's name.

    Raises
    ------
    ParseError
        With the line: something that is neither part nor pin, a pin or part
        twice, end of file within a part.

    Notes
    -----
    What follows the parts (allowed footprints, the same nets once more) says
    nothing new and is passed over.
    """
    header = _HEADER.match(text)
    if header is None:
        raise ParseError("expected '# EESchema Netlist Version'", path, 1)
    parts: dict[str, Part] = {}
    begun: dict[str, int] = {}
    words: re.Match[str] | None = None
    pins: dict[str, str] = {}
    fields = ("", "")
    bracket = header[0].lstrip().startswith("(")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not lines[-1]:
        lines.pop()
    for n, line in enumerate(lines[1:], 2):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        if not bracket:
            if line != "(":
                raise ParseError(f"found {line[:40]!r}, expected '('", path, n)
            bracket = True
        elif words is None:
            if line.startswith(")"):
                break
            words = _PART.fullmatch(line)
            if words is None:
                raise ParseError(
                    f"found {line[:40]!r}, expected '( stamp footprint ref value'",
                    path,
                    n,
                )
            if words[3] in parts:
                raise ParseError(
                    f"found {words[3]} again, first in line {begun[words[3]]}", path, n
                )
            begun[words[3]] = n
            tail = words[4]
            library = _LIBRARY.search(tail)
            fields = (
                (tail[: library.start()] if library else tail).strip(),
                library[1].strip() if library else "",
            )
            pins = {}
        elif line == ")":
            parts[words[3]] = _part(words, pins, fields)
            words = None
        else:
            pin = _PIN.fullmatch(line)
            if pin is None:
                raise ParseError(
                    f"found {line[:40]!r}, expected '( pin net )' or ')' for "
                    f"{words[3]} of line {begun[words[3]]}",
                    path,
                    n,
                )
            if pins.setdefault(pin[1], pin[2]) != pin[2]:
                raise ParseError(
                    f"found pin {words[3]}.{pin[1]} in net {pin[2]!r}, but it is "
                    f"in net {pins[pin[1]]!r}",
                    path,
                    n,
                )
    else:
        raise ParseError("found end of file, expected ')'", path, len(lines))
    return make_board(
        name=path.name.split(".", 1)[0],
        format="kicad_netlist",
        version=header[1],
        parts=parts.values(),
    )
