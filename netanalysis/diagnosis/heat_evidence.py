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
    "MISTAKEN",
    "Injected",
    "felt_chance",
    "heat_evidence",
    "injections",
    "loads_near",
    "watts_of",
]

#: Chance that the culprit is felt or seen to heat, and that something else on the
#: board is taken for it (common practice, no source).
FELT, MISTAKEN = 0.7, 0.05
#: A finger feels this much on a small part, and alcohol or a thermal camera shows
#: little below the other, in watts (common practice).
_FELT_WATTS, _SEEN_WATTS = 0.5, 0.03
#: Parts that share the chance of a mistake.
_OTHERS = 10.0


def loads_near(
    case: Case, nets: tuple[str | None, ...], off: frozenset[str]
) -> frozenset[str]:
    """Return the loads of the rails at some nets and beyond their links.

    Parts in ``off`` are off the board.
    """
    reached = case.joined(*nets, off=off)
    return frozenset(
        ref
        for rail in case.circuit.rails
        if rail.net in reached
        for ref in rail.loads
        if ref not in off
    )


class Injected(NamedTuple):
    """One injection of this life of the board."""

    state: State
    nets: frozenset[str]
    loads: frozenset[str]
    #: What got hot, None where nothing did.
    hot: str | None
    #: Chance that the culprit is felt at so much power.
    felt: float


def injections(case: Case) -> tuple[Injected, ...]:
    """Return the injections since the last failure under power."""
    return tuple(
        Injected(
            state_of(one.epoch),
            case.joined(*one.event.nets, off=one.epoch.off),
            loads_near(case, tuple(one.event.nets), one.epoch.off),
            one.event.part,
            FELT if one.event.part else felt_chance(watts_of(one.event)),
        )
        for i, one in enumerate(case.timeline.placed)
        if one.event.action == "inject" and i > case.died_at
    )


def felt_chance(watts: float) -> float:
    """Return the chance that a culprit that takes so much power is found by its heat.

    It rises with the logarithm of the power from what a thermal camera shows to what a
    finger feels (common practice, no source).
    """
    if watts <= _SEEN_WATTS:
        return 0.0
    share = math.log(watts / _SEEN_WATTS) / math.log(_FELT_WATTS / _SEEN_WATTS)
    return FELT * min(1.0, share)


def watts_of(event: Event) -> float:
    """Return what an injection put in, in watts; infinite where it was not written."""
    if event.volts is None or event.amps is None:
        return math.inf
    return event.volts * event.amps


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
            if not any(one.nets & nets for nets in cold):
                total += math.log1p(-one.felt if guilty else -0.5 * one.felt)
            cold.add(one.nets)
            continue
        wrong = MISTAKEN / _OTHERS
        if guilty:
            hot = FELT / len(guilty) if one.hot in guilty else wrong
        else:
            hot = FELT if one.hot in one.loads else wrong
        total += math.log(hot)
    return total
