"""Read the typed table into a board: nothing guessed, every doubt an error."""

import csv
import difflib
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from sys import intern

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX, too_many
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board
from ohmtrail.netanalysis.circuit import KINDS

__all__ = ["COLUMNS", "read"]

#: The columns that mean something here; the first three must be there.
COLUMNS = ("ref", "pin", "net", "name", "value", "kind")
_NEEDED = COLUMNS[:3]
_LINES_MAX = 3_000_000
#: Words that people write for "not connected" and that would join such pins.
_NOT_CONNECTED = {"nc", "n/c", "n.c.", "-", "--", "?", "none", "no connect"}


@dataclass(slots=True)
class _Part:
    #: Number -> net, name and the line that says so.
    pins: dict[str, tuple[str, str, int]] = field(default_factory=dict)
    #: "value" and "kind": text and the line that says so.
    stated: dict[str, tuple[str, int]] = field(default_factory=dict)
    fields: dict[str, dict[str, None]] | None = None


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where in a row the cells stand; -1 (a cell that is always empty) for none."""

    width: int
    ref: int
    pin: int
    net: int
    name: int
    value: int
    kind: int
    #: Columns that become fields of the part.
    fields: tuple[tuple[int, str], ...]
    #: Columns without a name, in which nothing may stand.
    nameless: tuple[int, ...]


def _rows(text: str, path: Path) -> Iterator[tuple[int, list[str]]]:
    """Give the rows with their line number, comments and blank rows left out.

    The first row given is the header; it decides the delimiter.
    """
    lines = io.StringIO(text, newline="")
    start, header, offset = 0, "", 0
    for header in lines:
        line = header.strip()
        if line and not line.lstrip('"').startswith("#"):
            break
        start += 1
        offset += len(header)
    else:
        raise ParseError("found no header, expected ref,pin,net", path, start or 1)
    delimiter = max("\t;,", key=header.count)
    lines.seek(offset)
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    begun = start + 1
    try:
        for row in reader:
            cells = [*map(str.strip, row)]
            if any(cells):
                yield begun, cells
            begun = start + reader.line_num + 1
            if begun > _LINES_MAX:
                raise ParseError(
                    f"found more than {_LINES_MAX} lines, expected a board", path, begun
                )
    except csv.Error as error:
        raise ParseError(f"found a damaged row ({error})", path, begun) from None


def _header(cells: list[str], path: Path, line: int) -> _Columns:
    names = [c if c.lower() not in COLUMNS else c.lower() for c in cells]
    lacking = [name for name in _NEEDED if name not in names]
    if lacking:
        raise ParseError(
            f"found the columns {', '.join(c for c in cells if c)}; expected ref, "
            f"pin and net ({' and '.join(lacking)} not there)",
            path,
            line,
        )
    places: dict[str, int] = {}
    for place, name in enumerate(names):
        if name and places.setdefault(name, place) != place:
            raise ParseError(f"found the column {name} twice", path, line)
    return _Columns(
        width=len(names),
        ref=places["ref"],
        pin=places["pin"],
        net=places["net"],
        name=places.get("name", -1),
        value=places.get("value", -1),
        kind=places.get("kind", -1),
        fields=tuple((at, name) for name, at in places.items() if name not in COLUMNS),
        nameless=tuple(at for at, name in enumerate(names) if not name),
    )


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
    before, where = part.stated.setdefault(what, (text, line))
    if before != text:
        raise ParseError(
            f"found {what} {text!r} for {ref}, but line {where} says {before!r}",
            path,
            line,
        )


def _differs(
    key: str, net: str, name: str, known: tuple[str, str, int], path: Path, line: int
) -> ParseError:
    """Return the error for a pin that two lines put in two nets or name twice."""
    if known[0] != net:
        said = f"net {known[0]!r}" if known[0] else "no net"
        now = f"net {net!r}" if net else "no net"
        return ParseError(
            f"found pin {key} in {now}, but line {known[2]} says {said}", path, line
        )
    return ParseError(
        f"found name {name!r} for pin {key}, but line {known[2]} says {known[1]!r}",
        path,
        line,
    )


def _take_fields(
    part: _Part, fields: tuple[tuple[int, str], ...], cells: list[str]
) -> None:
    for at, name in fields:
        text = cells[at]
        if text:
            if part.fields is None:
                part.fields = {}
            part.fields.setdefault(name, {}).setdefault(text)


def _in_columns(cells: list[str], columns: _Columns, path: Path, line: int) -> None:
    """Bring a row to the header's width and one empty cell more.

    Raises
    ------
    ParseError
        If something stands beside the columns.
    """
    spare = [cell for cell in cells[columns.width :] if cell]
    spare += [cells[at] for at in columns.nameless if at < len(cells) and cells[at]]
    if spare:
        raise ParseError(
            f"found {spare[0]!r} outside the {columns.width} columns", path, line
        )
    del cells[columns.width :]
    cells += [""] * (columns.width + 1 - len(cells))


def _is_comment(cells: list[str], columns: _Columns) -> bool:
    """Whether a row that begins with ``#`` is none of a part of that name."""
    has_ref, has_pin = (
        at < len(cells) and cells[at] for at in (columns.ref, columns.pin)
    )
    return columns.ref == 0 or not has_ref or not has_pin


