"""What an injection says of a hypothesis: the culprit gets warm, else the loads do."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.log import Event
from ohmtrail.netanalysis.diagnosis.readings import State, state_of

__all__ = [
    "FELT",
    "LEAST_WATTS",
    "MISTAKEN",
    "Injected",
    "felt_watts",
    "heat_evidence",
    "injections",
    "loads_near",
]

#: Chance that the culprit is felt or seen to heat, and that something else on the
#: board is taken for it (common practice, no source).
FELT, MISTAKEN = 0.7, 0.05
#: Below this much power nothing is felt, in watts (common practice).
LEAST_WATTS = 0.2
#: Parts that share the chance of a mistake.
_OTHERS = 10.0


def loads_near(case: Case, nets: tuple[str | None, ...]) -> frozenset[str]:
    """Return the loads of the rails at some nets and beyond their links."""
    reached = case.joined(*nets)
    return frozenset(
        ref for rail in case.circuit.rails if rail.net in reached for ref in rail.loads
    )


class Injected(NamedTuple):
    """One injection of this life of the board."""

    state: State
    nets: frozenset[str]
    loads: frozenset[str]
    #: What got hot, None where nothing did.
    hot: str | None


def injections(case: Case) -> tuple[Injected, ...]:
    """Return the injections since the last failure under power."""
    return tuple(
        Injected(
            state_of(one.epoch),
            case.joined(*one.event.nets),
            loads_near(case, tuple(one.event.nets)),
            one.event.part,
        )
        for i, one in enumerate(case.timeline.placed)
        if one.event.action == "inject" and i > case.died_at and _telling(one.event)
    )


def felt_watts(volts: float | None, amps: float | None) -> bool:
    """Whether so much power can be felt on a part; yes where it is not known."""
    return volts is None or amps is None or volts * amps >= LEAST_WATTS


def _telling(event: Event) -> bool:
    return event.part is not None or felt_watts(event.volts, event.amps)


def heat_evidence(
    case: Case, known: Sequence[Injected], hypothesis: Hypothesis
) -> float:
    """Return the log likelihood of what got hot, or did not, at every injection.

    Parameters
    ----------
    case : Case
    known : sequence of Injected
        From `injections`.
    hypothesis : Hypothesis

    Notes
    -----
    A part that ties the injected rail to ground takes the current; without one the
    loads of the rail take it, and get warm by nature.
    """
    total = 0.0
    cold: set[frozenset[str]] = set()
    for one in known:
        guilty = {
            fault.ref
            for fault, piece in hypothesis.faults
            if one.state.holds(fault.ref, piece)
            for way in fault.paths
            if (way.a in one.nets and case.view.is_ground(way.b))
            or (way.b in one.nets and case.view.is_ground(way.a))
        }
        if one.hot is None:
            # The same current heats nothing a second time either.
            if one.nets not in cold:
                total += math.log(1 - FELT if guilty else 1 - 0.5 * FELT)
            cold.add(one.nets)
            continue
        wrong = MISTAKEN / _OTHERS
        if guilty:
            hot = FELT / len(guilty) if one.hot in guilty else wrong
        else:
            hot = FELT if one.hot in one.loads else wrong
        total += math.log(hot)
    return total
