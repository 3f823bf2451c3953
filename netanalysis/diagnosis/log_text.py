"""Make events from the text of a bench log: nothing guessed, every doubt an error.

The text is CSV (RFC 4180) as people type it and spreadsheets save it: separated by
commas, semicolons or tabs, with or without byte order mark, lines ended any way.
"""

import csv
import io
import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.diagnosis.epochs import Tracker
from ohmtrail.netanalysis.diagnosis.log import COLUMNS, Event, Log, LogError
from ohmtrail.netanalysis.diagnosis.log_row import Names, row_event, shown

__all__ = ["BYTES_MAX", "ROWS_MAX", "decode_log", "read_log"]

#: A log beyond this is none (a long repair has some hundred rows).
BYTES_MAX = 32 * 1024 * 1024
ROWS_MAX = 100_000
_LINES_MAX = 1_000_000
_COLUMNS_MAX = 200

_NEEDED = ("action", "part", "mode", "plus", "minus", "value")
_HEADER = ",".join(COLUMNS)
_DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")


def decode_log(data: bytes, name: str = "") -> str:
    """Return the text of a log.

    Raises
    ------
    LogError
        If there are more than `BYTES_MAX` bytes, or they are no UTF-8 text.
    """
    if len(data) > BYTES_MAX:
        limit = BYTES_MAX // 1024 // 1024
        raise LogError(f"found more than {limit} MB, expected a bench log", name)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise LogError("found UTF-16, expected UTF-8: save it as CSV UTF-8", name)
    at = data.find(b"\0")
    if at < 0:
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            # The codec drops a byte order mark before it counts.
            skipped = 3 if data.startswith(b"\xef\xbb\xbf") else 0
            at = error.start + skipped
    what = f"the byte 0x{data[at]:02x}"
    line = len(re.findall(rb"\r\n|\r|\n", data[:at])) + 1
    raise LogError(
        f"found {what}, expected UTF-8 text: save it as CSV UTF-8", name, line
    )


def _rows(text: str, delimiter: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Give each row that is not blank with the line on which it begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    begun = 1
    try:
        for row in reader:
            if len(row) > _COLUMNS_MAX or begun > _LINES_MAX:
                many = (
                    f"{_COLUMNS_MAX} columns"
                    if len(row) > _COLUMNS_MAX
                    else f"{_LINES_MAX} lines"
                )
                raise LogError(
                    f"found more than {many}, expected a bench log", name, begun
                )
            cells = [cell.strip() for cell in row]
            if any(cells):
                yield begun, cells
            begun = reader.line_num + 1
    except csv.Error as error:
        raise LogError(
            f"found a damaged row ({error}), expected quotes in pairs", name, begun
        ) from None


def _known(cells: list[str]) -> list[str]:
    return [cell.casefold() for cell in cells if cell.casefold() in COLUMNS]


def _delimiter(text: str) -> str:
    """Return what separates the cells of the header, a comma where none does."""
    found = re.search(r"\S[^\r\n]{0,4000}", text)
    first = found[0] if found is not None else ""
    counts = {
        one: len(_known([cell.strip(' "') for cell in first.split(one)]))
        for one in (",", ";", "\t")
    }
    return max(counts, key=lambda one: counts[one])


def _columns(cells: list[str], name: str, line: int) -> list[str]:
    """Return the column names, the known ones in lower case."""
    known = _known(cells)
    if not known:
        raise LogError(
            f"found {shown(' '.join(cells))}, expected a header: {_HEADER}", name, line
        )
    lacking = [one for one in _NEEDED if one not in known]
    if lacking:
        raise LogError(
            f"found no column {' or '.join(lacking)}, expected the header {_HEADER}",
            name,
            line,
        )
    columns = [c.casefold() if c.casefold() in COLUMNS else c for c in cells]
    seen: set[str] = set()
    for one in columns:
        if one and one in seen:
            raise LogError(
                f"found the column {shown(one)} twice, expected it once", name, line
            )
        seen.add(one)
    return columns


class _DecimalSign:
    """Holds a sheet to one decimal sign, as the spreadsheet that saved it did.

    Only a sheet separated by semicolons may use the comma: a spreadsheet writes
    semicolons where the comma is the decimal sign.
    """

    def __init__(self, delimiter: str) -> None:
        self._comma_allowed = delimiter == ";"
        self._first: tuple[str, int] | None = None

    def point(self, text: str, line: int) -> str:
        """Return a value with a decimal point."""
        if not self._comma_allowed:
            return text
        found = _DECIMAL_COMMA.sub(".", text)
        sign = "," if found != text else "." if re.search(r"[0-9]\.[0-9]", text) else ""
        if sign:
            first = self._first = self._first or (sign, line)
            if first[0] != sign:
                raise LogError(
                    f"found {shown(text)}, expected one decimal sign in the sheet: "
                    f"line {first[1]} uses {first[0]!r}"
                )
        return found


def _cells(columns: list[str], cells: list[str]) -> dict[str, str]:
    """Return the cells by column; a cell that belongs to none is an error."""
    spare = [cell for cell in cells[len(columns) :] if cell]
    spare += [c for c, n in zip(cells, columns, strict=False) if c and not n]
    if spare:
        raise LogError(
            f"found {shown(spare[0])} beyond the {len(columns)} columns, expected "
            "quotes around a text that holds the separator"
        )
    return dict(zip(columns, cells, strict=False))


def read_log(text: str, board: Board, name: str = "") -> Log:
    """Read a bench log.

    Parameters
    ----------
    text : str
        The whole file; see `decode_log`.
    board : Board
        What refs, pads and nets are checked against.
    name : str
        What to call the file in an error.

    Returns
    -------
    Log
        Its events are in the order of the rows; ``when`` is never sorted by.

    Raises
    ------
    LogError
        With the line: no header; a row that the rules of its action do not allow; a
        value that does not fit the mode; a point or part that is not on the board
        (with the nearest names); what cannot have happened in this order; more than
        `ROWS_MAX` rows.

    Notes
    -----
    O(rows + distinct names * nets).
    """
    text = text.removeprefix("\N{BYTE ORDER MARK}")
    delimiter = _delimiter(text)
    rows = _rows(text, delimiter, name)
    line, header = next(rows, (1, []))
    if not header:
        raise LogError(f"found nothing, expected a header: {_HEADER}", name, line)
    columns = _columns(header, name, line)
    extra = tuple(one for one in columns if one and one not in COLUMNS)
    sign, names, tracker = _DecimalSign(delimiter), Names(board), Tracker()
    events: list[Event] = []
    doubts: list[tuple[int, str]] = []
    for line, cells in rows:
        if len(events) >= ROWS_MAX:
            raise LogError(
                f"found more than {ROWS_MAX} rows, expected a bench log", name, line
            )
        try:
            row = _cells(columns, cells)
            value = sign.point(row.get("value", ""), line)
            event = row_event(line, row, value, extra, names)
            placed = tracker.take(event)
        except LogError as error:
            raise LogError(error.message, name, line) from None
        events.append(event)
        if event.action == "lift" and not names.fitted(event.part):
            doubts.append((line, f"{event.part} is lifted; the file has it not fitted"))
        if event.mode == "drop" and placed.injection is None:
            doubts.append((line, "a drop is read with no injection in the log"))
        red, black = event.nets
        if red is not None and red == black and not event.off_the_board:
            doubts.append((line, f"both probes are on {red}: this tells of no part"))
    return Log(name, tuple(events), extra, tuple(doubts))
