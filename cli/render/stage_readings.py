"""Readings of one stage, each beside the part that it is taken at."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from ohmtrail.cli.render.drawing import Item, Line, Text
from ohmtrail.cli.render.text_width import cut, text_width
from ohmtrail.cli.render.units import range_text
from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.probe_points import find_point

__all__ = ["READING_MM", "Readings", "Taken", "points_key"]

#: What was read, as text, by `points_key`.
Taken = Mapping[tuple[str, str, str], str]

_SIZE, _ROW = 2.2, 2.9
_BLANK = 9.0
#: Height of one reading: the points and the blank, then what to expect.
READING_MM = 2 * _ROW + 0.7


def points_key(mode: str, red: str, black: str) -> tuple[str, str, str]:
    """Return what names a reading: mode, and each point as a pad or a net."""
    return mode, red.removeprefix("net:"), black.removeprefix("net:")


def _step_key(step: Step) -> tuple[str, str, str]:
    return points_key(step.mode or "", step.plus or "", step.minus or "")


def _owner(board: Board, text: str | None) -> tuple[str, str]:
    """Return ref and pin of a pad, or "" and the net."""
    if text is None:
        return "", ""
    try:
        point = find_point(board, text)
    except NotOnBoardError:
        return "", text
    if point.pin is not None:
        return point.pin.ref, point.pin.number
    return "", point.net or text


@dataclass(slots=True)
class Readings:
    """Deals the readings of a stage out to the parts that are drawn."""

    board: Board
    steps: Sequence[Step]
    taken: Taken = field(default_factory=dict)
    _left: list[Step] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._left = [step for step in self.steps if step.mode is not None]

    def of(self, refs: Iterable[str]) -> list[Step]:
        """Take the readings at some parts; each reading is given once."""
        mine = self.peek(refs)
        self._left = [step for step in self._left if step not in mine]
        return mine

    def peek(self, refs: Iterable[str]) -> list[Step]:
        """Return the readings at some parts that are not taken yet."""
        wanted = set(refs)
        return [
            step for step in self._left if _owner(self.board, step.plus)[0] in wanted
        ]

    def give_back(self, steps: Iterable[Step]) -> None:
        """Put back readings for which there was no room."""
        self._left += steps

    def rest(self) -> list[Step]:
        """Take what is left."""
        left, self._left = self._left, []
        return left

    def lines(
        self, steps: Iterable[Step], home: str, x: float, y: float, width: float
    ) -> list[Item]:
        """Return the readings as text, with a blank or what was read.

        ``home`` is the part whose pins need no ref; ``y`` is the top.
        """
        items: list[Item] = []
        for step in steps:
            red, black = (self._point(one, home) for one in (step.plus, step.minus))
            points = f"{red} \N{RIGHTWARDS ARROW} {black}"
            base = y + _ROW - 0.7
            number = str(step.n) if step.n else ""
            items.append(Text(x, base, number, _SIZE, bold=True))
            begin = x + (text_width(number, _SIZE, bold=True) + 0.8 if number else 0)
            read = self._taken(step)
            end = x + width
            room = end - _BLANK - 0.8 - begin
            items.append(Text(begin, base, cut(points, _SIZE, room), _SIZE))
            if read is None:
                items.append(Line(end - _BLANK, base + 0.4, end, base + 0.4, 0.2))
            else:
                shown = cut(read, _SIZE, _BLANK, bold=True)
                items.append(Text(end, base, shown, _SIZE, "end", bold=True))
            items.append(
                Text(x + 1.6, base + _ROW, cut(_range(step), _SIZE, width), _SIZE)
            )
            y += READING_MM
        return items

    def _taken(self, step: Step) -> str | None:
        """Return what was read at a step's own points, as pads or as nets.

        With positions a step on a net names a pad, and the net as its name.
        """
        read = self.taken.get(_step_key(step))
        if read is not None:
            return read
        names = []
        for text, name in (
            (step.plus, step.plus_name),
            (step.minus, step.minus_name),
        ):
            ref, pin = _owner(self.board, text)
            part = self.board.part_by_ref.get(ref)
            pad = part.pin(pin) if part is not None else None
            if pad is not None and pad.net != name:
                return None
            names.append(name if pad is not None else text or "")
        return self.taken.get(points_key(step.mode or "", *names))

    def _point(self, text: str | None, home: str) -> str:
        ref, pin = _owner(self.board, text)
        if ref and ref == home:
            return pin
        return f"{ref}.{pin}" if ref else pin.rstrip("/").rpartition("/")[2] or pin


def _range(step: Step) -> str:
    text = "compare"
    if step.expect is not None:
        text = range_text(step.expect.low, step.expect.high, step.expect.unit)
    return text if step.mode == "resistance" else f"{step.mode}: {text}"
