"""More parts or pins than any board has: files with more are refused."""

from pathlib import Path

from ohmtrail.importers._errors import ParseError

__all__ = [
    "EDGE_POINTS_MAX",
    "OBJECTS_MAX",
    "PARTS_MAX",
    "PINS_MAX",
    "TooManyError",
    "too_many",
]

#: The largest boards have some ten thousand parts; each takes a kilobyte here.
PARTS_MAX = 250_000
PINS_MAX = 1_000_000
#: Wires, components and embedded symbols of one drawing; a large sheet has thousands.
OBJECTS_MAX = 500_000
#: Points along the edges of a board; a panel with rounded corners has thousands.
EDGE_POINTS_MAX = 200_000


class TooManyError(ParseError):
    """A file has more parts or pins than any board."""


def too_many(path: Path, line: int | None = None) -> TooManyError:
    """Return the error for a file with more parts or pins than that."""
    return TooManyError(
        f"found more than {PARTS_MAX} parts or {PINS_MAX} pins, expected a board",
        path,
        line,
    )
