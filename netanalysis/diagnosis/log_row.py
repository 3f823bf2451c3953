"""One row of a bench log: what its action asks for, and nothing else in it."""

from collections.abc import Mapping
from dataclasses import replace

from ohmtrail.netanalysis.board import Board, Net
from ohmtrail.netanalysis.diagnosis.log import (
    ACTIONS,
    FITS,
    LOOKS,
    MODES,
    POWERS,
    Event,
    LogError,
)
from ohmtrail.netanalysis.diagnosis.reading_text import (
    expected_in,
    parse_injection,
    parse_reading,
)
from ohmtrail.netanalysis.nearest import NotOnBoardError, nearest
from ohmtrail.netanalysis.probe_points import ProbePoint, find_part, find_point

__all__ = ["Names", "row_event", "shown"]

#: No ref, pad or net is longer.
_NAME_MAX = 300
_SHOWN_MAX = 40

#: Which cells each action takes: "!" must be there, "?" may; the others stay empty.
_TAKES = {
    "look": {"part": "!", "value": "!"},
    "measure": {"part": "?", "mode": "!", "plus": "!", "minus": "!", "value": "!"},
    "lift": {"part": "!"},
    "fit": {"part": "!", "value": "!"},
    "inject": {"part": "?", "plus": "!", "minus": "!", "value": "!"},
    "power": {"plus": "?", "minus": "?", "value": "!"},
}
_WORDS = {"look": LOOKS, "fit": FITS, "power": POWERS}
_INJECTED = "volts and amperes such as 0.8V 2.1A"


def shown(text: str) -> str:
    """Return a found text quoted, shortened where it is long."""
    return repr(text if len(text) <= _SHOWN_MAX else f"{text[: _SHOWN_MAX - 3]}...")


def _tail(name: str) -> str:
    return name.rsplit("/", 1)[-1].casefold()


class Names:
    """Finds parts and points on one board, each distinct name once.

    Nets are looked for among those that share the last component of their path.
    """

    def __init__(self, board: Board) -> None:
        self._board = board
        self._nets_by_tail: dict[str, dict[str, Net]] = {}
        for net in board.nets:
            for name in (net.name, *net.aliases):
                self._nets_by_tail.setdefault(_tail(name), {})[net.name] = net
        self._points: dict[str, ProbePoint] = {}
        self._parts: dict[str, str] = {}

    def part(self, asked: str) -> str:
        """Return the ref of the part that is meant.

        Raises
        ------
        LogError
            If the board has none, with the nearest refs.
        """
        found = self._parts.get(asked)
        if found is None:
            self._check(asked, "a part")
            try:
                found = find_part(self._board, asked).ref
            except NotOnBoardError as error:
                raise LogError(f"found {error}") from None
            self._parts[asked] = found
        return found

    def point(self, asked: str) -> ProbePoint:
        """Return the pad or net that is meant.

        Raises
        ------
        LogError
            If the board has none, with the nearest names, or several.
        """
        found = self._points.get(asked)
        if found is None:
            self._check(asked, "a pad or net")
            try:
                alike = self._nets_by_tail.get(_tail(asked.removeprefix("net:")), {})
                found = find_point(
                    replace(self._board, nets=tuple(alike.values())), asked
                )
            except NotOnBoardError as error:
                raise LogError(f"found {error}") from None
            self._points[asked] = found
        return found

    def fitted(self, ref: str | None) -> bool:
        """Whether the file has the part fitted."""
        return ref is None or self._board.part_by_ref[ref].fitted

    @staticmethod
    def _check(asked: str, expected: str) -> None:
        if len(asked) > _NAME_MAX:
            raise LogError(
                f"found a name of {len(asked)} characters, expected {expected}"
            )


def _one_of(text: str, words: tuple[str, ...], what: str) -> str:
    """Return the word that is meant; spreadsheets capitalise what they like."""
    word = text.casefold()
    if word in words:
        return word
    near = nearest(text[:_SHOWN_MAX], words)
    hint = f"; did you mean {near[0]}?" if near else ""
    found = shown(text) if text else "nothing"
    raise LogError(f"found {found}, expected {what}: {', '.join(words)}{hint}")


def _check_cells(action: str, row: Mapping[str, str]) -> None:
    """Hold a row to the cells that its action takes; values are judged later."""
    takes = _TAKES[action]
    where = f"in {'an' if action == 'inject' else 'a'} {action} row"
    for column in ("part", "mode", "plus", "minus", "value"):
        text = row.get(column, "")
        if text and column not in takes:
            raise LogError(
                f"found {shown(text)} under {column} {where}, expected nothing there"
            )
        if not text and takes.get(column) == "!" and column not in ("mode", "value"):
            what = "a part" if column == "part" else "a pad or net"
            raise LogError(f"found no {column} {where}, expected {what}")
    if bool(row.get("plus")) != bool(row.get("minus")):
        raise LogError(f"found one point {where}, expected plus and minus, or neither")


def _in_hand(part: str, plus: ProbePoint, minus: ProbePoint) -> None:
    for point in (plus, minus):
        if point.pin is None or point.pin.ref != part:
            raise LogError(
                f"found {shown(str(point))} with {part} in the hand, expected pads of "
                f"{part} such as {part}.1"
            )


def row_event(
    line: int,
    row: Mapping[str, str],
    value: str,
    extra_columns: tuple[str, ...],
    names: Names,
) -> Event:
    """Return the event of one row.

    Parameters
    ----------
    line : int
        Line on which the row begins.
    row : mapping
        Cells by column, known columns in lower case.
    value : str
        The value cell with a decimal point.
    extra_columns : tuple of str
        Columns that are kept as they are.
    names : Names
        The board's names.

    Raises
    ------
    LogError
        Without file and line: what was found and what was expected.
    """
    action = _one_of(row.get("action", ""), ACTIONS, "an action")
    _check_cells(action, row)
    mode, word = "", ""
    number = step = volts = amps = None
    if action == "measure":
        mode = _one_of(row.get("mode", ""), MODES, "a mode")
        reading = parse_reading(value, mode)
        if reading is None:
            found = shown(value) if value else "no value"
            raise LogError(
                f"found {found} in {mode} mode, expected {expected_in(mode)}"
            )
        number, step = reading.value, reading.step
    elif action == "inject":
        injected = parse_injection(value)
        if injected is None:
            found = shown(value) if value else "no value"
            raise LogError(f"found {found} in an inject row, expected {_INJECTED}")
        volts, amps = injected
    elif action in _WORDS:
        word = _one_of(value, _WORDS[action], f"what the {action} row tells")
    part = names.part(row["part"]) if row.get("part") else None
    plus = names.point(row["plus"]) if row.get("plus") else None
    minus = names.point(row["minus"]) if row.get("minus") else None
    if action == "measure" and part is not None and plus is not None:
        assert minus is not None
        _in_hand(part, plus, minus)
    return Event(
        line=line,
        action=action,
        when=row.get("when", ""),
        part=part,
        mode=mode,
        plus=plus,
        minus=minus,
        value=number,
        step=step,
        volts=volts,
        amps=amps,
        word=word,
        text=word or value,
        note=row.get("note", ""),
        extra=tuple((name, row[name]) for name in extra_columns if row.get(name)),
    )
