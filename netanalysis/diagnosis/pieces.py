"""Which pieces of renewed parts may be faulty."""

from ohmtrail.netanalysis.diagnosis.epochs import Timeline

__all__ = ["pieces_of"]


def pieces_of(timeline: Timeline, died_at: int) -> dict[str, tuple[int, ...]]:
    """Return, for every part that was renewed, which pieces may be faulty.

    A new part is healthy until it has been powered; the one that it replaced is
    not forgotten.
    """
    found: dict[str, set[int]] = {}
    born: dict[tuple[str, int], int] = {}
    for i, one in enumerate(timeline.placed):
        if one.event.action == "fit" and one.event.word == "new":
            born[one.event.part or "", one.piece or 0] = i
    powered = [
        i
        for i, one in enumerate(timeline.placed)
        if one.event.action == "power" and one.event.word in ("died", "limit")
    ]
    for (ref, piece), start in born.items():
        mine = found.setdefault(ref, set())
        if any(i > start for i in powered):
            mine.add(piece)
        if start > died_at:
            mine.add(piece - 1)
    return {ref: tuple(sorted(mine)) for ref, mine in found.items()}
