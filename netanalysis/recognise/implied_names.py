"""Names for nameless pins, for the recognisers alone.

The board keeps what its file says.  Where a file gives a chip's pins no names
the recognisers read a copy in which net names and topology have filled some in;
every role that rests on one is inferred and says why.
"""

from collections.abc import Mapping
from dataclasses import replace

from ohmtrail.netanalysis.board import Board, Part, make_board
from ohmtrail.netanalysis.circuit import Role
from ohmtrail.netanalysis.graph import CircuitView, index_board
from ohmtrail.netanalysis.recognise.chip_topology import names_from_topology
from ohmtrail.netanalysis.recognise.current_sensors import conductor_names
from ohmtrail.netanalysis.recognise.net_name_pins import names_from_nets

__all__ = ["Implied", "implied_by_nets", "implied_names", "inferred", "with_names"]

#: (name, reason) by (ref, pin number).
Implied = dict[tuple[str, str], tuple[str, str]]


def implied_by_nets(board: Board) -> Implied:
    """Return the names that net names and current sensors' pins tell, with reasons."""
    found = {
        key: (name, f"the net is called after this pin, {name}")
        for key, name in names_from_nets(board).items()
        if not _named(board.part_by_ref[key[0]])
    }
    for part in board.parts:
        if not _named(part):
            for number, told in conductor_names(part).items():
                found.setdefault((part.ref, number), told)
    return found


def _named(part: Part) -> bool:
    return any(pin.name for pin in part.pins)


def implied_names(view: CircuitView, board: Board) -> Implied:
    """Return names that topology gives chips without any, with the reason.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground, links, roles and first rails; its board already has
        the names that net names tell.
    board : Board
        As the file has it; parts with names there are left alone.
    """
    found: Implied = {}
    for part in view.board.parts:
        if view.kind(part.ref) not in ("chip", "other") or not view.fitted(part.ref):
            continue
        if _named(board.part_by_ref[part.ref]):
            continue
        for number, told in names_from_topology(view, part).items():
            pin = part.pin(number)
            if pin is not None and not pin.name:
                found[part.ref, number] = told
    return found


def board_with_names(board: Board, implied: Implied) -> Board:
    """Return a copy of a board with names filled in; the board itself if none."""
    if not implied:
        return board
    touched = {ref for ref, _ in implied}
    parts = [
        replace(
            part,
            pins=tuple(
                replace(pin, name=implied[pin.ref, pin.number][0])
                if (pin.ref, pin.number) in implied and not pin.name
                else pin
                for pin in part.pins
            ),
        )
        if part.ref in touched
        else part
        for part in board.parts
    ]
    return make_board(
        name=board.name,
        format=board.format,
        version=board.version,
        parts=parts,
        net_order=(net.name for net in board.nets),
        aliases={net.name: net.aliases for net in board.nets if net.aliases},
        sheets=board.sheets,
        unused=board.unused,
    )


def with_names(view: CircuitView, implied: Implied) -> CircuitView:
    """Return a view over the board with names filled in."""
    if not implied:
        return view
    return replace(view, index=index_board(board_with_names(view.board, implied)))


def inferred(
    roles: Mapping[tuple[str, str], Role], implied: Implied
) -> dict[tuple[str, str], Role]:
    """Return roles, those on filled-in names marked inferred with the reason."""
    return {
        key: replace(role, because=implied[key][1], inferred=True)
        if key in implied
        else role
        for key, role in roles.items()
    }
