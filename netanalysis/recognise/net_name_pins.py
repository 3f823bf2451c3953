"""Pin names that a net's name gives away.

KiCad calls a net without a label after one of its pins: ``Net-(U4-VCP)``,
``unconnected-(U1-~{RESET}-Pad6)``.  Formats without pin names (IPC-D-356,
IPC-2581, PADS) still carry such net names, some of them in capitals.
"""

import re

from ohmtrail.netanalysis.board import Board, Pin

__all__ = ["names_from_nets"]

_NET = re.compile(
    r"^(?:.*/)?(?:net|unconnected)-\((?P<ref>[^()]+?)-(?P<name>[^()]+?)"
    r"(?:-pad(?P<pad>[A-Z0-9]+))?\)$",
    re.I,
)
#: Net-(R1-Pad2) names a pin without a name.
_ONLY_PAD = re.compile(r"^pad[A-Z0-9]+$", re.I)
_ESCAPES = {"{slash}": "/", "{colon}": ":", "{lt}": "<", "{gt}": ">", "{dblquote}": '"'}


def names_from_nets(board: Board) -> dict[tuple[str, str], str]:
    """Return names of nameless pins that the names of their nets tell.

    Parameters
    ----------
    board : Board
        The design.

    Returns
    -------
    dict
        Pin name by (ref, pin number); only pins to which the file gives no name.
        Of several pins of the part on the net none is named unless the pad is
        told or all are sure to be one: switch nodes and drains have several
        pads, an enable pin that is tied to a supply shares its net only.

    Notes
    -----
    O(nets) plus the pins of the nets that are called so.
    """
    found: dict[tuple[str, str], str] = {}
    for net in board.nets:
        match = _NET.match(net.name)
        if match is None or _ONLY_PAD.match(match["name"]):
            continue
        ref, name, pad = match["ref"], match["name"], match["pad"]
        mine = [pin for pin in net.pins if pin.ref.casefold() == ref.casefold()]
        if pad is not None:
            mine = [pin for pin in mine if pin.number.casefold() == pad.casefold()]
        if not mine or any(pin.name for pin in mine) or not _one_pin(mine):
            continue
        for escaped, plain in _ESCAPES.items():
            name = re.sub(re.escape(escaped), plain, name, flags=re.I)
        for pin in mine:
            found[pin.ref, pin.number] = name
    return found


def _one_pin(pins: list[Pin]) -> bool:
    """Whether pins are one terminal: one pad, or pads numbered in a row."""
    if len(pins) == 1:
        return True
    numbers = sorted(int(pin.number) for pin in pins if pin.number.isdecimal())
    return len(numbers) == len(pins) and numbers[-1] - numbers[0] == len(pins) - 1
