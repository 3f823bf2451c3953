"""What is to be marked on a board, whatever format its files have."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ohmtrail.cli.render.checklist_text import expect_text

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.checklist.model import Checklist, Step
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.diagnosis.rank import Ranking

__all__ = [
    "MINUS",
    "PLUS",
    "Cleared",
    "MarkPlan",
    "ProbeMark",
    "Suspect",
    "plan_of",
]

PLUS, MINUS = "plus", "minus"
#: Explanations of the ranking that are marked, as many as `rank` prints.
_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Suspect:
    """A part that can explain the readings."""

    ref: str
    #: From 1, likeliest first; parts that no reading tells apart share one.
    number: int
    #: The likeliest of ``faults`` with its chance, "all shorted, 84 %".
    reason: str
    #: Every fault that it is suspected of, likeliest first.
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cleared:
    """A part that is cleared of something, and only of that."""

    ref: str
    #: "a short, up to line 24".
    of: str


@dataclass(frozen=True, slots=True)
class ProbeMark:
    """One needle of one step of the checklist, on a pad."""

    #: The checklist's own number of the step.
    number: int
    #: `PLUS`, the red lead, or `MINUS`.
    role: str
    #: The pad; both "" where the step names a net and no pad of it is known.
    ref: str
    pin: str
    #: None for a pin in no net.
    net: str | None
    #: Expected reading in words, "5.7 to 69 kΩ, ~13"; the same for both needles.
    expect: str
    #: Meter mode.
    mode: str


@dataclass(frozen=True, slots=True)
class MarkPlan:
    """Everything that is marked."""

    rail: str
    #: The shorted net, then the nets that links which always conduct join with it.
    nets: tuple[str, ...]
    suspects: tuple[Suspect, ...]
    cleared: tuple[Cleared, ...]
    #: In the order of the checklist.
    probes: tuple[ProbeMark, ...]
    #: Lines that say what made the marks, from what, and what they mean.
    note: tuple[str, ...]

    def without(self, refs: Iterable[str]) -> "MarkPlan":
        """Return the plan without these parts: for a file that lacks them."""
        gone = frozenset(refs)
        return replace(
            self,
            suspects=tuple(one for one in self.suspects if one.ref not in gone),
            cleared=tuple(one for one in self.cleared if one.ref not in gone),
            probes=tuple(one for one in self.probes if one.ref not in gone),
        )


def plan_of(
    circuit: "Circuit",
    rail: str,
    checklist: "Checklist",
    ranking: "Ranking | None",
    *,
    made: str,
    log: str = "",
) -> MarkPlan:
    """Return what is marked for one shorted net.

    Parameters
    ----------
    circuit : Circuit
    rail : str
        A net of the board, by its full name.
    checklist : Checklist
        That of the rail.
    ranking : Ranking or None
        What the log makes of the suspects; None without a log, and then nobody is
        a suspect or cleared.
    made : str
        Date, as the note shows it.
    log : str
        Name of the log file, "" for none.

    Examples
    --------
    A plan of ``VMAIN`` has ``plan.nets[0] == "VMAIN"``.

    Notes
    -----
    O(steps + parts of the ranking).
    """
    nets = _joined(circuit, rail)
    suspects = () if ranking is None else _suspects(ranking)
    suspected = {one.ref for one in suspects}
    cleared = tuple(
        Cleared(one.ref, one.of)
        for one in (() if ranking is None else ranking.cleared)
        if one.ref not in suspected
    )
    return MarkPlan(
        rail,
        nets,
        suspects,
        cleared,
        tuple(_probes(circuit.board, checklist)),
        tuple(_note(circuit.board, rail, nets, ranking, made, log)),
    )


def _joined(circuit: "Circuit", rail: str) -> tuple[str, ...]:
    from ohmtrail.netanalysis.graph import view_of
    from ohmtrail.netanalysis.query import links_reach

    reached = links_reach(view_of(circuit), rail)
    return tuple(net for net, way in reached.items() if way.always)


def _suspects(ranking: "Ranking") -> tuple[Suspect, ...]:
    from ohmtrail.netanalysis.diagnosis.words import share_text

    found: dict[str, Suspect] = {}
    number = 0
    for one in ranking.suspects[:_SHOWN]:
        new = [ref for ref in dict.fromkeys(one.parts) if ref not in found]
        number += bool(new)
        for ref in dict.fromkeys(one.parts):
            if ref in new:
                reason = f"{one.fault}, {share_text(one.probability)}"
                found[ref] = Suspect(ref, number, reason, (one.fault,))
            elif one.fault not in found[ref].faults:
                known = found[ref]
                found[ref] = replace(known, faults=(*known.faults, one.fault))
    return tuple(found.values())


def _probes(board: "Board", checklist: "Checklist") -> Iterable[ProbeMark]:
    for section in checklist.sections:
        for step in section.steps:
            if step.mode is None:
                continue
            expect = _expect(step)
            for role, point, near in (
                (PLUS, step.plus, step.plus_near),
                (MINUS, step.minus, step.minus_near),
            ):
                if point is None:
                    continue
                ref, pin, net = _pad(board, point, near)
                yield ProbeMark(step.n, role, ref, pin, net, expect, step.mode)


def _expect(step: "Step") -> str:
    text = expect_text(step)
    return f"{text} ({' '.join(step.lifted)} off)" if step.lifted else text


def _pad(board: "Board", point: str, near: str) -> tuple[str, str, str | None]:
    """Return (ref, pin, net) of a probe point of a step."""
    from ohmtrail.netanalysis.probe_points import find_point

    found = find_point(board, point)
    if found.pin is None and near:
        found = find_point(board, f"pin:{near}")
    if found.pin is None:
        return "", "", found.net
    return found.pin.ref, found.pin.number, found.pin.net


def _note(
    board: "Board",
    rail: str,
    nets: tuple[str, ...],
    ranking: "Ranking | None",
    made: str,
    log: str,
) -> Iterable[str]:
    from ohmtrail import __version__

    yield f"Marks by ohmtrail {__version__}, {made}"
    told = f"log {log}" if log else "no log: nobody is ranked"
    yield f"Board {board.name}, net {rail}, {told}"
    yield "Thick line: the net"
    if nets[1:]:
        shown = ", ".join(nets[1:7]) + (f" and {len(nets) - 7} more" * (len(nets) > 7))
        yield f"Dashed line: joined with it by links that conduct ({shown})"
    if ranking is not None:
        yield "Frame with #number: suspect, #1 the likeliest"
        left = len(ranking.suspects) - _SHOWN
        if left > 0:
            yield f"Not framed: {left} further suspects, see 'ohmtrail rank'"
        yield "Thin stroke: cleared of a short so far, and of no more"
    yield "Flag: step of the probe checklist, + red lead, - black, and what to expect"
    yield "Take the steps in their order: all cold readings come before any power"
    yield "No mark says that the board is safe to power"
