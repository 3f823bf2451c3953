"""One test record: a pad or a hole, in columns."""

import re
from dataclasses import dataclass

__all__ = ["Record", "RecordError", "read_record"]

#: Access side and place, wherever a long reference has pushed them.
_PLACE = re.compile(
    r"A(\d\d)X([-+ ][ \d]{5}\d|[ \d]{6}\d)Y([-+ ][ \d]{5}\d|[ \d]{6}\d)"
)
_SIDE_COLUMN = 38


class RecordError(ValueError):
    """A record does not keep to the columns of the standard."""


@dataclass(frozen=True, slots=True)
class Record:
    """One point of the board that a tester can touch."""

    #: Net as written: a name, an alias, "N/C", or "".
    net: str
    #: Reference, "VIA", or "" for a hole alone.
    ref: str
    pin: str
    #: Units of the file, y up.
    x: int
    y: int
    #: "both" (access 00), "top" (01) or "bottom" (any other layer).
    side: str
    #: How many columns a long net or reference pushes the rest to the right.
    shift: int
    #: Column of the solder mask field, from 1: 73 by the standard, 72 by some
    #: programs; 0 where there is none.
    mask_column: int


def _whole(text: str) -> int:
    return int(text.replace(" ", ""))


def _mask_column(line: str, end: int) -> int:
    """Column of ``S0`` to ``S3`` after the rotation, whose field is 4 wide."""
    rest = line[end + 14 : end + 17]
    for offset, char in enumerate(rest):
        if char == "S":
            return end + 14 + offset + 1
    return 0


def read_record(line: str) -> Record:
    """Read a record 317 or the like.

    Parameters
    ----------
    line : str
        The whole line.

    Raises
    ------
    RecordError
        If a field is not where the standard has it.

    Examples
    --------
    >>> one = read_record(
    ...     "327NET_A            R1    -2          A01X+010000Y-000200X0512Y0591R180 S1"
    ... )
    >>> one.net, one.ref, one.pin, one.x, one.y, one.side
    ('NET_A', 'R1', '2', 10000, -200, 'top')
    """
    match = _PLACE.match(line, _SIDE_COLUMN)
    if match is None:
        match = _PLACE.search(line, _SIDE_COLUMN - 6, 160)
    if match is None:
        found = line[_SIDE_COLUMN : _SIDE_COLUMN + 19].rstrip() or "nothing"
        raise RecordError(f"found {found!r} in column 39, expected 'AnnX...Y...'")
    shift = match.start() - _SIDE_COLUMN
    dash = 26 + shift
    if line[dash] not in "- ":
        raise RecordError(
            f"found {line[dash]!r} in column {dash + 1}, expected '-' between "
            "reference and pin"
        )
    net, ref = line[3:17], line[20:dash]
    if line[17:20].strip():
        # A name longer than 14, which then pushes the reference.
        net, _, rest = line[3:dash].partition("   ")
        ref = rest[: 6 + shift]
        if len(net) - 14 > shift:
            raise RecordError(
                f"found {line[17:20]!r} in columns 18 to 20, expected blanks behind "
                "the net"
            )
    pin = line[dash + 1 : dash + 5].strip()
    access = match[1]
    return Record(
        net=net.strip(),
        ref=ref.strip(),
        pin=pin,
        x=_whole(match[2]),
        y=_whole(match[3]),
        side={"00": "both", "01": "top"}.get(access, "bottom"),
        shift=shift,
        mask_column=_mask_column(line, match.end()) - shift,
    )
