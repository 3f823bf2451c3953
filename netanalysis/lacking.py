"""What a board's file does not say at all, so that it is told from other signs."""

from ohmtrail.netanalysis.board import Board, Unused

__all__ = ["lacking"]


def lacking(board: Board) -> tuple[Unused, ...]:
    """Return what no part of a board has: values, names of pins.

    Parameters
    ----------
    board : Board
        Of one file, or of several joined.

    Returns
    -------
    tuple of Unused
        Empty where some part has each.  ``count`` is how many parts or pins lack it.

    Notes
    -----
    O(parts + pins).  Two-pin parts have no names of pins in most files: they do not
    count.

    Examples
    --------
    >>> from ohmtrail.netanalysis.board import Part, Pin, make_board
    >>> pins = tuple(Pin("U1", n, "A") for n in "123")
    >>> board = make_board(
    ...     name="b", format="f", version="", parts=[Part("U1", "", pins)]
    ... )
    >>> [one.what.partition(":")[0] for one in lacking(board)]
    ['no part has a value', 'no pin of three and more has a name']
    """
    found = []
    parts = [part for part in board.parts if part.pins]
    if parts and not any(part.value for part in parts):
        found.append(
            Unused(
                "no part has a value: kinds and ratings are told from refs, packages "
                "and nets alone; a table or a netlist (--with) can add them",
                board.format,
                len(parts),
            )
        )
    pins = [pin for part in parts if len(part.pins) > 2 for pin in part.pins]
    if pins and not any(pin.name or pin.electrical for pin in pins):
        found.append(
            Unused(
                "no pin of three and more has a name: what each does is inferred; a "
                "table or a netlist (--with) can settle it",
                board.format,
                len(pins),
            )
        )
    return tuple(found)
