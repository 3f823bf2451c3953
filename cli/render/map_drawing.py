"""Where to put the probes: the board with the steps of a checklist on it."""

from collections.abc import Iterable, Sequence
from math import floor, log10

from ohmtrail.cli.render.drawing import Circle, Drawing, Item, Line, Rect, Text
from ohmtrail.cli.render.map_closeups import Spot, closeup_pages, marks
from ohmtrail.cli.render.map_labels import Label, Labels
from ohmtrail.cli.render.map_table import table_pages, turned_words
from ohmtrail.cli.render.map_view import BoardLines, Box, View
from ohmtrail.cli.render.step_numbers import short_numbers
from ohmtrail.cli.render.text_width import cut, text_width
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.probe_map.bodies import bodies, extent, landmarks
from ohmtrail.netanalysis.probe_map.crowds import Window, crowded_windows
from ohmtrail.netanalysis.probe_map.walk import ProbeMap, make_probe_map

__all__ = ["PAGE_HEIGHT_MM", "PAGE_WIDTH_MM", "map_drawings"]

#: Fits on A4 and on Letter, with margins.
PAGE_WIDTH_MM, PAGE_HEIGHT_MM = 180.0, 245.0
_HEAD, _FOOT, _FRAME = 13.0, 17.0, 6.0
#: Numbered points nearer than this on paper get a close-up.
_CROWDED = 5.5
_WINDOW_JOIN, _WINDOW_MARGIN = 14.0, 3.0
#: Larger than life by no more than this: a small board stays recognisable.
_SCALE_MAX = 4.0
#: Board shown around a point at or beyond its edge, mm.
_BESIDE = 0.5


def map_drawings(circuit: Circuit, steps: Iterable[Step]) -> list[Drawing]:
    """Return the drawings of a probe map, each a page or less.

    Parameters
    ----------
    circuit : Circuit
        Its board has positions; without any there is nothing to draw.
    steps : iterable of Step
        Of a checklist, numbered.

    Returns
    -------
    list of Drawing
        The sides that have points (the bottom as seen when the board is turned
        over), close-ups of crowded groups, and the way round as a table.  Empty
        where no step has a position.
    """
    steps = tuple(steps)
    board = circuit.board
    box = extent(board)
    if box is None:
        return []
    way = make_probe_map(board, steps)
    if not way.legs:
        return []
    lines = BoardLines(board, bodies(board))
    spots = _spots(way)
    box = _holding(box, spots)
    pages: list[Drawing] = []
    closeups: list[tuple[str, str, Window, Sequence[Spot]]] = []
    for side in ("top", "bottom"):
        mine = [one for one in spots if one.seen(side)]
        if not any(one.steps for one in mine):
            continue
        view = _fit(side, box)
        windows = _windows(view, mine)
        named = []
        for window in windows:
            name = _letters(len(closeups))
            closeups.append((name, side, window, mine))
            named.append((name, window))
        pages.append(_side_page(circuit, lines, view, mine, named, way))
    pages += closeup_pages(board.name, lines, closeups, PAGE_WIDTH_MM, PAGE_HEIGHT_MM)
    pages += table_pages(board.name, way, PAGE_WIDTH_MM, PAGE_HEIGHT_MM)
    return pages


def _spots(way: ProbeMap) -> list[Spot]:
    """Return every place that is touched or looked at, with its step numbers."""
    found: dict[tuple[str, str], Spot] = {}

    def spot(name: str, x: float, y: float, side: str, up: str) -> Spot:
        # A drilled pad is drawn on the side from which it is touched.
        side = side if side in ("top", "bottom") else up
        return found.setdefault((name, side), Spot(name, x, y, side))

    for leg in way.legs:
        for stop in leg.stops:
            at = stop.place
            mine = spot(at.name, at.x_mm, at.y_mm, at.side, leg.side)
            for one in stop.steps:
                (mine.steps if one.step.mode is not None else mine.looks).append(
                    one.step.n
                )
                if one.black is not None:
                    b = one.black
                    spot(b.name, b.x_mm, b.y_mm, b.side, leg.side).black.append(
                        one.step.n
                    )
    return list(found.values())


def _holding(box: Box, spots: Sequence[Spot]) -> Box:
    """Return a box that also holds points beside the outline of the board."""
    left, top, right, bottom = box
    for one in spots:
        left, top = min(left, one.x_mm - _BESIDE), min(top, one.y_mm - _BESIDE)
        right, bottom = max(right, one.x_mm + _BESIDE), max(bottom, one.y_mm + _BESIDE)
    return left, top, right, bottom


def _fit(side: str, box: tuple[float, float, float, float]) -> View:
    """Return a view of the whole board in the page's width, or its height."""
    left, top, right, bottom = box
    wide, high = max(right - left, 1.0), max(bottom - top, 1.0)
    room = PAGE_WIDTH_MM - 2 * _FRAME
    tall = PAGE_HEIGHT_MM - _HEAD - _FOOT - 2 * _FRAME
    scale = min(room / wide, tall / high, _SCALE_MAX)
    x = (PAGE_WIDTH_MM - wide * scale) / 2
    return View(side, left, top, left + wide, top + high, scale, x, _HEAD + _FRAME)


def _windows(view: View, spots: Sequence[Spot]) -> tuple[Window, ...]:
    numbered = [one for one in spots if one.numbers]
    points = [(one.x_mm, one.y_mm) for one in numbered]
    return crowded_windows(
        points,
        _CROWDED / view.scale,
        join_mm=_WINDOW_JOIN / view.scale,
        margin_mm=_WINDOW_MARGIN / view.scale,
    )


