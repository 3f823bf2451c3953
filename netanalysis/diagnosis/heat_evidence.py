"""What an injection says of a hypothesis: the culprit gets warm, else the loads do."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.heat_ways import Fed
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.log import Event
from ohmtrail.netanalysis.diagnosis.readings import State, state_of

__all__ = [
    "FELT",
    "MISTAKEN",
    "UNFITTED",
    "Fitted",
    "Injected",
    "felt_chance",
    "heat_evidence",
    "injections",
    "load_heats",
    "watts_of",
]

#: Chance that the culprit is felt or seen to heat, and that something else on the
#: board is taken for it (common practice, no source).
FELT, MISTAKEN = 0.7, 0.05
#: A finger feels this much on a small part, and alcohol or a thermal camera shows
#: little below the other, in watts (common practice).
_FELT_WATTS, _SEEN_WATTS = 0.5, 0.03
#: What a fault takes is known where the logarithm of its resistance is known so far.
_KNOWN_SD = 0.5
#: Parts that share the chance of a mistake.
_OTHERS = 10.0


class Injected(NamedTuple):
    """One injection of this life of the board."""

    state: State
    fed: Fed
    #: What got hot, None where nothing did.
    hot: str | None
    #: Chance that the culprit is felt at so much power.
    felt: float
    #: What the supply fed, in ohms; not a number where it was not written down.
    ohms: float


def injections(case: Case) -> tuple[Injected, ...]:
    """Return the injections since the last failure under power."""
    return tuple(
        Injected(
            state_of(one.epoch),
            Fed(case, *one.event.nets, off=one.epoch.off),
            one.event.part,
            FELT if one.event.part else felt_chance(watts_of(one.event)),
            _fed_ohms(one.event),
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


def _fed_ohms(event: Event) -> float:
    """Return what an injection fed, in ohms; not a number where it was not written."""
    if not event.volts or not event.amps:
        return math.nan
    return event.volts / event.amps


def load_heats(faults: Sequence[Fault], ohms: float, gap: float) -> float:
    """Return the chance that a rail's own load takes more than a short beside it.

    Parameters
    ----------
    faults : sequence of Fault
        What ties the rail to ground, none on a healthy board.
    ohms : float
        What the rail reads; not a number where nobody knows.
    gap : float
        By how much a healthy board explains the readings better, as a logarithm.

    Notes
    -----
    A short of more than twice what both read together is the lesser of the two; how
    much of its range lies there is its chance, since it is uniform in logarithms.  Only
    where a healthy board reads so too can the load take that much.
    """
    if not faults:
        return 1.0
    if math.isnan(ohms) or gap == -math.inf:
        return 0.0
    share = min(
        math.log(max(way.ohms_high / (2.0 * ohms), 1.0))
        / max(math.log(way.ohms_high / way.ohms_low), 1e-9)
        for fault in faults
        for way in fault.paths
    )
    return min(1.0, share * math.exp(min(gap, 0.0)))


class Fitted(NamedTuple):
    """What the readings say of a hypothesis."""

    #: By how much a healthy board explains them better, as a logarithm.
    gap: float
    #: Log resistance of each path of its faults, and its spread; none where not fitted.
    log_ohms: tuple[float, ...] = ()
    sd: tuple[float, ...] = ()

    def lesser(
        self, hypothesis: Hypothesis, faults: Sequence[Fault], ohms: float
    ) -> float:
        """Return the chance that all these take less than half of the current.

        Zero where the readings leave open what a fault takes.
        """
        if not self.log_ohms or not ohms > 0:
            return 0.0
        mine = set(faults)
        chance, k = 1.0, 0
        for fault, _ in hypothesis.faults:
            for way in fault.paths:
                if fault in mine and way.ohms_low < 2.0 * ohms:
                    off = self.log_ohms[k] - math.log(2.0 * ohms)
                    known = self.sd[k] < _KNOWN_SD
                    spread = math.sqrt(2.0) * max(self.sd[k], 1e-6)
                    share = 0.5 * math.erfc(-off / spread) if known else 0.0
                    chance = min(chance, share)
                k += 1
        return chance


#: Nothing is known of a hypothesis' fit.
UNFITTED = Fitted(-math.inf)


def heat_evidence(
    known: Sequence[Injected],
    hypothesis: Hypothesis,
    fitted: Fitted = UNFITTED,
) -> float:
    """Return the log likelihood of what got hot, or did not, at every injection.

    Parameters
    ----------
    known : sequence of Injected
        From `injections`.
    hypothesis : Hypothesis
    fitted : Fitted
        What the readings say of it.

    Notes
    -----
    A part that ties the injected rail to ground takes the current, or one behind a
    shorted switch; without one the loads take it, and get warm by nature.  So they do
    beside a short that takes less than they do.
    """
    # What follows where the short takes more than the loads, and where they do.
    by_fault = by_load = 0.0
    beside = 0.0
    cold: set[tuple[bool, frozenset[str]]] = set()
    for one in known:
        here = [
            fault
            for fault, piece in hypothesis.faults
            if one.state.holds(fault.ref, piece)
        ]
        ways = one.fed.ways(here)
        # With the load off a lesser short takes the current as well.
        alone = one.fed.unloaded and bool(ways.sinks)
        if ways.sinks and not alone:
            lesser = fitted.lesser(hypothesis, ways.sinks, one.ohms)
            usual = load_heats(ways.sinks, one.ohms, fitted.gap)
            beside = max(beside, lesser, usual)
        if one.hot is None:
            # The same current heats nothing a second time either.
            if not any(
                alone == unloaded and one.fed.nets & nets for unloaded, nets in cold
            ):
                loads = math.log1p(-0.5 * one.felt)
                culprit = math.log1p(-one.felt) if ways.sinks else loads
                by_fault += culprit
                by_load += culprit if alone else loads
            cold.add((alone, one.fed.nets))
            continue
        wrong = MISTAKEN / _OTHERS
        loads = math.log(max(FELT * ways.of_loads(one.hot), wrong))
        culprit = math.log(max(FELT * ways.chances().get(one.hot, 0.0), wrong))
        by_fault += culprit if ways.sinks else loads
        by_load += culprit if alone else loads
    if beside <= 0.0 or beside >= 1.0:
        return by_load if beside > 0 else by_fault
    both = by_load + math.log(beside), by_fault + math.log1p(-beside)
    return float(np.logaddexp(*both))
