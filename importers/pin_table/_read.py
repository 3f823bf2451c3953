"""Read the typed table into a board: nothing guessed, every doubt an error."""

import csv
import difflib
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board
from ohmtrail.netanalysis.circuit import KINDS

__all__ = ["COLUMNS", "read"]

#: The columns that mean something here; the first three must be there.
COLUMNS = ("ref", "pin", "net", "name", "value", "kind")
_NEEDED = COLUMNS[:3]
#: Words that people write for "not connected" and that would join such pins.
_NOT_CONNECTED = {"nc", "n/c", "n.c.", "-", "--", "?", "none", "no connect"}


@dataclass(slots=True)
class _Pin:
    net: str
    line: int
    name: str = ""


@dataclass(slots=True)
class _Part:
    #: "value" and "kind": text and the line that says so.
    stated: dict[str, tuple[str, int]] = field(default_factory=dict)
    pins: dict[str, _Pin] = field(default_factory=dict)
    fields: dict[str, list[str]] = field(default_factory=dict)


def _rows(text: str, path: Path) -> Iterator[tuple[int, list[str]]]:
    """Give the rows with their line number, comments and blank rows left out.

    The first row given is the header; it decides the delimiter.
    """
    lines = text.splitlines(keepends=True)
    start = 0
    while start < len(lines):
        line = lines[start].strip()
        if line and not line.lstrip('"').startswith("#"):
            break
        start += 1
    if start == len(lines):
        raise ParseError("found no header, expected ref,pin,net", path, start or 1)
    delimiter = max("\t;,", key=lines[start].count)
    source = io.StringIO("".join(lines[start:]), newline="")
    reader = csv.reader(source, delimiter=delimiter, strict=True)
    begun = start + 1
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if any(cells):
                yield begun, cells
            begun = start + reader.line_num + 1
    except csv.Error as error:
        raise ParseError(f"found a damaged row ({error})", path, begun) from None


def _header(cells: list[str], path: Path, line: int) -> list[str]:
    names = [c if c.lower() not in COLUMNS else c.lower() for c in cells]
    lacking = [name for name in _NEEDED if name not in names]
    if lacking:
        raise ParseError(
            f"found the columns {', '.join(c for c in cells if c)}; expected ref, "
            f"pin and net ({' and '.join(lacking)} not there)",
            path,
            line,
        )
    for name in names:
        if name and names.count(name) > 1:
            raise ParseError(f"found the column {name} twice", path, line)
    return names


def _kind(text: str, path: Path, line: int) -> str:
    kind = text.lower()
    if kind in KINDS:
        return kind
    near = difflib.get_close_matches(kind, KINDS, 1)
    hint = f"; did you mean {near[0]}?" if near else ""
    raise ParseError(
        f"found the kind {text!r}, expected one of {', '.join(KINDS)}{hint}", path, line
    )


def _state(part: _Part, ref: str, what: str, text: str, path: Path, line: int) -> None:
    """Take a part's value or kind, which may stand in any of its rows."""
    if not text:
        return
    before, where = part.stated.setdefault(what, (text, line))
    if before != text:
        raise ParseError(
            f"found {what} {text!r} for {ref}, but line {where} says {before!r}",
            path,
            line,
        )


def _pin(part: _Part, row: dict[str, str], path: Path, line: int) -> None:
    key = f"{row['ref']}.{row['pin']}"
    net, name = row["net"], row.get("name", "")
    pin = part.pins.setdefault(row["pin"], _Pin(net, line, name))
    if pin.net != net:
        said = f"net {pin.net!r}" if pin.net else "no net"
        now = f"net {net!r}" if net else "no net"
        raise ParseError(
            f"found pin {key} in {now}, but line {pin.line} says {said}", path, line
        )
    if name and pin.name and pin.name != name:
        raise ParseError(
            f"found name {name!r} for pin {key}, but line {pin.line} says {pin.name!r}",
            path,
            line,
        )
    pin.name = pin.name or name


def _take(parts: dict[str, _Part], row: dict[str, str], path: Path, line: int) -> None:
    if not row["ref"]:
        raise ParseError("found a row without a ref", path, line)
    part = parts.setdefault(row["ref"], _Part())
    if row["pin"]:
        _pin(part, row, path, line)
    elif row["net"] or row.get("name"):
        raise ParseError(
            f"found a row of {row['ref']} without a pin, expected one", path, line
        )
    kind = row.get("kind", "")
    _state(part, row["ref"], "value", row.get("value", ""), path, line)
    _state(
        part, row["ref"], "kind", _kind(kind, path, line) if kind else "", path, line
    )
    for name, text in row.items():
        if name and name not in COLUMNS and text:
            texts = part.fields.setdefault(name, [])
            if text not in texts:
                texts.append(text)


def _finished(ref: str, part: _Part) -> Part:
    return Part(
        ref=ref,
        value=part.stated.get("value", ("", 0))[0],
        pins=tuple(
            Pin(ref, number, pin.net or None, pin.name)
            for number, pin in part.pins.items()
        ),
        fields=tuple((name, "; ".join(texts)) for name, texts in part.fields.items()),
        stated_kind=part.stated.get("kind", ("", 0))[0],
    )


def read(path: Path) -> Board:
    """Read a typed table.

    Parameters
    ----------
    path : Path
        CSV or TSV, told apart by the header (semicolons too, which spreadsheets
        write where the comma is the decimal sign).

    Raises
    ------
    ImporterError
        With the line: a column missing or twice, a cell outside the columns, a
        row without ref, a pin in two nets, two values or kinds for one part, an
        unknown kind, a damaged quote, no rows.

    Notes
    -----
    Rows whose first cell begins with ``#`` are comments.  A row may leave the pin
    out to state value and kind alone.  An empty net means a pin in no net.  Further
    columns become fields of the part.
    """
    rows = _rows(read_text(path), path)
    line, cells = next(rows, (1, []))
    if not cells:
        raise ParseError("found no header, expected ref,pin,net", path, line)
    names = _header(cells, path, line)
    parts: dict[str, _Part] = {}
    for line, cells in rows:
        spare = [cell for cell in cells[len(names) :] if cell]
        spare += [c for c, n in zip(cells, names, strict=False) if c and not n]
        row = dict.fromkeys(names, "") | dict(zip(names, cells, strict=False))
        is_data = names[0] != "ref" and row["ref"] and row["pin"]
        if cells[0].startswith("#") and not is_data:
            continue
        if spare:
            raise ParseError(
                f"found {spare[0]!r} outside the {len(names)} columns", path, line
            )
        _take(parts, row, path, line)
    if not parts:
        raise ParseError("found a header and no rows", path, line)
    board = make_board(
        name=path.name.split(".", 1)[0],
        format="pin_table",
        version="",
        parts=(_finished(ref, part) for ref, part in parts.items()),
    )
    return _with_doubts(board)


def _with_doubts(board: Board) -> Board:
    """Report nets whose name says that their pins are joined to nothing."""
    doubts = tuple(
        Unused("net that joins pins though its name says not connected", net.name)
        for net in board.nets
        if net.name.casefold() in _NOT_CONNECTED and len(net.pins) > 1
    )
    if not doubts:
        return board
    from dataclasses import replace

    return replace(board, unused=board.unused + doubts)
