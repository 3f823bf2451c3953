"""An IPC-D-356 file to a board."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX, too_many
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.importers.ipc_d356._header import UNITS_MM, Aliases, alias, units
from ohmtrail.importers.ipc_d356._parts import Pad, make_parts
from ohmtrail.importers.ipc_d356._record import Record, RecordError, read_record
from ohmtrail.netanalysis.board import Board, Unused, make_board

__all__ = ["read"]

#: Records that are pads or holes: blind vias, plated, surface, unplated.
_POINTS = frozenset(("307", "317", "327", "367"))
_OTHERS = {
    "378": "conductor",
    "379": "adjacency record",
    "389": "outline record",
    "390": "record of a part's value",
    "391": "record of a part's value",
}


@dataclass(slots=True)
class _File:
    """What the lines say."""

    records: list[tuple[str, Record]] = field(default_factory=list)
    aliases: Aliases = field(default_factory=Aliases)
    units: str | None = None
    notes: Counter[tuple[str, str]] = field(default_factory=Counter)


def read(path: Path) -> Board:
    """Read an IPC-D-356 or 356A netlist.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Board
        Pads as pins, placed in millimetres; parts without values or kinds.

    Raises
    ------
    ImporterError
        If the file cannot be read or a record does not keep to its columns.

    Notes
    -----
    O(length).  Vias and holes, conductors and outlines are counted, not read.
    """
    file = _lines(read_text(path), path)
    if not file.records:
        raise ParseError("found no test record, expected some (317...)", path)
    where, notes = path.name, file.notes
    scale = UNITS_MM[file.units or "CUST 0"]
    if file.units is None:
        notes["no UNITS, taken as CUST 0 (0.0001 inch)", where] += 1
    for name in file.aliases.clashes:
        notes["alias of the same name as another, kept apart", name] += 1
    literal = {record.net for _, record in file.records}
    pads: list[Pad] = []
    nets: dict[str, None] = {}
    for code, record in file.records:
        if record.net in file.aliases.names:
            net: str | None = file.aliases.names[record.net]
            if net in literal:
                net = f"{net}#{record.net.removeprefix('NNAME')}"
        else:
            net = None if record.net in ("", "N/C") else record.net
        if net is not None:
            nets.setdefault(net)
        if record.shift:
            notes["net or reference longer than its columns", record.ref] += 1
        if record.mask_column == 72:
            notes["solder mask in column 72, where the standard has 73", where] = 1
        if record.ref == "VIA" or not record.ref:
            notes["via" if record.ref else "hole or point without a part", where] += 1
        elif not record.pin or (code == "367" and net is None):
            what = "hole" if code == "367" else "point without a pin"
            notes[f"{what} of a part", record.ref] += 1
        else:
            x_mm = round(record.x * scale, 6)
            y_mm = round(-record.y * scale, 6) + 0.0
            pads.append(Pad(record.ref, record.pin, net, x_mm, y_mm, record.side))
    if len(pads) > PINS_MAX:
        raise too_many(path)
    parts = make_parts(pads, notes)
    if len(parts) > PARTS_MAX:
        raise too_many(path)
    used = {pin.net for part in parts for pin in part.pins}
    if idle := sum(net not in used for net in nets):
        notes["net without pins", where] += idle
    return make_board(
        name=path.name.removesuffix(".gz").rpartition(".")[0] or path.name,
        format="ipc_d356",
        version=file.units or "",
        parts=parts,
        net_order=(net for net in nets if net in used),
        unused=(Unused(what, at, n) for (what, at), n in notes.items()),
    )


def _lines(text: str, path: Path) -> _File:
    """Sort the lines of a file; only its first image is read."""
    file = _File()
    ended = other_image = False
    number, line = 0, ""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(lines, 1):
        code = line[:3]
        if ended:
            if line.strip():
                file.notes["line behind the end (999)", path.name] += 1
        elif code in _POINTS:
            if other_image:
                file.notes["record of a further image", path.name] += 1
                continue
            try:
                file.records.append((code, read_record(line)))
            except RecordError as error:
                raise ParseError(str(error), path, number) from None
        elif line[:1] in ("P", "C") and (len(line) == 1 or line[1] in " \t"):
            other_image = _parameter(line, file, path, number, other_image)
        elif code == "999":
            ended = True
        elif len(code) == 3 and code.isdigit() and code[0] in "03":
            what = "continuation record" if code[0] == "0" else _OTHERS.get(code)
            file.notes[what or f"record {code}", path.name] += 1
        elif line.strip():
            raise ParseError(
                f"found {line[:20].rstrip()!r}, expected a record (317...), P or C",
                path,
                number,
            )
    if not ended:
        raise ParseError("found end of file, expected 999", path, number - (not line))
    return file


def _parameter(line: str, file: _File, path: Path, number: int, other: bool) -> bool:
    """Take a line P or C; return whether records now are of a further image."""
    named = alias(line)
    if named is not None:
        file.aliases.add(*named)
        return other
    if line[0] == "C":
        return other
    stated = units(line)
    if stated is not None:
        if stated not in UNITS_MM:
            raise ParseError(
                f"found units {stated[:40]!r}, expected {', '.join(UNITS_MM)}",
                path,
                number,
            )
        if file.units not in (None, stated):
            raise ParseError(
                f"found units {stated!r}, but they were {file.units!r}", path, number
            )
        file.units = stated
    words = line[1:].upper().split()
    if words[:1] == ["IMAGE"]:
        return words[1:2] != ["PRIMARY"] and bool(file.records)
    return other
