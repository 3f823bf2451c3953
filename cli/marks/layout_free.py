"""Where beside a board the page is free: what people have drawn around it."""

import re
from collections.abc import Iterable, Iterator

from ohmtrail.cli.marks.room import Box

__all__ = ["beside", "drawn_around"]

_NUMBER = rb"\s+(-?[\d.]+)"
_PLACE = re.compile(rb"\((?:start|end|center|mid|xy)" + _NUMBER + _NUMBER + rb"\s*\)")
_ITEM = re.compile(rb"\(gr_(line|rect|arc|circle|poly|text|text_box)\s")
_STRING = re.compile(rb'\s*("(?:[^"\\]|\\.)*"|[^\s()]+)', re.DOTALL)
_AT = re.compile(rb"\(at" + _NUMBER + _NUMBER)
_SIZE = re.compile(rb"\(size" + _NUMBER + _NUMBER)
_PAPER = re.compile(
    rb'\((?:paper|page)\s+"?(\w+)"?(?:' + _NUMBER + _NUMBER + rb")?\s*(portrait)?"
)
#: Width and height of a page, mm (ISO 216; ANSI/ASME Y14.1).
_PAGES = {
    b"A5": (210, 148),
    b"A4": (297, 210),
    b"A3": (420, 297),
    b"A2": (594, 420),
    b"A1": (841, 594),
    b"A0": (1189, 841),
    b"A": (279.4, 215.9),
    b"B": (431.8, 279.4),
    b"C": (558.8, 431.8),
    b"D": (863.6, 558.8),
    b"E": (1117.6, 863.6),
    b"USLetter": (279.4, 215.9),
    b"USLegal": (355.6, 215.9),
    b"USLedger": (431.8, 279.4),
}
#: The title block of KiCad's own drawing sheet, from the lower right corner.
_TITLE_MM = (122.0, 46.0)
#: Bytes of an item that are looked at: those of a text and of most outlines.
_LOOK = 2000


def drawn_around(data: bytes) -> list[Box]:
    """Return boxes around the drawings and texts of a layout, and its title block.

    Parameters
    ----------
    data : bytes
        The ``.kicad_pcb`` file.

    Notes
    -----
    O(length).  How far a text reaches is guessed, to both sides of its place.
    """
    return [*_items(data), *_title(data)]


def _items(data: bytes) -> Iterator[Box]:
    for found in _ITEM.finditer(data):
        end = data.find(b"(gr_", found.end())
        body = data[
            found.start() : min(end if end > 0 else len(data), found.end() + _LOOK)
        ]
        if found[1] == b"text":
            box = _text(body)
            if box is not None:
                yield box
            continue
        places = [(float(one[1]), float(one[2])) for one in _PLACE.finditer(body)]
        if found[1] == b"circle" and len(places) > 1:
            (x, y), (ex, ey) = places[:2]
            reach = max(abs(ex - x), abs(ey - y))
            places = [(x - reach, y - reach), (x + reach, y + reach)]
        if places:
            xs, ys = [x for x, _ in places], [y for _, y in places]
            yield min(xs), min(ys), max(xs), max(ys)


def _text(body: bytes) -> Box | None:
    said = _STRING.match(body, len(b"(gr_text"))
    at, size = _AT.search(body), _SIZE.search(body)
    if said is None or at is None:
        return None
    lines = said[1].decode("utf-8", "replace").strip('"').split("\\n")
    high = float(size[1]) if size else 1.5
    wide = max(map(len, lines)) * high
    tall = len(lines) * 1.7 * high
    x, y = float(at[1]), float(at[2])
    return x - wide, y - tall, x + wide, y + tall


def _title(data: bytes) -> Iterator[Box]:
    paper = _PAPER.search(data[:20_000])
    if paper is None:
        return
    wide, high = _PAGES.get(paper[1], (0.0, 0.0))
    if paper[1] == b"User" and paper[2]:
        wide, high = float(paper[2]), float(paper[3])
    if paper[4]:
        wide, high = high, wide
    if wide:
        yield wide - _TITLE_MM[0], high - _TITLE_MM[1], wide, high


def beside(
    board: Box, size: tuple[float, float], apart: float, taken: Iterable[Box]
) -> tuple[float, float]:
    """Return left and top of a place for a block beside a board.

    Parameters
    ----------
    board : Box
        Left, top, right, bottom of the board, mm.
    size : (float, float)
        Width and height of the block.
    apart : float
        Distance that it keeps.
    taken : iterable of Box
        What it must not cover.

    Returns
    -------
    (float, float)
        Right of the board, else below, left of it or above, the nearest that is free;
        where the other drawings leave no side free, right of them all.

    Examples
    --------
    >>> beside((0, 0, 50, 40), (30, 20), 5, [])
    (55, 0)
    >>> beside((0, 0, 50, 40), (30, 20), 5, [(60, 10, 70, 20)])
    (0, 45)
    """
    wide, high = size
    left, top, right, bottom = board
    boxes = list(taken)
    places = [
        (right + apart, top),
        (left, bottom + apart),
        (left - apart - wide, top),
        (left, top - apart - high),
    ]
    for x, y in places:
        if not any(
            x - apart / 2 < box[2]
            and box[0] < x + wide + apart / 2
            and y - apart / 2 < box[3]
            and box[1] < y + high + apart / 2
            for box in boxes
        ):
            return x, y
    return max(right, *(box[2] for box in boxes)) + apart, top
