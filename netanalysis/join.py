"""Join a second view of the same board onto a first one.

The first view decides what is there and what is joined.  The second fills in
what the first leaves empty: positions, pin names and types, values, kinds.  What
the two say differently is reported, never settled silently.
"""

from collections import Counter
from dataclasses import replace

from ohmtrail.netanalysis.board import (
    Board,
    BoardError,
    Part,
    Pin,
    Unused,
    make_board,
)

__all__ = ["join"]

_PART_TEXTS = (
    ("value", "value"),
    ("library", ""),
    ("footprint", ""),
    ("description", ""),
    ("keywords", ""),
    ("stated_kind", "kind"),
)
_REPORT_MAX = 8


def _plain(text: str) -> str:
    """Return a value without blanks and case, but with milli and mega apart."""
    return "".join(c if c == "M" else c.casefold() for c in text if not c.isspace())


def _index(board: Board) -> dict[tuple[str, str], Pin]:
    return {(pin.ref, pin.number): pin for part in board.parts for pin in part.pins}


def _net_doubts(board: Board, other: Board, label: str) -> list[Unused]:
    """Report pins that the two views join to different pins.

    Nets are paired by the pins that both have, most pins first; a pin whose two
    nets are no pair is reported, unless it stands alone in both.
    """
    mine, theirs = _index(board), _index(other)
    both = [(pin, theirs[key]) for key, pin in mine.items() if key in theirs]
    here = Counter(a.net for a, _ in both)
    there = Counter(b.net for _, b in both)
    pairs = Counter(
        (a.net, b.net) for a, b in both if a.net is not None and b.net is not None
    )
    paired: dict[str | None, str] = {}
    taken: set[str] = set()
    for (net, name), _ in pairs.most_common():
        if net not in paired and name not in taken:
            paired[net] = name
            taken.add(name)
    found = []
    for a, b in both:
        if a.net is not None and paired.get(a.net) == b.net:
            continue
        alone_here = a.net is None or here[a.net] == 1
        alone_there = b.net is None or there[b.net] == 1
        if not (alone_here and alone_there):
            nets = f"{a.net or 'no net'} here, {b.net or 'no net'} there"
            found.append(
                Unused(f"pin that {label} joins to other pins", f"{a.key}: {nets}")
            )
    return found


def _missing(board: Board, other: Board, label: str) -> list[Unused]:
    """Report parts and pins that only one of the views has."""
    found = [
        Unused(f"part that {label} does not have", part.ref)
        for part in board.parts
        if part.ref not in other.part_by_ref
    ]
    for part in other.parts:
        mine = board.part_by_ref.get(part.ref)
        if mine is None:
            found.append(Unused(f"part that only {label} has", part.ref))
            continue
        numbers = {pin.number for pin in mine.pins}
        theirs = {pin.number for pin in part.pins}
        for what, pins in (
            (
                f"pin that only {label} has",
                [p for p in part.pins if p.number not in numbers],
            ),
            (
                f"pin that {label} does not have",
                [p for p in mine.pins if p.number not in theirs],
            ),
        ):
            if pins:
                words = " ".join(p.key for p in pins[:_REPORT_MAX])
                more = " ..." if len(pins) > _REPORT_MAX else ""
                found.append(Unused(what, words + more, len(pins)))
    return found


def _pin(mine: Pin, there: Pin | None) -> Pin:
    if there is None:
        return mine
    placed = mine.x_mm is not None
    return replace(
        mine,
        name=mine.name or there.name,
        electrical=mine.electrical or there.electrical,
        x_mm=mine.x_mm if placed else there.x_mm,
        y_mm=mine.y_mm if placed else there.y_mm,
        side=mine.side or there.side,
        land_mm=mine.land_mm if placed else there.land_mm,
    )


def _part(mine: Part, there: Part, label: str, doubts: list[Unused]) -> Part:
    texts = {}
    for attribute, word in _PART_TEXTS:
        a, b = getattr(mine, attribute), getattr(there, attribute)
        texts[attribute] = a or b
        if word and a and b and _plain(a) != _plain(b):
            doubts.append(
                Unused(
                    f"{word} that {label} gives differently",
                    f"{mine.ref}: {a} here, {b} there",
                )
            )
    if mine.fitted != there.fitted:
        where = "here" if there.fitted else f"in {label}"
        doubts.append(Unused(f"part marked not fitted only {where}", mine.ref))
    names = {name.casefold() for name, _ in mine.fields}
    placed = mine.x_mm is not None
    by_number = {pin.number: pin for pin in there.pins}
    return replace(
        mine,
        **texts,
        pins=tuple(_pin(pin, by_number.get(pin.number)) for pin in mine.pins),
        fitted=mine.fitted and there.fitted,
        fields=mine.fields
        + tuple(f for f in there.fields if f[0].casefold() not in names),
        sheet=mine.sheet if mine.sheet != "/" else there.sheet,
        x_mm=mine.x_mm if placed else there.x_mm,
        y_mm=mine.y_mm if placed else there.y_mm,
        side=mine.side or there.side,
    )


def join(board: Board, other: Board, label: str) -> Board:
    """Return a board with what a second view of it adds.

    Parameters
    ----------
    board : Board
        The first view: its parts, pins and nets stay.
    other : Board
        The second view.  It fills in positions (millimetres), sides, outline, pin names
        and electrical types, values, library names, footprints, fields and stated
        kinds where the first has none; a part that either marks as not fitted is
        not fitted.
    label : str
        What to call the second view in reports: its file name.

    Returns
    -------
    Board
        With what the second view met itself, and each disagreement, in ``unused``:
        parts and pins that only one has, values and kinds that differ, pins that
        are joined otherwise.  Nets are compared as sets of pins: their names may
        differ.

    Raises
    ------
    BoardError
        If the two have no part in common: then they are not one board.

    Notes
    -----
    O(pins).
    """
    if not any(part.ref in other.part_by_ref for part in board.parts):
        raise BoardError(f"{label}: has no part in common with {board.name}")
    doubts = _missing(board, other, label)
    doubts += _net_doubts(board, other, label)
    parts = []
    for part in board.parts:
        there = other.part_by_ref.get(part.ref)
        parts.append(_part(part, there, label, doubts) if there is not None else part)
    known = {net for net, _ in board.stated_volts}
    stated = [*board.stated_volts]
    for net, volts in other.stated_volts:
        if net not in board.net_by_name:
            doubts.append(Unused(f"volts that {label} states of a net not here", net))
        elif net not in known:
            stated.append((net, volts))
    return make_board(
        name=board.name,
        format=board.format,
        version=board.version,
        parts=parts,
        net_order=(net.name for net in board.nets),
        aliases={net.name: net.aliases for net in board.nets if net.aliases},
        sheets=board.sheets or other.sheets,
        unused=(*board.unused, *other.unused, *doubts),
        outline_mm=board.outline_mm or other.outline_mm,
        stated_volts=stated,
    )