def _parts(
    rows: Iterator[tuple[int, list[str]]], columns: _Columns, path: Path
) -> dict[str, _Part]:
    """Collect the rows, a part's together."""
    parts: dict[str, _Part] = {}
    plain = columns.width + 1 if not columns.nameless else 0
    pins = 0
    for line, cells in rows:
        if cells[0][:1] == "#" and _is_comment(cells, columns):
            continue
        cells.append("")
        if len(cells) != plain:
            _in_columns(cells, columns, path, line)
        ref, number, net = cells[columns.ref], cells[columns.pin], cells[columns.net]
        if not ref:
            raise ParseError("found a row without a ref", path, line)
        part = parts.get(ref)
        if part is None:
            part = parts[ref] = _Part()
            if len(parts) > PARTS_MAX:
                raise too_many(path, line)
        name, value, kind = (
            cells[columns.name],
            cells[columns.value],
            cells[columns.kind],
        )
        if number:
            known = part.pins.get(number)
            if known is None:
                part.pins[number] = (intern(net), name, line)
                pins += 1
                if pins > PINS_MAX:
                    raise too_many(path, line)
            elif known[0] != net or (name and known[1] and name != known[1]):
                raise _differs(f"{ref}.{number}", net, name, known, path, line)
            elif name and not known[1]:
                part.pins[number] = (net, name, known[2])
        elif net or name:
            raise ParseError(
                f"found a row of {ref} without a pin, expected one", path, line
            )
        if value:
            _state(part, ref, "value", value, path, line)
        if kind:
            _state(part, ref, "kind", _kind(kind, path, line), path, line)
        if columns.fields:
            _take_fields(part, columns.fields, cells)
    return parts


def _finished(parts: dict[str, _Part]) -> Iterator[Part]:
    """Give the parts, and forget what they were made of."""
    for ref in list(parts):
        part = parts.pop(ref)
        yield Part(
            ref=ref,
            value=part.stated.get("value", ("", 0))[0],
            pins=tuple(
                Pin(ref, number, net or None, name)
                for number, (net, name, _) in part.pins.items()
            ),
            fields=tuple(
                (name, "; ".join(texts)) for name, texts in (part.fields or {}).items()
            ),
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
        unknown kind, a damaged quote, no rows, more parts than any board has.

    Notes
    -----
    Rows whose first cell begins with ``#`` are comments.  A row may leave the pin
    out to state value and kind alone.  An empty net means a pin in no net.  Further
    columns become fields of the part.  O(size).
    """
    rows = _rows(read_text(path), path)
    line, cells = next(rows, (1, []))
    if not cells:
        raise ParseError("found no header, expected ref,pin,net", path, line)
    parts = _parts(rows, _header(cells, path, line), path)
    if not parts:
        raise ParseError("found a header and no rows", path, line)
    board = make_board(
        name=path.name.split(".", 1)[0],
        format="pin_table",
        version="",
        parts=_finished(parts),
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
