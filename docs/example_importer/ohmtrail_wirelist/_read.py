"""A board from a wire list."""

from pathlib import Path

from ohmtrail.importers import ImporterError, ParseError
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["read"]

_MAX_BYTES = 64 * 1024 * 1024


def _lines(path: Path) -> list[str]:
    """Return the lines of a file, bounded in size and certainly text."""
    try:
        with open(path, "rb") as file:
            data = file.read(_MAX_BYTES + 1)
    except OSError as error:
        raise ImporterError(f"{path}: {error.strerror or error}") from None
    if len(data) > _MAX_BYTES:
        raise ParseError(f"found more than {_MAX_BYTES} bytes, expected less", path)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ParseError("found a byte that is not UTF-8", path, line) from None
    return text.replace("\r\n", "\n").split("\n")


def read(path: Path) -> Board:
    """Read a wire list.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        If it cannot be read, with the line if that line is wrong.

    Notes
    -----
    O(size).  Remarks (lines that begin with ``!``) are counted, not used.
    """
    first, *lines = _lines(path)
    if first.split() != ["wirelist", "1"]:
        raise ParseError(f"found {first[:40]!r}, expected 'wirelist 1'", path, 1)
    nets: dict[str, None] = {}
    #: ref -> pin number -> (net or None, line).
    parts: dict[str, dict[str, tuple[str | None, int]]] = {}
    remarks: list[int] = []
    for number, line in enumerate(lines, 2):
        name, *points = line.split() or ["#"]
        if name.startswith("#"):
            continue
        if name.startswith("!"):
            remarks.append(number)
            continue
        net = None if name == "-" else name
        if net is not None:
            nets.setdefault(net)
        for point in points:
            ref, _, pin = point.rpartition(".")
            if not ref or not pin:
                raise ParseError(
                    f"found {point[:40]!r}, expected a pin as in 'R1.2'", path, number
                )
            known, where = parts.setdefault(ref, {}).setdefault(pin, (net, number))
            if known != net:
                raise ParseError(
                    f"found {point[:40]} on {net or 'no net'}, but line {where} has "
                    f"it on {known or 'no net'}",
                    path,
                    number,
                )
    if not parts:
        raise ParseError("found no pins, expected some", path)
    return make_board(
        name=path.stem,
        format="wirelist",
        version="1",
        parts=[
            Part(ref, "", tuple(Pin(ref, pin, net) for pin, (net, _) in pins.items()))
            for ref, pins in parts.items()
        ],
        net_order=nets,
        unused=[Unused("remark", f"line {remarks[0]}", len(remarks))]
        if remarks
        else [],
    )
