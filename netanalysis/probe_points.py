"""Where a probe goes: a pad (``REF.PIN``) or a net, from what people type."""

from dataclasses import dataclass

from ohmtrail.netanalysis.board import Board, Part, Pin
from ohmtrail.netanalysis.nearest import NotOnBoardError, nearest

__all__ = ["ProbePoint", "find_net", "find_part", "find_point"]

_SHOWN_MAX = 4


@dataclass(frozen=True, slots=True)
class ProbePoint:
    """A pad, or a net touched wherever convenient."""

    #: The net under the probe; None for a pad that is in no net.
    net: str | None
    #: The pad, None where any point of the net will do.
    pin: Pin | None = None

    def __str__(self) -> str:
        """Return the point as the command line takes it."""
        return self.pin.key if self.pin is not None else str(self.net)


def _missing(what: str, asked: str, near: tuple[str, ...]) -> NotOnBoardError:
    hint = f"; nearest: {', '.join(near)}" if near else ""
    return NotOnBoardError(f"no {what} {asked!r} on the board{hint}", asked, near)


def _several(what: str, asked: str, found: list[str]) -> NotOnBoardError:
    shown = ", ".join(found[:_SHOWN_MAX])
    more = f" and {len(found) - _SHOWN_MAX} more" if len(found) > _SHOWN_MAX else ""
    return NotOnBoardError(
        f"{asked!r} can be any of {len(found)} {what}s: {shown}{more}; "
        "give the whole name",
        asked,
        found,
    )


def _net_matches(board: Board, asked: str) -> list[str]:
    """Return nets of this name, by the first rule that finds any."""
    if asked in board.net_by_name:
        return [asked]
    aliased = [net.name for net in board.nets if asked in net.aliases]
    if aliased:
        return aliased
    tail = "/" + asked.lstrip("/")
    rooted = [net.name for net in board.nets if ("/" + net.name).endswith(tail)]
    if rooted:
        return rooted
    folded = asked.casefold()
    whole = [net.name for net in board.nets if net.name.casefold() == folded]
    if whole:
        return whole
    return [
        net.name
        for net in board.nets
        if ("/" + net.name).casefold().endswith(tail.casefold())
    ]


def _pin_at(board: Board, asked: str) -> Pin | None:
    """Return the pad ``REF.PIN``; refs and pins may hold dots themselves."""
    at = asked.rfind(".")
    while at > 0:
        part = board.part_by_ref.get(asked[:at])
        if part is not None:
            pin = part.pin(asked[at + 1 :])
            if pin is not None:
                return pin
        at = asked.rfind(".", 0, at)
    return None


def find_net(board: Board, asked: str) -> str:
    """Return the name of the net that is meant.

    Takes the whole name, a label that lost, the last components of the path when
    unique, any of them in other case when unique, or a pad for the net that it
    is on.  ``net:`` and ``pin:`` in front settle doubt.

    Raises
    ------
    NotOnBoardError
        If there is none, with the nearest names, or several.

    Notes
    -----
    O(nets).
    """
    if asked.startswith("pin:"):
        point = find_point(board, asked)
        if point.net is None:
            raise NotOnBoardError(f"pad {point} is in no net", asked)
        return point.net
    name = asked.removeprefix("net:")
    found = _net_matches(board, name)
    if len(found) == 1:
        return found[0]
    if found:
        raise _several("net", name, found)
    pin = _pin_at(board, asked)
    if pin is not None and pin.net is not None:
        return pin.net
    raise _missing("net", name, nearest(name, board.net_by_name, always=True))


def find_part(board: Board, asked: str) -> Part:
    """Return the part that is meant; other case will do when unique.

    Raises
    ------
    NotOnBoardError
        If there is none, with the nearest refs, or several.
    """
    part = board.part_by_ref.get(asked)
    if part is not None:
        return part
    folded = asked.casefold()
    found = [ref for ref in board.part_by_ref if ref.casefold() == folded]
    if len(found) == 1:
        return board.part_by_ref[found[0]]
    if found:
        raise _several("part", asked, found)
    raise _missing("part", asked, nearest(asked, board.part_by_ref, always=True))


def find_point(board: Board, asked: str) -> ProbePoint:
    """Return the pad or net that is meant.

    ``REF.PIN`` is a pad, anything else a net; ``pin:`` and ``net:`` settle doubt.

    Raises
    ------
    NotOnBoardError
        If there is neither, with the nearest names; if the text is both a pad and
        a net; or if it can be several nets.
    """
    if asked.startswith("net:"):
        return ProbePoint(find_net(board, asked))
    text = asked.removeprefix("pin:")
    pin = _pin_at(board, text)
    if pin is not None:
        if text in board.net_by_name and not asked.startswith("pin:"):
            raise NotOnBoardError(
                f"{text!r} is a pad and a net; say pin:{text} or net:{text}", text
            )
        return ProbePoint(pin.net, pin)
    ref, dot, _ = text.rpartition(".")
    if dot and ref in board.part_by_ref and text not in board.net_by_name:
        pins = [pin.key for pin in board.part_by_ref[ref].pins]
        raise _missing("pad", text, nearest(text, pins) or tuple(pins[:_SHOWN_MAX]))
    if asked.startswith("pin:"):
        raise _missing(
            "pad", text, nearest(ref or text, board.part_by_ref, always=True)
        )
    return ProbePoint(find_net(board, text))
