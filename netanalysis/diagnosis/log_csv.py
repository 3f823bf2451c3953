"""Write a bench log as CSV: what `log_text` reads back to the same events."""

import csv
import io
import re
from collections.abc import Iterable

from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.diagnosis.log import COLUMNS, Event, Log
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.probe_points import ProbePoint, find_point

__all__ = ["log_csv", "point_text"]

_FEED = re.compile(r"\r\n|\r|\n")


def point_text(board: Board, point: ProbePoint) -> str:
    """Return a point as the log takes it, with ``pin:`` or ``net:`` where in doubt."""
    text = str(point)
    try:
        if find_point(board, text) == point:
            return text
    except NotOnBoardError:
        pass
    return f"{'net' if point.pin is None else 'pin'}:{text}"


def _cells(event: Event, extra_columns: Iterable[str], board: Board) -> list[str]:
    extra = dict(event.extra)
    points = [
        point_text(board, point) if point is not None else ""
        for point in (event.plus, event.minus)
    ]
    return [
        event.when,
        event.action,
        event.part or "",
        event.mode,
        *points,
        event.text,
        event.note,
        *(extra.get(name, "") for name in extra_columns),
    ]


def log_csv(log: Log, board: Board, *, keep_lines: bool = False) -> str:
    """Return the log as CSV text, comma separated, a header first.

    Parameters
    ----------
    log : Log
        The events; their ``text`` is what stands under value.
    board : Board
        The board that they were read for.
    keep_lines : bool
        Blank lines are put in so that every row begins on the line that its event
        names: what is said of a line then holds for both files.
    """
    made = [_row((*COLUMNS, *log.extra_columns))]
    line = 2
    for event in log.events:
        if keep_lines and event.line > line:
            made.append("\n" * (event.line - line))
            line = event.line
        made.append(_row(_cells(event, log.extra_columns, board)))
        line += len(_FEED.findall(made[-1]))
    return "".join(made)


def _row(cells: Iterable[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()
