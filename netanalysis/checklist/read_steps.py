"""Which steps of a checklist the board's own log has read already."""

from collections.abc import Iterable

from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.checklist.model import COLD, Step
from ohmtrail.netanalysis.diagnosis.epochs import timeline
from ohmtrail.netanalysis.diagnosis.log import Event, Log
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.probe_points import ProbePoint, find_point

__all__ = ["read_steps"]

_Key = tuple[str, str, str]


def read_steps(board: Board, steps: Iterable[Step], log: Log) -> dict[int, Event]:
    """Return the last reading of each step, by its number.

    Parameters
    ----------
    board : Board
        That both are about.
    steps : iterable of Step
        Numbered.
    log : Log
        Its readings count only if nothing was changed on the board since.

    Returns
    -------
    dict
        Steps that were not read are absent.  A pad is read at that pad; a step on a
        net, which may name a handy pad of it, is read by a row that names the net.
        A reading stands for the first step alone that asks for it: one that asks again
        (after the repair, before power) is to be read again.  What is read under power
        is always read anew.

    Notes
    -----
    O(steps + events).
    """
    times = timeline(log.events)
    last: dict[_Key, Event] = {}
    for one in times.placed:
        event = one.event
        if event.action != "measure" or event.value is None or event.part:
            continue
        if one.epoch.number == times.now.number and event.plus and event.minus:
            last[event.mode, _name(event.plus), _name(event.minus)] = event
    found: dict[int, Event] = {}
    used: set[_Key] = set()
    for step in steps:
        if step.mode is None or step.plus is None or step.minus is None:
            continue
        keys = {
            (step.mode, red, black)
            for red in _names(board, step.plus, step.plus_name)
            for black in _names(board, step.minus, step.minus_name)
        }
        read = [last[key] for key in keys - used if key in last]
        if read and step.phase == COLD and not keys & used:
            found[step.n] = max(read, key=lambda event: event.line)
        used |= keys
    return found


def _name(point: ProbePoint) -> str:
    return f"pin {point.pin.key}" if point.pin is not None else f"net {point.net}"


def _names(board: Board, point: str, name: str) -> tuple[str, ...]:
    """Return by which names of a log a step's point is read."""
    try:
        found = find_point(board, point)
    except NotOnBoardError:
        return ()
    if found.pin is not None and name == found.net:
        return f"pin {found.pin.key}", f"net {found.net}"
    return (_name(found),)
