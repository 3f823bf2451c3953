"""What is still likely, what each case would need, and what a reading would tell."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.batch import make_batch
from ohmtrail.netanalysis.diagnosis.candidates import Candidate
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.copper_arrays import copper_arrays
from ohmtrail.netanalysis.diagnosis.costs import (
    POWER_SECONDS,
    READ_SECONDS,
    fit_seconds,
    needless_seconds,
    replace_seconds,
)
from ohmtrail.netanalysis.diagnosis.fit import Fit
from ohmtrail.netanalysis.diagnosis.forecast import forecast
from ohmtrail.netanalysis.diagnosis.gain import Stakes
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.posterior import Posterior
from ohmtrail.netanalysis.diagnosis.power_evidence import (
    failed_as_it_is,
    failed_before,
)
from ohmtrail.netanalysis.diagnosis.problem import rows_of
from ohmtrail.netanalysis.diagnosis.reading_noise import FOUR_WIRE_OHMS
from ohmtrail.netanalysis.diagnosis.readings import State
from ohmtrail.netanalysis.diagnosis.requirement import needed

__all__ = ["WRONG_POWER", "Outlook", "outlook", "wrong_power", "wrong_seconds"]

Floats = NDArray[np.float64]

#: Hypotheses that are looked at, and the share of belief that they must hold.
_KEPT_MAX, _KEPT_SHARE = 64, 0.997
#: After a power-up that failed, from this chance on that a part is still wrong only
#: that is thought of.
_STILL_WRONG = 0.02
#: What a wrong power-up costs, in seconds: with something left that kills parts (a
#: dead load, parts, trust), and with nothing but a low rail, at which the current
#: limit holds (common practice, no source).
WRONG_POWER, _HELD_POWER = 10000.0, 2000.0


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is likely, what each case needs, and the stakes."""

    case: Case
    hypotheses: tuple[Hypothesis, ...]
    belief: Floats
    #: Distinct sets to replace; the empty one means power.
    ends: tuple[frozenset[str], ...]
    #: Which end each hypothesis needs, shape (H,).
    end_of: NDArray[np.intp]
    stakes: Stakes
    #: Fits of the hypotheses, each with those that it is for.
    fits: tuple[tuple[Fit, NDArray[np.intp]], ...]
    #: Which common paths the fits hold.
    keep: NDArray[np.bool_]
    #: By how much a healthy board explains the readings better than each, shape (H,),
    #: which counts once a power-up has failed.
    gap: Floats

    @property
    def chance(self) -> Floats:
        """Probability of each end, shape (K,)."""
        found: Floats = self.belief @ self.stakes.right
        return found

    def best_end(self) -> int:
        """Return the end to try first: the most chance for its cost."""
        return int(np.argmax(self.stakes.worth(self.belief[None, :])[0]))

    def best_set(self) -> frozenset[str] | None:
        """Return the set to try first where power is not yet to be thought of."""
        worth = self.stakes.worth(self.belief[None, :])[0]
        order = [int(k) for k in np.argsort(-worth) if self.ends[int(k)]]
        return self.ends[order[0]] if order and worth[order[0]] > 0 else None

    def suspects(self) -> tuple[str, ...]:
        """Return refs of what may be wrong now, likeliest first."""
        total: dict[str, float] = {}
        for one, share in zip(self.hypotheses, self.belief, strict=True):
            for ref in {
                f.ref for f, piece in one.faults if self.case.piece(f.ref) == piece
            }:
                total[ref] = total.get(ref, 0.0) + float(share)
        return tuple(sorted(total, key=lambda ref: -total[ref]))

    def forecasts(
        self, readings: Sequence[Candidate], states: Sequence[State] = ()
    ) -> tuple[Floats, Floats]:
        """Return mean and spread of each log reading under each hypothesis.

        Parameters
        ----------
        readings : sequence of Candidate
        states : sequence of State
            Further board states that they name.
        """
        case = self.case
        rows = [one.reading for one in readings]
        known = dict.fromkeys((*case.states, *(one.state for one in rows), *states))
        every = tuple(known)
        imagined = case.without(self.keep, case.numbers(rows, every, self.keep))
        mean = np.empty((len(self.hypotheses), len(rows)))
        sd = np.empty_like(mean)
        copper, loads = copper_arrays(case, self.hypotheses, rows)
        for fitted, members in self.fits:
            batch, row = make_batch(case, [self.hypotheses[h] for h in members], every)
            batch = replace(
                rows_of(batch, row),
                common_there=batch.common_there[row][:, :, self.keep],
                copper=copper[members],
                load_copper=np.broadcast_to(loads, (len(members), *loads.shape)),
            )
            mean[members], sd[members] = forecast(imagined, batch, fitted)
        # A milliohm meter shows nothing of what is above its range.
        top = [FOUR_WIRE_OHMS if r.mode == "four-wire" else np.inf for r in rows]
        return np.minimum(mean, np.log(top)), sd


