"""The reading that would decide a suggestion: most information between yes and no."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis import words
from ohmtrail.netanalysis.diagnosis.action import Action
from ohmtrail.netanalysis.diagnosis.candidates import Candidate, readings_worth
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.costs import READ_SECONDS
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.injecting import injection_now
from ohmtrail.netanalysis.diagnosis.lifts import lifts_worth
from ohmtrail.netanalysis.diagnosis.outlook import Outlook, outlook
from ohmtrail.netanalysis.diagnosis.posterior import Posterior, Weighed
from ohmtrail.netanalysis.diagnosis.reading_noise import noise_of
from ohmtrail.netanalysis.diagnosis.readings import Reading
from ohmtrail.netanalysis.probe_points import ProbePoint

__all__ = ["decide", "information"]

Floats = NDArray[np.float64]

#: Less than this many bits decides nothing; a lift must tell this much more.
_LEAST, _LIFT_MORE, _EQUAL = 0.03, 0.25, 0.05
_POINTS = np.array([-1.2, 0.0, 1.2])
_SHARES = np.array([0.3, 0.4, 0.3])
#: What is above this reads as open, in log ohms.
_OPEN = math.log(2e5)
#: Chance that a reading is plain wrong, and its density over nine decades.
_WRONG, _WRONG_DENSITY = 0.02, 1.0 / math.log(1e9)


def information(
    belief: Floats, claimed: NDArray[np.bool_], mean: Floats, sd: Floats
) -> Floats:
    """Return what each reading tells on average about yes or no, in bits.

    Parameters
    ----------
    belief : ndarray, shape (H,)
    claimed : ndarray of bool, shape (H,)
        Whether the suggestion holds under each hypothesis.
    mean, sd : ndarray, shape (H, B)
        Log reading under each hypothesis.

    Returns
    -------
    ndarray, shape (B,)
        Mutual information, at most 1 bit.

    Notes
    -----
    O(B H^2).
    """
    prior = _bits(np.array([belief[claimed].sum()]))[0]
    found = np.zeros(mean.shape[1])
    for b in range(mean.shape[1]):
        centre, width = np.minimum(mean[:, b], _OPEN), sd[:, b]
        seen = np.minimum(centre[:, None] + _POINTS * width[:, None], _OPEN).ravel()
        weight = (belief[:, None] * _SHARES).ravel()
        density = np.exp(-0.5 * ((seen[:, None] - centre) / width) ** 2)
        density = (1 - _WRONG) * density / (width * math.sqrt(2 * math.pi))
        after = belief * (density + _WRONG * _WRONG_DENSITY)
        after /= after.sum(1, keepdims=True)
        found[b] = prior - float(weight @ _bits(after[:, claimed].sum(1)))
    return np.maximum(found, 0.0)


def _bits(chance: Floats) -> Floats:
    chance = np.clip(chance, 1e-12, 1 - 1e-12)
    found: Floats = -chance * np.log2(chance) - (1 - chance) * np.log2(1 - chance)
    return found


def decide(
    found: Posterior,
    holds: Sequence[bool],
    faults: Iterable[Fault],
    have: Sequence[str],
) -> Action | None:
    """Return the action that would decide a suggestion, None where nothing can.

    Parameters
    ----------
    found : Posterior
        The claim and what else explains the readings, weighed together.
    holds : sequence of bool
        Under which of them the claim is true.
    faults : iterable of Fault
        What the suggestion can mean.
    have : sequence of str
        Meter modes at hand.

    Notes
    -----
    Claim and no claim are taken as equally likely: the question is what would tell
    them apart.  A lift is proposed only where no reading decides.
    """
    balanced = _balanced(found, holds)
    if balanced is None:
        return None
    case = found.case
    view = outlook(balanced)
    truth = {
        frozenset(w.hypothesis.faults): yes
        for w, yes in zip(found.weighed, holds, strict=True)
    }
    claimed = np.array([truth[frozenset(one.faults)] for one in view.hypotheses])
    if claimed.all() or not claimed.any():
        return None
    faults = tuple(faults)
    refs = list(dict.fromkeys(fault.ref for fault in faults if fault.ref))
    readings = _readings(view, refs, faults, have)
    lifts = lifts_worth(view, [ref for ref in refs if ref not in case.now.off])
    every = [*readings, *(one.reading for one in lifts)]
    if not every:
        return None
    mean, sd = view.forecasts(every)
    bits = information(view.belief, claimed, mean, sd)
    n = len(readings)
    best = _best(readings, bits[:n], refs) if n else -1
    told = float(bits[best]) if n else 0.0
    lift = n + int(np.argmax(bits[n:])) if lifts else -1
    if lifts and float(bits[lift]) > told + _LIFT_MORE:
        return words.lift_action(view, lifts[lift - n])
    if told < _LEAST:
        return None
    return _action(view, readings[best], claimed, mean[:, best])


def _best(readings: Sequence[Candidate], bits: Floats, refs: Sequence[str]) -> int:
    """Return the reading that tells most; of equal ones that at the part itself."""
    wanted = set(refs)
    own = [
        any(point.pin is not None and point.pin.ref in wanted for point in points)
        for points in ((one.reading.plus, one.reading.minus) for one in readings)
    ]
    return int(np.argmax(bits + _EQUAL * np.array(own)))


def _balanced(found: Posterior, holds: Sequence[bool]) -> Posterior | None:
    total = {True: 0.0, False: 0.0}
    for one, yes in zip(found.weighed, holds, strict=True):
        total[yes] += one.probability
    if min(total.values()) <= 0:
        return None
    weighed: list[Weighed] = [
        replace(one, probability=0.5 * one.probability / total[yes])
        for one, yes in zip(found.weighed, holds, strict=True)
    ]
    weighed.sort(key=lambda one: -one.probability)
    return replace(found, weighed=tuple(weighed))


def _readings(
    view: Outlook, refs: Sequence[str], faults: Iterable[Fault], have: Sequence[str]
) -> list[Candidate]:
    """Return readings that could tell, without points that could not be reached."""
    case = view.case
    others = [ref for ref in view.suspects() if ref not in refs]
    made = readings_worth(case, (*refs, *others), have, injection_now(case))
    made += _across(case, faults, have)
    never = _never(case)
    return [one for one in made if _points(one.reading) not in never]


def _never(case: Case) -> set[tuple[frozenset[str], bool]]:
    return {
        (frozenset((str(event.plus), str(event.minus))), event.off_the_board)
        for event in case.log.events
        if event.unreachable and event.plus is not None and event.minus is not None
    }


def _points(one: Reading) -> tuple[frozenset[str], bool]:
    return frozenset((str(one.plus), str(one.minus))), one.state.hand is not None


def _across(
    case: Case, faults: Iterable[Fault], have: Sequence[str]
) -> Iterable[Candidate]:
    """Yield the readings across what is said to be faulty, if not yet taken."""
    noise = noise_of("resistance", 10.0, 0.1)
    if "resistance" not in have or noise is None:
        return
    done = {
        (frozenset((one.plus.net, one.minus.net)), one.state)
        for one in case.readings
        if one.mode == "resistance"
    }
    for fault in faults:
        ends = [(way.a, way.b) for way in fault.paths]
        if fault.open and len(fault.nets) == 2:
            ends.append((fault.nets[0], fault.nets[1]))
        if fault.ref in case.now.off:
            continue
        for a, b in ends:
            if case.view.is_ground(a):
                a, b = b, a
            red, black = _point(case, fault.ref, a), _point(case, fault.ref, b)
            reading = Reading(0, "resistance", red, black, math.nan, case.now, noise)
            key = frozenset((a, b)), case.now
            if key not in done and case.ends(reading) in case.columns:
                done.add(key)
                where = fault.ref or f"{a} and {b}"
                yield Candidate(reading, f"across {where}")


def _point(case: Case, ref: str, net: str) -> ProbePoint:
    pins = case.view.pins_on(ref, net) if ref else ()
    return ProbePoint(net, pins[0] if pins else None)


def _action(
    view: Outlook, candidate: Candidate, claimed: NDArray[np.bool_], mean: Floats
) -> Action:
    one = candidate.reading
    expected = []
    for yes, then in ((True, "the suggestion holds"), (False, "it does not")):
        some = claimed == yes
        share = view.belief[some] / view.belief[some].sum()
        ohms = math.exp(float(share @ mean[some]))
        shown = (
            words.ohms_text(ohms)
            if one.mode != "drop"
            else f"{1e3 * ohms:.3g} mV an ampere"
        )
        expected.append((f"about {shown}", then))
    return Action(
        "measure",
        f"{candidate.about}: it tells most about this suggestion",
        READ_SECONDS,
        one.mode,
        str(one.plus),
        str(one.minus),
        part=candidate.part,
        expected=tuple(expected),
    )
