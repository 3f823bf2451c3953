"""Small boards for recogniser tests, written as one line a part.

``board("Q1 IRFX Device:Q_NMOS_GDS G=g1 D=VIN S=SW")``: ref, value, symbol, then
pins as NAME=net.  ``3:D=net`` gives number and name, ``3:=net`` a number alone;
otherwise pins are numbered in order.  "-" stands for an empty value or symbol,
``dnp`` among the pins for a part that is not fitted, ``fp:NAME`` for a footprint.
"""

from ohmtrail.netanalysis.board import Board, Part, Pin, make_board
from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise import base_view
from ohmtrail.netanalysis.recognise.rails import supply_tree


def board(text: str) -> Board:
    """Build a board from one line a part; empty lines and ``#`` are skipped."""
    parts = [_part(line) for line in text.strip().splitlines() if _tells(line)]
    return make_board(name="small", format="test", version="", parts=parts)


def view(text: str, **stated: float) -> CircuitView:
    """Everything recognised before stages."""
    return base_view(board(text), stated)


def rails(text: str, *stages: Stage, **stated: float) -> dict:
    """Rails of a small board, by net."""
    return {rail.net: rail for rail in supply_tree(view(text, **stated), stages)}


def _tells(line: str) -> bool:
    return bool(line.strip()) and not line.strip().startswith("#")


def _part(line: str) -> Part:
    ref, value, library, *rest = line.split()
    fitted, footprint, pins = True, "", []
    for word in rest:
        if word == "dnp":
            fitted = False
        elif word.startswith("fp:"):
            footprint = word[3:]
        else:
            name, _, net = word.rpartition("=")
            number, colon, label = name.partition(":")
            if not colon:
                number, label = str(len(pins) + 1), name
            pins.append(Pin(ref, number, net or None, label))
    return Part(
        ref,
        "" if value == "-" else value.replace("~", " "),
        tuple(pins),
        library="" if library == "-" else library,
        footprint=footprint,
        fitted=fitted,
    )
