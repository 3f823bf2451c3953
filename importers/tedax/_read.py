"""A board from the netlist block of a tEDAx file."""

import re
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._flat_netlist import FlatNetlist
from ohmtrail.importers._text import read_text
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]

_WORD = re.compile(r"(?:[^\s\\]|\\.)+")
_ESCAPE = re.compile(r"\\(.)")
_ESCAPED = {"n": "\n", "r": "\r", "t": "\t"}
#: Line of the netlist block -> how many words follow it at least.
_WANTED = {
    "conn": 3,
    "footprint": 1,
    "device": 1,
    "value": 1,
    "pinname": 3,
    "comptag": 2,
}


def _words(line: str) -> list[str]:
    r"""Cut a line at blanks; a backslash takes the meaning from what follows.

    >>> _words("value A3 .options\\ TEMP=25")
    ['value', 'A3', '.options TEMP=25']
    """
    if "\\" not in line:
        return line.split()
    return [
        _ESCAPE.sub(lambda match: _ESCAPED.get(match[1], match[1]), word)
        for word in _WORD.findall(line)
    ]


def read(path: Path) -> Board:
    """Read a tEDAx net list.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        If it cannot be read or holds no netlist block.

    Notes
    -----
    O(size).  Further blocks (footprints, drawings) are passed over and counted.
    """
    lines = read_text(path).replace("\r\n", "\n").split("\n")
    netlist = FlatNetlist(path)
    version = ""
    block, begun, found = "", 0, False
    attributes: dict[str, dict[str, tuple[str, int]]] = {}
    names: list[tuple[str, str, str, int]] = []
    pins: list[tuple[str, str, str, int]] = []
    for number, line in enumerate(lines, 1):
        words = _words(line)
        if not words or words[0].startswith("#"):
            continue
        keyword = words[0]
        if not version:
            if keyword != "tEDAx" or len(words) < 2:
                raise ParseError(
                    f"found {line.strip()[:40]!r}, expected 'tEDAx v1'", path, number
                )
            version = words[1]
            if version != "v1":
                raise ParseError(
                    f"found tEDAx {version[:20]}, expected v1", path, number
                )
        elif keyword == "begin":
            if block:
                raise ParseError(
                    f"found 'begin', expected 'end {block}' for line {begun}",
                    path,
                    number,
                )
            block, begun = words[1] if len(words) > 1 else "?", number
            if block != "netlist":
                netlist.pass_over(f"block {block[:20]}", number)
            elif found:
                raise ParseError("found a second netlist, expected one", path, number)
            found = found or block == "netlist"
        elif keyword == "end":
            if len(words) < 2 or words[1] != block or not block:
                wanted = f"'end {block}'" if block else "'begin'"
                raise ParseError(
                    f"found {line.strip()[:40]!r}, expected {wanted}", path, number
                )
            block = ""
        elif not block:
            raise ParseError(
                f"found {line.strip()[:40]!r}, expected 'begin'", path, number
            )
        elif block != "netlist":
            continue
        elif keyword not in _WANTED:
            netlist.pass_over(f"line {keyword[:20]!r} of a net list", number)
        elif len(words) - 1 < _WANTED[keyword]:
            raise ParseError(
                f"found {line.strip()[:40]!r}, expected {_WANTED[keyword]} words "
                f"after {keyword!r}",
                path,
                number,
            )
        elif keyword == "conn":
            pins.append((words[1], words[2], words[3], number))
            netlist.bounded(len(pins), number)
        elif keyword == "pinname":
            names.append((words[1], words[2], words[3], number))
            netlist.bounded(len(names), number)
        elif keyword == "comptag":
            text = words[3] if len(words) > 3 else ""
            attributes.setdefault(words[1], {})["tag " + words[2]] = (text, number)
        else:
            text = " ".join(words[2:])
            text = "" if text == "-" else text
            attributes.setdefault(words[1], {})[keyword] = (text, number)
    if block:
        raise ParseError(
            f"found end of file, expected 'end {block}' for line {begun}",
            path,
            len(lines),
        )
    if not found:
        raise ParseError("found no block 'netlist', expected one", path)
    for ref, has in attributes.items():
        first = min(number for _, number in has.values())
        netlist.add_part(
            ref,
            first,
            *(has.get(key, ("", 0))[0] for key in ("value", "device", "footprint")),
        )
        fields = netlist.entry(ref, first).fields
        for key, (text, _) in has.items():
            if key.startswith("tag "):
                fields[key[4:]] = text
    for net, ref, pin, number in pins:
        netlist.add_pin(net, ref, pin, number)
    for ref, pin, name, number in names:
        known = netlist.entry(ref, number).pins.get(pin)
        if known is None:
            netlist.pass_over("name of a pin that is in no net", number)
        else:
            known.name = name
    return netlist.board("tedax", version)