def _letters(number: int) -> str:
    """Return A, B ... Z, AA, AB ..."""
    text = ""
    number += 1
    while number:
        number, left = divmod(number - 1, 26)
        text = chr(65 + left) + text
    return text


def _side_page(
    circuit: Circuit,
    lines: BoardLines,
    view: View,
    spots: Sequence[Spot],
    windows: Sequence[tuple[str, Window]],
    way: ProbeMap,
) -> Drawing:
    height = view.y_mm + view.height_mm + _FRAME + _FOOT
    top_edge, bottom_edge = _HEAD, height - _FOOT
    items: list[Item] = list(lines.draw(view))
    labels = Labels((0.5, top_edge, PAGE_WIDTH_MM - 0.5, bottom_edge))
    numbered = [one for one in spots if one.numbers]
    inside = {number for _, window in windows for number in window.members}
    alone = [one for number, one in enumerate(numbered) if number not in inside]
    items += marks(view, spots)
    for spot in spots:
        px, py = view.at(spot.x_mm, spot.y_mm)
        labels.keep_free(px - 0.9, py - 0.9, px + 0.9, py + 0.9)
    corner: list[Item] = []
    for name, window in windows:
        box = view.box(window.left, window.top, window.right, window.bottom)
        assert box is not None, "a window holds points of the board"
        x, y, width, high = box
        items.append(Rect(x, y, width, high, stroke_mm=0.3, dashed=True))
        corner += _letter(name, box, labels)
    for _, window in windows:
        box = view.box(window.left, window.top, window.right, window.bottom)
        assert box is not None, "a window holds points of the board"
        x, y, width, high = box
        labels.keep_free(x, y, x + width, y + high)
    boxes = dict(lines.boxes(view))
    marked = [one.ref for one in landmarks(circuit, lines.bodies, view.side, 16)]
    touched = dict.fromkeys([*marked, *(spot.part for spot in alone)])
    known = [(ref, boxes[ref]) for ref in touched if ref in boxes]
    refs = labels.names(known, least=2.2, most=3.0)
    items += labels.place(
        Label(*view.at(one.x_mm, one.y_mm), short_numbers(one.numbers)) for one in alone
    )
    items += refs
    items += corner
    title = f"{circuit.board.name}: {view.side} side"
    if view.side == "bottom":
        title += ", as seen when the board is turned over"
    items += _head(title, way)
    items += _foot(view, bottom_edge + 3.0, bool(windows), circuit)
    words = f"Probe map of {title}; the table of the way tells the same in words"
    return Drawing(PAGE_WIDTH_MM, height, tuple(items), words)


def _letter(name: str, box: Box, labels: Labels) -> list[Item]:
    """Return a window's letter at the corner where it covers least."""
    x, y, width, height = box
    wide, high = text_width(name, 4.0, bold=True) + 1.2, 4.4
    places = [
        (left, top)
        for top in (y - high, y, y + height - high, y + height)
        for left in (x, x + width - wide, x - wide, x + width)
    ]

    def covered(place: tuple[float, float]) -> float:
        left, top = place
        return labels.covered((left, top, left + wide, top + high))

    left, top = min(places, key=covered)
    labels.keep_free(left, top, left + wide, top + high)
    return [
        Rect(left, top, wide, high, stroke_mm=0.3, fill="white"),
        Text(left + wide / 2, top + 3.65, name, 4.0, "middle", bold=True),
    ]


def _head(title: str, way: ProbeMap) -> list[Item]:
    size = 4.0
    line = (
        "The numbers are the steps of the checklist. Way round: "
        f"{way.length_mm:.0f} mm, the board is {turned_words(way)}; the table has the "
        "order."
    )
    return [
        Text(0, 4.5, cut(title, size, PAGE_WIDTH_MM, bold=True), size, bold=True),
        Text(0, 9.0, line, 2.8),
        Line(0, 11.0, PAGE_WIDTH_MM, 11.0, stroke_mm=0.3),
    ]


def scale_bar(view: View, x: float, y: float) -> list[Item]:
    """Return a bar of a round number of millimetres of the board."""
    longest = 45.0 / view.scale
    unit = 10.0 ** floor(log10(longest))
    length = max(n for n in (1, 2, 5) if n * unit <= longest) * unit
    paper = length * view.scale
    half = paper / 2
    return [
        Rect(x, y, half, 1.4, stroke_mm=0.2, fill="black"),
        Rect(x + half, y, half, 1.4, stroke_mm=0.2, fill="white"),
        Text(x, y + 4.4, "0", 2.6, "middle"),
        Text(x + half, y + 4.4, f"{length / 2:g}", 2.6, "middle"),
        Text(x + paper, y + 4.4, f"{length:g} mm", 2.6, "middle"),
    ]


def _foot(view: View, y: float, windows: bool, circuit: Circuit) -> list[Item]:
    items = scale_bar(view, 3.0, y)
    x = 62.0
    items += [
        Circle(x, y + 0.6, 0.9, stroke_mm=0.2, fill="black"),
        Text(x + 2.0, y + 1.5, "red lead", 2.6),
        Circle(x + 22.0, y + 0.6, 0.9, stroke_mm=0.35, fill="white"),
        Text(x + 24.0, y + 1.5, "black lead only", 2.6),
        Rect(x + 49.1, y - 0.3, 1.8, 1.8, stroke_mm=0.35, fill="white"),
        Text(x + 52.0, y + 1.5, "part to look at", 2.6),
    ]
    words = []
    if windows:
        words.append("dashed, with a letter: drawn larger in its close-up")
    if not circuit.board.outline_mm:
        words.append("the file has no outline of the board")
    items.append(Text(x - 1.0, y + 6.0, "; ".join(words), 2.6))
    return items
