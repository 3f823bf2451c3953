"""Every cold step's range, from the solved board.

The makers of steps know what common practice says of a kind of reading; here each
step is asked of the network itself, with all that lies across its two points.  The
network's answer replaces common practice, but where a load or a part takes part that
the network knows nothing of: there the wider of the two stands.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.checklist.expectations import PRACTICE, UNKNOWN_RAIL
from ohmtrail.netanalysis.checklist.model import COLD, Expect, Section, Step
from ohmtrail.netanalysis.checklist.solved_words import (
    LETTERS_MAX,
    range_words,
    source_words,
    unknown_words,
)
from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.evidence import Evidence
from ohmtrail.netanalysis.network.expect import expect_many
from ohmtrail.netanalysis.network.expect_good import beside_good_board
from ohmtrail.netanalysis.network.expectation import Expectation
from ohmtrail.netanalysis.network.load_classes import (
    UNKNOWN_LOAD,
    is_unknown_load,
)
from ohmtrail.netanalysis.network.solve import Solver
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.probe_points import ProbePoint, find_point
from ohmtrail.netanalysis.query import links_reach

__all__ = ["solved_sections"]

_MODES = ("resistance", "four-wire", "diode")
#: A load of unknown size that takes the lowest reading down by this factor decides it.
_DECIDES = 3.0
#: Readings that differ by this factor both ways show silicon at a glance (CP).
_TELLS = 1.5
#: Digits kept: what differs beyond is rounding of the solution.
_DIGITS = 6
#: Below this many volts diode mode shows a load, not a junction.
_LOAD_VOLTS = 0.3
#: What makers of steps say where they expect no path, and what is so where there is.
_OPEN_IS_GOOD = "Open is good here"
_PATH_OPEN = "A path that should be there is open: a part of the source, or its solder"
#: Above this a junction's own leakage takes part in what is read (CP).
_LEAKS_OHMS = 1e6
#: "; healthy 17k to 58.8k: "
_HEALTHY_LETTERS = 25
#: How sources start that are readings.
_READ = ("good board, ", "sister stages of this board, ")
#: How `expect` starts its notes.
_DUMB = "nothing is known of what "
_WAKES = "the test voltage wakes junctions"


@dataclass(frozen=True, slots=True)
class _Asked:
    """One question to the network: what is off, mode, and the nodes."""

    lifted: tuple[str, ...]
    mode: str
    red: str
    black: str


def solved_sections(
    board: SolvedBoard,
    sections: Iterable[Section],
    evidence: Evidence | None = None,
) -> tuple[Section, ...]:
    """Return the sections with the range of every cold reading computed.

    Parameters
    ----------
    board : SolvedBoard
        The board as drawn.
    sections : iterable of Section
        From the makers of steps.
    evidence : Evidence, optional
        Readings of a good board; ``board`` is narrowed by them already.

    Notes
    -----
    Every pair of nets is solved once a mode and state, however many steps read it.
    """
    return _Pass(board, evidence).sections(tuple(sections))


def _node(point: ProbePoint) -> str:
    if point.net is not None:
        return point.net
    assert point.pin is not None, "a point is a pad or a net"
    return f"{point.pin.ref}#{point.pin.number}"


class _Pass:
    def __init__(self, board: SolvedBoard, evidence: Evidence | None) -> None:
        self.board = board
        self.evidence = evidence
        self.points: dict[str, ProbePoint] = {}
        self.found: dict[_Asked, Expectation] = {}
        self.burdened: set[_Asked] = set()
        self.loads: set[str] | None = None
        self.reached: dict[str, tuple[str, ...]] = {}

    def point(self, text: str) -> ProbePoint:
        if text not in self.points:
            self.points[text] = find_point(self.board.circuit.board, text)
        return self.points[text]

    def asked(self, step: Step) -> _Asked | None:
        """Return the question that a step is; None for all but cold readings."""
        if step.phase != COLD or step.mode not in _MODES:
            return None
        assert step.plus is not None
        assert step.minus is not None
        red, black = _node(self.point(step.plus)), _node(self.point(step.minus))
        return _Asked(step.lifted, step.mode, red, black)

    def sections(self, sections: Sequence[Section]) -> tuple[Section, ...]:
        asked = [[self.asked(step) for step in one.steps] for one in sections]
        once = dict.fromkeys(one for some in asked for one in some if one is not None)
        for lifted in dict.fromkeys(one.lifted for one in once):
            self.solve(lifted, [one for one in once if one.lifted == lifted])
        return tuple(
            replace(
                section,
                steps=tuple(
                    step if one is None else self.finished(step, one)
                    for step, one in zip(section.steps, some, strict=True)
                ),
            )
            for section, some in zip(sections, asked, strict=True)
        )

    def solve(self, lifted: tuple[str, ...], asked: Sequence[_Asked]) -> None:
        """Solve all questions about one state of the board."""
        solved = self.board.lifted(lifted)
        wanted = [(o.mode, ProbePoint(o.red), ProbePoint(o.black)) for o in asked]
        off = self.board.state.lifted.union(lifted)
        for one, found in zip(
            asked, expect_many(solved, wanted, swap=True), strict=True
        ):
            if self.evidence is not None:
                found = beside_good_board(found, self.evidence, one.red, one.black, off)
            self.found[one] = found
        self.unburden(solved, asked)

    def unburden(self, solved: SolvedBoard, asked: Sequence[_Asked]) -> None:
        """Find the pairs whose low end a load that nobody knows decides."""
        resistances = solved.network.resistances
        known = tuple(one for one in resistances if not is_unknown_load(one))
        if len(known) == len(resistances):
            return
        pairs = [(one.red, one.black) for one in asked]
        bare = Solver(Network(solved.network.nodes, known), "low").resistances(pairs)
        laden = solved.corners.solvers["low"].resistances(pairs)
        for one, without, ohms in zip(asked, bare, laden, strict=True):
            if without > _DECIDES * ohms:
                self.burdened.add(one)

    def finished(self, step: Step, one: _Asked) -> Step:
        """Return the step with what the network says of its two points."""
        solved = self.board.lifted(one.lifted)
        found = self.found[one]
        if found.low is None or found.high is None:
            return step
        own = step.parts[0] if step.parts else None
        nets = [one.red, one.black]
        signals = [net for net in nets if not solved.scene.view.is_ground(net)]
        beyond = frozenset(there for net in signals for there in self.reach(net))
        room = LETTERS_MAX
        if step.compare or step.source.startswith(f"{PRACTICE} for "):
            room -= len(step.source) + _HEALTHY_LETTERS
        source = source_words(
            found, solved, (one.red, one.black), own, beyond, max(room, 50)
        )
        if found.source.startswith(_READ):
            source = f"{found.source.partition(';')[0]}; {source}"
        low, typical, high = found.low, found.typical, found.high
        if high > _LEAKS_OHMS and any(note.startswith(_WAKES) for note in found.notes):
            # No law of a junction holds for so little current: leakage decides.
            high = math.inf
        # What the network does not know of can only lower a reading.
        rail = step.expect if step.source.startswith(f"{PRACTICE} for ") else None
        loaded = self.loaded(one, solved)
        if rail is not None and not loaded:
            low = _lower(low, rail)
            most = f"at most {source}" if found.because else "no load is on the drawing"
            source = f"{step.source}; {most}"
        dumb = next((note for note in found.notes if note.startswith(_DUMB)), "")
        if dumb:
            low = 0.0 if step.expect is None else _lower(found.low, step.expect)
            typical, source = None, f"unknown: {dumb}; at most {source}"
        bare_rail = step.source.startswith(UNKNOWN_RAIL) and not loaded
        decided = one in self.burdened and (
            found.unit == "ohms" or found.low < _LOAD_VOLTS
        )
        if bare_rail or decided:
            low, typical = min(low, UNKNOWN_LOAD.low) if bare_rail else low, None
            source = unknown_words(self.unknown_nets(found, solved, signals), low)
        expect = Expect(
            _kept(low),
            None if typical is None else _kept(min(max(typical, low), high)),
            _kept(high),
            found.unit,
        )
        if step.compare and step.source:
            healthy = range_words(low, high)
            source = f"{step.source}; healthy {healthy}: {source}"
        # Where something unknown takes part, so it does the other way round.
        swapped = None if typical is None else _swapped(found)
        return replace(
            step,
            expect=expect,
            swapped=None if swapped is None else _kept(swapped),
            source=source,
            if_high=_if_high(step, expect),
        )

    def loaded(self, one: _Asked, solved: SolvedBoard) -> bool:
        """Whether a load is known at the probes or beyond links.

        Where none is, one may hang on a plug.
        """
        view = solved.scene.view
        if self.loads is None:
            off = self.board.state.lifted
            self.loads = {net for ref, net in self.board.scene.loads if ref not in off}
        ends = [net for net in (one.red, one.black) if not view.is_ground(net)]
        return any(
            beyond in self.loads
            for net in ends
            for beyond in (net, *self.reach(net))
            if not view.is_ground(beyond)
        )

    def reach(self, net: str) -> tuple[str, ...]:
        """Return the nets beyond the links of a net."""
        if net not in self.reached:
            board = self.board.circuit.board
            known = net in board.net_by_name
            found = links_reach(self.board.scene.view, net) if known else ()
            self.reached[net] = tuple(found)
        return self.reached[net]

    def unknown_nets(
        self, found: Expectation, solved: SolvedBoard, signals: Sequence[str]
    ) -> list[str]:
        """Return the nets whose loads nobody knows, those at the probes first."""
        view = solved.scene.view
        nets = dict.fromkeys(
            net
            for ref in found.because
            for path in solved.elements(ref)
            if isinstance(path, Resistance) and is_unknown_load(path)
            for net in (path.a, path.b)
            if not view.is_ground(net)
        )
        near = {there for net in signals for there in self.reach(net)}
        return [net for net in nets if net in near] or list(nets) or list(signals)


def _lower(low: float, practice: Expect) -> float:
    """Return the lower of a computed end and that of common practice."""
    return min(low, practice.low) if isinstance(practice.low, float) else low


def _swapped(found: Expectation) -> float | None:
    """Return the reading with the probes swapped where anybody would see that."""
    there, back = found.typical, found.swapped
    if there is None or back is None:
        return None
    low, high = sorted((there, back))
    return back if high >= _TELLS * low else None


def _kept(value: float) -> float | str:
    return "OL" if math.isinf(value) else float(f"{value:.{_DIGITS}g}")


def _if_high(step: Step, expect: Expect) -> str:
    """Return what a high reading means; "open is good" only where OL is in range."""
    if expect.high == "OL" or not step.if_high.startswith(_OPEN_IS_GOOD):
        return step.if_high
    return step.if_high.replace(_OPEN_IS_GOOD, _PATH_OPEN, 1)
