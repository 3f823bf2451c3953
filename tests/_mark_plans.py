"""A plan of marks that has one of each on every part, with texts that try a writer."""

from collections.abc import Iterable

from ohmtrail.cli.marks.plan import MINUS, PLUS, Cleared, MarkPlan, ProbeMark, Suspect
from ohmtrail.netanalysis.board import Board, Part, Pin

#: Quotes, brackets, a variable, a backslash, an attribute of Lepton's, an end.
HOSTILE = 'reads "4.7 kΩ" (${KIPRJMOD}) {x} \\ net=GND:1 end)'


def full_plan(
    board: Board, parts: Iterable[Part], pins: Iterable[Pin], rail: str = HOSTILE
) -> MarkPlan:
    """Mark these parts as suspects, the board's last ones as cleared, these pins."""
    parts = list(parts)
    others = [part for part in board.parts if part not in parts]
    return MarkPlan(
        rail=rail,
        nets=(rail, *[net.name for net in board.nets if net.name != rail][:2]),
        suspects=tuple(
            Suspect(part.ref, n, f"all shorted, 84 % {HOSTILE}")
            for n, part in enumerate(parts, 1)
        ),
        cleared=tuple(Cleared(part.ref, "a short") for part in others[-9:]),
        probes=tuple(
            ProbeMark(n, role, pin.ref, pin.number, pin.net, HOSTILE, "resistance")
            for n, pin in enumerate(pins, 1)
            for role in (PLUS, MINUS)
        ),
        note=("Marks by a test", f"Board {HOSTILE}", "No mark says that it is safe"),
    )


def schematic_plan(board: Board) -> MarkPlan:
    """The largest net, the first parts, their first pins."""
    parts = board.parts[:12]
    pins = [pin for part in parts for pin in part.pins[:4]]
    rail = max(board.nets, key=lambda net: len(net.pins)).name if board.nets else "N"
    return full_plan(board, parts, pins, rail)
