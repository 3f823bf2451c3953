"""Why somebody is suspected, by lines of the log."""

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.posterior import Posterior, Weighed
from ohmtrail.netanalysis.diagnosis.readings import Reading
from ohmtrail.netanalysis.diagnosis.words import fault_words, ohms_text

__all__ = ["against", "because", "wrong_lines"]

#: A reading speaks against a hypothesis from this deviation on, in its spreads.
_AGAINST = 3.0
#: A reading speaks against a hypothesis that takes it for wrong with this chance.
_WRONG = 0.5
#: A line is named from this chance on: of two that disagree, both are.
_NAMED = 0.35
_LINES_MAX = 5


def reading_words(one: Reading) -> str:
    """Write a reading of the log ("line 7: VMAIN to GND 0.9 ohms")."""
    if one.mode in ("diode", "drop"):
        shown = f"{one.value:g} V" if np.isfinite(one.value) else "OL"
    else:
        shown = ohms_text(one.value)
    hand = f" of {one.state.hand[0]} in the hand" if one.state.hand else ""
    return f"line {one.line}: {one.plus} to {one.minus}{hand} {shown}"


def against(found: Posterior, one: Weighed) -> list[tuple[int, str]]:
    """Return the lines that speak against a hypothesis, strongest first."""
    deviation = found.deviation(one)
    doubted = found.doubted(one)
    rows = [
        (max(abs(float(deviation[i])), 10.0 * float(doubted[i])), i)
        for i in range(len(found.case.readings))
        if abs(deviation[i]) > _AGAINST or doubted[i] > _WRONG
    ]
    rows.sort(reverse=True)
    readings = found.case.readings
    return [(readings[i].line, reading_words(readings[i])) for _, i in rows]


def because(found: Posterior, one: Weighed) -> tuple[str, ...]:
    """Return what speaks for a hypothesis and what against it."""
    case = found.case
    healthy = next((w for w in found.weighed if not w.hypothesis.faults), None)
    words = [
        ", ".join(fault_words(f.ref, f.name, f.pin) for f, _ in one.hypothesis.faults)
    ]
    if healthy is not None:
        mine, plain = found.deviation(one), found.deviation(healthy)
        gain = np.abs(plain) - np.abs(mine)
        order = [int(i) for i in np.argsort(-gain) if gain[i] > 1.5][:_LINES_MAX]
        words += [
            f"{reading_words(case.readings[i])} fits; a healthy board reads about "
            f"{ohms_text(float(case.problem.healthy[i]))}"
            for i in sorted(order)
        ]
    words += [f"against it: {text}" for _, text in against(found, one)[:3]]
    words += _seen(case, one.hypothesis)
    return tuple(words)


def _seen(case: Case, hypothesis: Hypothesis) -> list[str]:
    made = []
    for one in case.timeline.placed:
        event = one.event
        if event.part in hypothesis.refs and event.action == "look":
            if event.word not in ("ok", ""):
                made.append(f"line {event.line}: {event.part} looks {event.word}")
        elif event.part in hypothesis.refs and event.action == "inject":
            made.append(f"line {event.line}: {event.part} got hot")
    return made


def wrong_lines(case: Case, wrong: NDArray[np.float64]) -> tuple[int, ...]:
    """Return the lines of readings that no likely explanation allows."""
    return tuple(
        one.line
        for one, chance in zip(case.readings, wrong, strict=True)
        if chance > _NAMED
    )
