"""Close-ups of crowded groups of points, two beside each other on a page."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from ohmtrail.cli.render.drawing import Circle, Drawing, Item, Line, Rect, Text
from ohmtrail.cli.render.map_labels import Label, Labels
from ohmtrail.cli.render.map_view import BoardLines, Box, View
from ohmtrail.cli.render.step_numbers import short_numbers
from ohmtrail.cli.render.text_width import cut
from ohmtrail.netanalysis.probe_map.crowds import Window

__all__ = ["Spot", "closeup_pages", "marks"]

_GAP, _HEAD, _CAPTION = 6.0, 13.0, 6.5
_TALL_MAX = 100.0
#: Around the window on paper: room for numbers.
_RIM = 3.0
_SCALE_MAX = 12.0

Closeup = tuple[str, str, Window, Sequence["Spot"]]


@dataclass(slots=True)
class Spot:
    """A place on the board with the steps that touch it."""

    name: str
    x_mm: float
    y_mm: float
    side: str
    #: Steps whose red needle goes here.
    steps: list[int] = field(default_factory=list)
    #: Steps that look at this part.
    looks: list[int] = field(default_factory=list)
    #: Steps whose black needle goes here.
    black: list[int] = field(default_factory=list)

    def seen(self, side: str) -> bool:
        """Whether it is drawn on a side."""
        return self.side == side

    @property
    def part(self) -> str:
        """Ref of its part."""
        return self.name.rpartition(".")[0] or self.name

    @property
    def numbers(self) -> list[int]:
        """Steps that begin here."""
        return [*self.steps, *self.looks]


def marks(view: View, spots: Sequence[Spot]) -> Iterator[Item]:
    """Give the marks of places: a disc, a ring or a square, never colour alone."""
    for spot in sorted(spots, key=lambda one: bool(one.steps)):
        if not view.shows(spot.x_mm, spot.y_mm):
            continue
        x, y = view.at(spot.x_mm, spot.y_mm)
        if spot.steps:
            yield Circle(x, y, 0.9, stroke_mm=0.2, fill="black")
            yield Circle(x, y, 0.25, stroke_mm=0, fill="white")
        elif spot.looks:
            yield Rect(x - 0.9, y - 0.9, 1.8, 1.8, stroke_mm=0.35, fill="white")
        elif spot.black:
            yield Circle(x, y, 0.75, stroke_mm=0.35, fill="white")


@dataclass(frozen=True, slots=True)
class _Cell:
    """One close-up laid out at the origin."""

    items: tuple[Item, ...]
    width_mm: float
    height_mm: float
    view: View
    name: str
    words: str


def _lay(x: float, y: float, width: float, lines: BoardLines, one: Closeup) -> _Cell:
    name, side, window, spots = one
    wide, high = window.right - window.left, window.bottom - window.top
    room = width - 2 * _RIM
    scale = min(room / wide, (_TALL_MAX - 2 * _RIM) / high, _SCALE_MAX)
    # The whole cell shows board: more of it where the window is narrow.
    tall = min(_TALL_MAX, max(high * scale + 2 * _RIM, 40.0))
    more_x = (width / scale - wide) / 2
    more_y = (tall / scale - high) / 2
    view = View(
        side,
        window.left - more_x,
        window.top - more_y,
        window.right + more_x,
        window.bottom + more_y,
        scale,
        x,
        y + _CAPTION,
    )
    items: list[Item] = list(lines.draw(view))
    numbered = [spot for spot in spots if spot.numbers]
    mine = [numbered[number] for number in window.members]
    steps = {number for spot in mine for number in spot.steps}
    # Red points of a neighbouring window would stand here without their numbers.
    shown = [*mine, *(one for one in spots if steps.intersection(one.black))]
    shown = list({id(one): one for one in shown}.values())
    items += marks(view, shown)
    frame = x, y + _CAPTION, x + width, y + _CAPTION + tall
    labels = Labels((frame[0] + 0.5, frame[1] + 0.5, frame[2] - 0.5, frame[3] - 0.5))
    for spot in shown:
        if view.shows(spot.x_mm, spot.y_mm):
            px, py = view.at(spot.x_mm, spot.y_mm)
            labels.keep_free(px - 0.9, py - 0.9, px + 0.9, py + 0.9)
    refs = labels.names(_probed_first(lines.boxes(view), mine), least=1.7, most=2.4)
    items += labels.place(
        Label(*view.at(spot.x_mm, spot.y_mm), short_numbers(spot.numbers))
        for spot in mine
    )
    items += refs
    items.append(Rect(x, y + _CAPTION, width, tall, stroke_mm=0.35))
    caption = f"{name}  {side} side, {scale:.1f} : 1"
    items.append(Text(x, y + _CAPTION - 1.6, caption, 3.6, bold=True))
    return _Cell(tuple(items), width, tall + _CAPTION, view, name, caption)


def _probed_first(
    boxes: Iterable[tuple[str, Box]], spots: Sequence[Spot]
) -> list[tuple[str, Box]]:
    """Order parts so that those that are touched get their names."""
    touched = {spot.part for spot in spots}
    return sorted(boxes, key=lambda one: one[0] not in touched)


def closeup_pages(
    board: str,
    lines: BoardLines,
    closeups: Sequence[Closeup],
    width_mm: float,
    height_mm: float,
) -> list[Drawing]:
    """Return pages of close-ups, each as wide and at most as high as stated.

    Parameters
    ----------
    board : str
        Name of the design.
    lines : BoardLines
        Draws the board.
    closeups : sequence of (name, side, window, spots of that side)
        In the order of their letters.
    width_mm, height_mm : float
        Of a page.
    """
    column = (width_mm - _GAP) / 2
    pages: list[Drawing] = []
    items: list[Item] = []
    names: list[str] = []
    y = _HEAD

    def finish() -> None:
        nonlocal items, names, y
        if not items:
            return
        title = f"{board}: close-ups {', '.join(names)}"
        head: list[Item] = [
            Text(0, 4.5, cut(title, 4.0, width_mm, bold=True), 4.0, bold=True),
            Text(
                0,
                9.0,
                "Disc: red lead. Ring: black lead only. Square: part to look at. "
                "+2: two more steps here, see the table.",
                2.8,
            ),
            Line(0, 11.0, width_mm, 11.0, stroke_mm=0.3),
        ]
        pages.append(
            Drawing(
                width_mm,
                y,
                (*head, *items),
                f"Probe map of {title}; the table of the way tells the same in words",
            )
        )
        items, names, y = [], [], _HEAD

    for start in range(0, len(closeups), 2):
        row = closeups[start : start + 2]
        cells = [
            _lay(place * (column + _GAP), y, column, lines, one)
            for place, one in enumerate(row)
        ]
        high = max(cell.height_mm for cell in cells)
        if y > _HEAD and y + high > height_mm:
            finish()
            cells = [
                _lay(place * (column + _GAP), y, column, lines, one)
                for place, one in enumerate(row)
            ]
        for cell in cells:
            items += cell.items
            names.append(cell.name)
        y += high + 3.0
    finish()
    return pages
