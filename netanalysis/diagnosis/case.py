"""A board and its bench log as numbers: what was read, in which state, of what."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import compress

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.coupling import Coupling
from ohmtrail.netanalysis.diagnosis.epochs import Timeline, timeline
from ohmtrail.netanalysis.diagnosis.faults import (
    Fault,
    all_faults,
    by_ref,
    chain_faults,
)
from ohmtrail.netanalysis.diagnosis.in_hand import hand_loads, hand_paths, ties_of
from ohmtrail.netanalysis.diagnosis.junctions import Junctions
from ohmtrail.netanalysis.diagnosis.log import Log
from ohmtrail.netanalysis.diagnosis.paths import (
    CommonPath,
    common_paths,
    openings,
    usual_paths,
    usual_siemens,
)
from ohmtrail.netanalysis.diagnosis.pieces import pieces_of
from ohmtrail.netanalysis.diagnosis.problem import NO_PATHS, Problem, settled
from ohmtrail.netanalysis.diagnosis.reading_noise import AMPS_SPREAD
from ohmtrail.netanalysis.diagnosis.readings import (
    Reading,
    State,
    hand_node,
    most_read,
    readings_of,
    state_of,
)
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.injection_reach import InjectionIndex
from ohmtrail.netanalysis.network.build import board_scene, build_network
from ohmtrail.netanalysis.own_ground import own_ground
from ohmtrail.netanalysis.probe_points import ProbePoint
from ohmtrail.netanalysis.query import links_reach

__all__ = ["Case"]

#: Range of a meter's leads that were not nulled, in ohms (common practice).
_LEADS = (0.02, 0.09, 0.4)
#: How much more the copper's sheets have than half a milliohm a square: thin foil
#: and narrow strips, or planes (common practice, no source).
_COPPER = (0.3, 1.0, 6.0)
#: By how much the pads of one culprit may hang more or less on their copper than pads
#: do, with the probed part's in it (common practice, no source).
_PADS = (0.83, 1.0, 1.2)
#: Range of a meter's gain error, the same for all its readings (common practice).
_GAIN = 0.0125
#: The same for the injected current: a range as wide as 2.5 of its spreads.
_AMPS = 1.25 * AMPS_SPREAD


class Case:
    """Everything about one board and one log that does not depend on a hypothesis.

    Parameters
    ----------
    circuit : Circuit
    log : Log
    more : iterable of Fault, optional
        Faults that somebody suggests, beside those that every board can have; with
        weight 0 they are no suspects.

    Notes
    -----
    Readings from before a power-up that killed something belong to another board:
    they are left out, and what stood on the board then is suspect anew.
    """

    def __init__(self, circuit: Circuit, log: Log, more: Iterable[Fault] = ()) -> None:
        self.circuit = circuit
        self.log = log
        self._ways_on: dict[str, dict[str, str]] = {}
        self._main_loads: dict[str, tuple[str, ...]] = {}
        self._grounds: dict[str, str] = {}
        self._joined: dict[tuple[str, frozenset[str]], frozenset[str]] = {}
        self._fewer: dict[bytes, NDArray[np.float64]] = {}
        self.view = view_of(circuit)
        self.scene = board_scene(circuit, self.view)
        self.timeline: Timeline = timeline(log.events)
        self.died_at = max(
            (
                i
                for i, one in enumerate(self.timeline.placed)
                if one.event.action == "power" and one.event.word == "died"
            ),
            default=-1,
        )
        self.ground = circuit.ground[0] if circuit.ground else ""
        junctions = Junctions(circuit, self.view)
        self.readings = tuple(readings_of(self.timeline, self.died_at, junctions))
        now = self.timeline.now
        self.now = state_of(now)
        asked = {
            net
            for one in self.readings
            for net in (one.plus.net, one.minus.net)
            if net is not None and not self.view.is_ground(net)
        }
        known = all_faults(circuit, self.view, asked)
        self.faults: tuple[Fault, ...] = (*known, *more)
        self.chains = chain_faults(circuit, self.view)
        self.pieces = pieces_of(self.timeline, self.died_at)
        moved = {
            one.event.part
            for one in self.timeline.placed
            if one.event.action in ("lift", "fit") and one.event.part
        } | set(now.off)
        self.moved = frozenset(moved)
        network = self.network = build_network(circuit, scene=self.scene)
        self.common: tuple[CommonPath, ...]
        common, fixed = common_paths(self.scene, circuit, network, asked, moved)
        hand = self._in_hand()
        hands, hand_nodes = hand_paths(self.view, network.resistances, hand)
        loads = hand_loads(circuit, self.scene, network.resistances, hand)
        self.common = (*common, *loads)
        self._fixed = (*fixed, *hands)
        self._opening = openings(self._fixed, self.faults)
        #: Parts whose resistance is an unknown of its own.
        self.shared = frozenset(path.ref for path in self.common if path.ref)
        self._nodes = (*network.nodes, *hand_nodes)
        #: The injection whose current is an unknown of its own.
        self.injection_line = most_read(self.readings)
        self.states = tuple(dict.fromkeys(one.state for one in self.readings))

    def piece(self, ref: str) -> int:
        """Return which piece of a part is on the board, or was lifted last."""
        return self.timeline.now.piece(ref)

    @cached_property
    def fresh(self) -> frozenset[str]:
        """Parts fitted new since the last failure under power."""
        return frozenset(
            one.event.part
            for i, one in enumerate(self.timeline.placed)
            if one.event.action == "fit"
            and one.event.word == "new"
            and one.event.part
            and i > self.died_at
        )

    @cached_property
    def injection(self) -> InjectionIndex:
        """The board indexed for questions about injection."""
        return InjectionIndex(self.circuit, self.view)

    def joined(
        self, *nets: str | None, off: frozenset[str] = frozenset()
    ) -> frozenset[str]:
        """Return nets with all that links join to them, ground left out.

        Links in ``off`` are off the board.
        """
        found: set[str] = set()
        for net in nets:
            if net is None or self.view.is_ground(net):
                continue
            if (net, off) not in self._joined:
                reached = {net, *links_reach(self.view, net, off)}
                mine = frozenset(n for n in reached if not self.view.is_ground(n))
                self._joined[net, off] = mine
            found |= self._joined[net, off]
        return frozenset(found)

    def gateway(self, net: str, other: str) -> str:
        """Return the link through which a net reaches another, empty for none."""
        if self.view.is_ground(net) or self.view.is_ground(other):
            return ""
        if net not in self._ways_on:
            reached = links_reach(self.view, net)
            self._ways_on[net] = {
                name: way.via[0] for name, way in reached.items() if way.via
            }
        return self._ways_on[net].get(other, "")

    def ground_of(self, net: str) -> str:
        """Return the ground that a rail is read against, empty where none is known."""
        found = self._grounds.get(net)
        if found is None:
            found = self._grounds[net] = own_ground(self.view, net)
        return found

    def main_loads(self, rail: str) -> tuple[str, ...]:
        """Return the chips that take most of a rail's current: most pins on it."""
        found = self._main_loads.get(rail)
        if found is None:
            known = next((one for one in self.circuit.rails if one.net == rail), None)
            pins = {
                ref: len(self.view.pins_on(ref, rail))
                for ref in (known.loads if known is not None else ())
            }
            most = max(pins.values(), default=0)
            found = tuple(ref for ref, count in pins.items() if 2 * count > most)
            self._main_loads[rail] = found
        return found

    def _in_hand(self) -> set[str]:
        """Return parts that were measured in the hand, or could be now."""
        found = {one.state.hand[0] for one in self.readings if one.state.hand}
        return found | set(self.now.off)

    def faults_of(self, ref: str) -> tuple[Fault, ...]:
        """Return what can be wrong with a part."""
        return self._by_ref.get(ref, ())

    @cached_property
    def _by_ref(self) -> Mapping[str, tuple[Fault, ...]]:
        return by_ref(self.faults)

    # -- the numbers -------------------------------------------------------

    def opening(self, ref: str) -> tuple[tuple[tuple[str, str], float], ...]:
        """Return what goes when a part goes open: node pairs and their siemens."""
        return self._opening.get(ref, ())

    def node(self, point: ProbePoint, state: State) -> str:
        """Return the node that a probe is on."""
        net = point.net or ""
        return hand_node(state.hand[0], net) if state.hand is not None else net

    @cached_property
    def columns(self) -> dict[tuple[str, str], int]:
        """The column of every pair of nodes that can matter; 0 stands for none."""
        pairs: dict[tuple[str, str], int] = {}
        hands = self._in_hand()

        def add(a: str, b: str) -> None:
            if (a, b) not in pairs:
                pairs[a, b] = len(pairs)

        for path in self.common:
            add(path.a, path.b)
        for one in self.readings:
            add(*self.ends(one))
            if one.drive is not None:
                add(*one.drive)
        for fault in self.faults:
            for way in fault.paths:
                add(way.a, way.b)
                if fault.ref in hands:
                    add(hand_node(fault.ref, way.a), hand_node(fault.ref, way.b))
            if fault.open:
                for ends, _ in self.opening(fault.ref):
                    add(*ends)
        from ohmtrail.netanalysis.diagnosis.candidates import usual_pairs

        for pair in usual_pairs(self):
            add(*pair)
        return pairs

    @cached_property
    def coupling(self) -> Coupling:
        """The fixed part of the board, solved once."""
        fixed = (*self._fixed, *usual_paths(self.common))
        return Coupling(self._nodes, fixed, tuple(self.columns))

    @cached_property
    def problem(self) -> Problem:
        """The readings and what every hypothesis shares."""
        return self.numbers(self.readings, self.states)

    def numbers(
        self,
        readings: Sequence[Reading],
        states: Sequence[State],
        keep: NDArray[np.bool_] | None = None,
    ) -> Problem:
        """Return readings as numbers; their columns must be known by now.

        Parameters
        ----------
        readings : sequence of Reading
            From the log, or imagined ones.
        states : sequence of State
            Every board state that they name.
        keep : ndarray of bool, shape (M + NO_PATHS,), optional
            Common paths that stay unknown; the doubt about the others counts as
            doubt about the reading.
        """
        common = [self.columns[path.a, path.b] for path in self.common]
        pads, copper, lead = (
            tuple(math.log(one) for one in ends) for ends in (_PADS, _COPPER, _LEADS)
        )
        logs = [
            *(path.logs for path in self.common),
            (-_AMPS, 0.0, _AMPS),
            pads,
            copper,
            (-_GAIN, 0.0, _GAIN),
            lead,
        ]
        none = NO_PATHS * [False]
        index = {state: i for i, state in enumerate(states)}
        column = _ints(self.columns[self.ends(one)] for one in readings)
        raw = Problem(
            q=self.coupling.q,
            common=_ints([*common, *(0 for _ in range(NO_PATHS))]),
            common_low=np.array([one[0] for one in logs]),
            common_log=np.array([one[1] for one in logs]),
            common_high=np.array([one[2] for one in logs]),
            beside=np.array([*(path.is_load for path in self.common), *none], float),
            base=np.array([*usual_siemens(self.common), *none], float),
            column=column,
            drive=_ints(
                self.columns[one.drive] if one.drive is not None else column[i]
                for i, one in enumerate(readings)
            ),
            state=_ints(index[one.state] for one in readings),
            log_value=np.array([one.noise.log_value for one in readings]),
            leads=np.array([one.noise.leads for one in readings]),
            driven=np.array(
                [one.drop_of(self.injection_line) for one in readings], float
            ),
            bias=np.array([one.noise.bias_ohms for one in readings]),
            bias_sd=np.array([one.noise.sd_ohms for one in readings]),
            meter_sd=np.array([one.relative(self.injection_line) for one in readings]),
            at_least=np.array([one.noise.at_least for one in readings], bool),
            doubt=np.zeros(len(readings)),
            healthy=np.ones(len(readings)),
            states=max(1, len(states)),
            tied=ties_of(self.common),
        )
        from ohmtrail.netanalysis.diagnosis.doubt import with_doubt

        return with_doubt(self, raw, states, keep)

    def ends(self, reading: Reading) -> tuple[str, str]:
        """Return the nodes under the red and the black probe."""
        state = reading.state
        return self.node(reading.plus, state), self.node(reading.minus, state)

    def kept(self, keep: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return the common paths that stay unknown: also those of parts moved.

        Parameters
        ----------
        keep : ndarray of bool, shape (M + NO_PATHS,)
            Which the readings ask for.
        """
        moved = [path.ref in self.moved for path in self.common]
        every: NDArray[np.bool_] = keep | np.array(moved + NO_PATHS * [True])
        return every

    def without(self, keep: NDArray[np.bool_], problem: Problem) -> Problem:
        """Return the problem with the other common paths fixed at their usual value.

        Parameters
        ----------
        keep : ndarray of bool, shape (M + NO_PATHS,)
            Which stay unknown, see `kept`.
        problem : Problem
        """
        key = keep.tobytes()
        if key not in self._fewer:
            self._fewer[key] = settled(problem, np.flatnonzero(~keep))
        return replace(
            problem,
            q=self._fewer[key],
            common=problem.common[keep],
            common_low=problem.common_low[keep],
            common_log=problem.common_log[keep],
            common_high=problem.common_high[keep],
            beside=problem.beside[keep],
            base=problem.base[keep],
            tied=ties_of(tuple(compress(self.common, keep))),
        )

    def there(self, states: Iterable[State]) -> NDArray[np.bool_]:
        """Return which common paths are on the board in each state.

        Shape (S, M + NO_PATHS).
        """
        none = NO_PATHS * [False]
        return np.array(
            [
                [path.there(state.off, state.hand) for path in self.common] + none
                for state in states
            ],
            bool,
        ).reshape(-1, len(self.common) + NO_PATHS)


def _ints(values: Iterable[int]) -> NDArray[np.intp]:
    return np.array(list(values), np.intp)
