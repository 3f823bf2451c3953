"""Order of refdes as people count."""

import re

__all__ = ["natural"]


def natural(ref: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key by which R4 comes before R12.

    >>> sorted(["R12", "R4", "C1"], key=natural)
    ['C1', 'R4', 'R12']
    """
    return tuple(
        (0, int(piece), "") if piece.isdigit() else (1, 0, piece)
        for piece in re.findall(r"[0-9]+|[^0-9]+", ref)
    )