def outlook(found: Posterior, *, acting: bool = False) -> Outlook:
    """Return what the posterior leaves open, as ends and stakes.

    Parameters
    ----------
    found : Posterior
    acting : bool
        To choose what to do: after a power-up that failed, with no new part since,
        nothing is worth doing for the case that all is well.
    """
    case = found.case
    kept = []
    share = 0.0
    for one in found.weighed[:_KEPT_MAX]:
        kept.append(one)
        share += one.probability
        if share > _KEPT_SHARE:
            break
    belief = np.array([one.probability for one in kept])
    needs = [needed(case, one.hypothesis) for one in kept]
    if acting and failed_as_it_is(case):
        wrong = np.array([bool(need) for need in needs])
        if belief @ wrong > _STILL_WRONG * belief.sum():
            belief = belief * wrong
    belief /= belief.sum()
    ends = tuple(dict.fromkeys((*needs, frozenset[str]())))
    index = {end: k for k, end in enumerate(ends)}
    end_of = np.array([index[need] for need in needs], np.intp)
    right = np.zeros((len(kept), len(ends)))
    right[np.arange(len(kept)), end_of] = 1.0
    seconds = np.array([_seconds(case, end) for end in ends])
    power = np.array([wrong_power(case, one.hypothesis) for one in kept])
    wrong = np.stack(
        [
            np.full(len(kept), wrong_seconds(case, end)) if end else power
            for end in ends
        ],
        1,
    )
    fits = []
    for number, group in enumerate(found.groups):
        members = np.array(
            [i for i, w in enumerate(kept) if w.group == number], np.intp
        )
        if len(members):
            row = np.array([kept[i].row for i in members], np.intp)
            whole = group.fitted
            fitted = Fit(*(getattr(whole, f.name)[row] for f in fields(Fit)))
            fits.append((fitted, members))
    return Outlook(
        case,
        tuple(one.hypothesis for one in kept),
        belief,
        ends,
        end_of,
        Stakes(right, seconds, wrong, np.array([not end for end in ends])),
        tuple(fits),
        found.keep,
        _healthy_evidence(found) - np.array([one.evidence for one in kept]),
    )


def _healthy_evidence(found: Posterior) -> float:
    if not failed_before(found.case):
        return -math.inf
    every = (one.evidence for one in found.weighed if not one.hypothesis.faults)
    return next(every, -math.inf)


def _seconds(case: Case, end: frozenset[str]) -> float:
    if not end:
        return POWER_SECONDS
    view, off = case.view, case.now.off
    return sum(replace_seconds(view, ref, off=ref in off) for ref in end)


def wrong_power(case: Case, hypothesis: Hypothesis) -> float:
    """Return what power costs with this on the board, in seconds.

    A low rail alone holds the supply at its limit, a leak to ground is less than that;
    anything else about a switch, or a fault that is no plain short from a net to
    ground, may kill parts.
    """
    held = all(
        case.piece(fault.ref) != piece
        or (
            fault.name in ("short", "pin short", "leaky")
            and all(
                case.view.is_ground(way.a) or case.view.is_ground(way.b)
                for way in fault.paths
            )
        )
        for fault, piece in hypothesis.faults
    )
    return _HELD_POWER if held else WRONG_POWER


def wrong_seconds(case: Case, end: frozenset[str]) -> float:
    """Return what it costs on top when a set was not the culprit.

    Trying a set is lifting one of it, reading, and putting it back; what is off already
    was tried, and a new one of it is a part thrown away.
    """
    total = READ_SECONDS
    for ref in end:
        if ref in case.now.off:
            total += needless_seconds(case.view, ref)
        else:
            total += fit_seconds(case.view, ref)
    return total
