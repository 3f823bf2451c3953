"""What a power-up says of a hypothesis: a short holds the supply at its limit."""

import math
from collections.abc import Set as AbstractSet

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.readings import state_of

__all__ = ["MILD", "failed_as_it_is", "failed_before", "power_evidence"]

#: Chances of what a power-up does (common practice, no source): with a short on the
#: board, with none, and with a part gone open.
_LIMIT_SHORTED, _LIMIT_ANYWAY = 0.9, 0.03
_RUNS_SHORTED, _RUNS_WHOLE = 0.02, 0.9
_DEAD_OPEN, _DEAD_ANYWAY = 0.5, 0.05
#: Faults that hold no rail down.
MILD = ("leaky", "weakened", "drifted")


def power_evidence(case: Case, hypothesis: Hypothesis, fed: AbstractSet[str]) -> float:
    """Return the log likelihood of all power-ups of this life of the board.

    Parameters
    ----------
    case : Case
    hypothesis : Hypothesis
    fed : set of str
        The nets from which a short takes what a supply gives, see `fed_nets`.
    """
    total = 0.0
    for i, one in enumerate(case.timeline.placed):
        event = one.event
        if event.action != "power" or i <= case.died_at:
            continue
        state = state_of(one.epoch)
        here = [
            fault for fault, piece in hypothesis.faults if state.holds(fault.ref, piece)
        ]
        shorted = any(
            fault.name not in MILD and _takes_current(fault, fed) for fault in here
        )
        if event.word == "limit":
            total += math.log(_LIMIT_SHORTED if shorted else _LIMIT_ANYWAY)
        elif event.word == "runs":
            total += math.log(_RUNS_WHOLE if not here else _RUNS_SHORTED)
        elif event.word == "dead" and not one.epoch.off:
            broken = any(fault.open for fault in here)
            total += math.log(_DEAD_OPEN if broken or here else _DEAD_ANYWAY)
    return total


def _takes_current(fault: Fault, fed: AbstractSet[str]) -> bool:
    """Whether a fault ties down something that a supply feeds."""
    return any(way.a in fed or way.b in fed for way in fault.paths)


def failed_as_it_is(case: Case) -> bool:
    """Whether the last power-up failed and no new part was fitted since."""
    for one in reversed(case.timeline.placed):
        event = one.event
        if event.action == "fit" and event.word == "new":
            return False
        if event.action == "power":
            return event.word in ("dead", "limit", "died")
    return False


def failed_before(case: Case) -> bool:
    """Whether a power-up of this life of the board failed: something is wrong on it."""
    return any(
        one.event.action == "power" and one.event.word in ("dead", "limit")
        for one in case.timeline.placed[case.died_at + 1 :]
    )
