"""The next action: the one that saves most bench time for what it costs."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ohmtrail.netanalysis.diagnosis import before_power, read_again, words
from ohmtrail.netanalysis.diagnosis.action import Action
from ohmtrail.netanalysis.diagnosis.apart import Raised
from ohmtrail.netanalysis.diagnosis.candidates import Candidate, readings_worth
from ohmtrail.netanalysis.diagnosis.costs import (
    INJECT_SECONDS,
    LOOK_SECONDS,
    READ_SECONDS,
    fit_seconds,
    needless_seconds,
)
from ohmtrail.netanalysis.diagnosis.gain import reading_gains, word_gains
from ohmtrail.netanalysis.diagnosis.injecting import (
    Injecting,
    heat_likelihood,
    injection_now,
    lift_load_to_inject,
    lift_to_inject,
    ohms_between,
    readings_to_raise,
    where_to_inject,
)
from ohmtrail.netanalysis.diagnosis.lifts import (
    Lift,
    guilty_rail,
    lift_gains,
    lifts_worth,
)
from ohmtrail.netanalysis.diagnosis.outlook import (
    WRONG_POWER,
    Outlook,
    outlook,
    wrong_power,
)
from ohmtrail.netanalysis.diagnosis.posterior import Posterior
from ohmtrail.netanalysis.diagnosis.reasons import wrong_lines
from ohmtrail.netanalysis.diagnosis.requirement import needed

__all__ = ["next_action"]

#: Chance that a switch that failed looks it, another part, and a good one (common
#: practice, no source).
_LOOKS_BAD_SWITCH, _LOOKS_BAD, _LOOKS_BAD_ANYWAY = 0.3, 0.12, 0.01
_LOOKS_MAX = 12
#: Below this chance that all is well power is not thought of while a suspect is left;
#: less is enough where all else that is likely is a low rail, which the current limit
#: holds: no meter tells a processor's supply pins from its own low resistance.
_SURE_ENOUGH, _SURE_IF_HELD, _HARM_MAX = 0.6, 0.35, 0.15
#: Where nobody is suspected of so much, lifting one part after the other tells less
#: than the current limit does; so much harm may then be left.
_NOBODY, _HARM_IF_NOBODY = 0.08, 0.3
#: A set of which a part came off already is replaced whole above this chance; below it
#: the next one comes off first.
_LIKELY = 0.6


@dataclass(frozen=True, slots=True)
class _Choice:
    """Something that could be done: what it saves and what it costs."""

    gain: float
    seconds: float
    candidate: Candidate | None = None
    look: str | None = None
    lift: Lift | None = None
    inject: Injecting | None = None
    raising: tuple[Raised, Injecting] | None = None

    @property
    def worth(self) -> float:
        return self.gain / self.seconds if self.gain > self.seconds else 0.0


def next_action(found: Posterior, have: Iterable[str]) -> Action:
    """Return the next best action.

    Parameters
    ----------
    found : Posterior
        What the log makes of the board.
    have : iterable of str
        Meter modes at hand.

    Notes
    -----
    One step of look-ahead: the expected fall of the seconds to the end, by action,
    against its own seconds.  When nothing is worth its time, the likeliest end by
    its cost is acted on: replace the complete set, or the checks before power, then
    power.
    """
    case = found.case
    over = before_power.settled(case)
    if over is not None:
        return over
    have = tuple(have)
    view = outlook(found, acting=True)
    choices = [one for one in _choices(view, have) if one.worth > 0]
    best = max(choices, key=lambda one: one.worth, default=None)
    if best is None or best.lift is not None:
        # Before anything is lifted: the first of a row of readings tells nothing by
        # itself, and all the others are held against it.
        first = _first_of_a_row(view, have)
        if first is not None:
            return words.measure_action(view, first)
        odd = read_again.doubtful(found, have)
        if odd is not None:
            return odd
    if best is not None:
        if best.lift is not None:
            again = read_again.before_a_part(found, {best.lift.ref}, have)
            if again is not None:
                return again
            itself = _rail_itself(view, have)
            if itself is not None:
                return words.measure_action(view, itself)
        return _action(view, best)
    end = view.ends[view.best_end()]
    if not end and not _sure_enough(view):
        end = view.best_set() or end
    if end:
        again = read_again.before_a_part(found, end, have)
        if again is not None:
            return again
        tried = _worth_trying(view, end)
        if tried is not None:
            itself = _rail_itself(view, have)
            if itself is not None:
                return words.measure_action(view, itself)
            return words.try_action(view, tried, end)
        return words.replace_action(view, end)
    then = before_power.next_check(view, have, wrong_lines(case, found.wrong()))
    low = read_again.low_gate(found) if then.action == "power" else None
    return low if low is not None else then


def _sure_enough(view: Outlook) -> bool:
    """Whether power may be thought of while something is still suspected."""
    power = view.ends.index(frozenset())
    whole = float(view.chance[power])
    harm = float(
        sum(
            share
            for one, share in zip(view.hypotheses, view.belief, strict=True)
            if needed(view.case, one) and wrong_power(view.case, one) == WRONG_POWER
        )
    )
    if whole < _SURE_IF_HELD:
        return False
    best = view.best_set()
    chance = float(view.chance[view.ends.index(best)]) if best else 0.0
    most = _HARM_IF_NOBODY if chance < _NOBODY else _HARM_MAX
    return whole >= _SURE_ENOUGH or harm <= most


def _first_of_a_row(view: Outlook, have: Sequence[str]) -> Candidate | None:
    """Return the first milliohm reading at the guilty rail, None if one was taken."""
    case = view.case
    ends = guilty_rail(view)
    if "four-wire" not in have or ends is None or len(view.ends) == 1:
        return None
    wanted = set(ends)
    for one in case.readings:
        if {one.plus.net, one.minus.net} == wanted and one.mode == "four-wire":
            if one.state == case.now:
                return None
    for candidate in readings_worth(case, view.suspects(), ("four-wire",)):
        one = candidate.reading
        if {one.plus.net, one.minus.net} == wanted and one.state == case.now:
            return candidate
    return None


def _rail_itself(view: Outlook, have: Sequence[str]) -> Candidate | None:
    """Return the reading of the guilty rail, None if it was taken since the last part.

    It may be known from readings elsewhere; what injection into it gives is told by
    its own, so that one comes before any part is lifted.
    """
    case = view.case
    ends = guilty_rail(view)
    if ends is None or ohms_between(case, ends) is not None:
        return None
    # Where its own points cannot be reached, a rail that a link joins to it will do.
    joined = case.joined(ends[0], off=case.now.off)
    others = [rail.net for rail in case.circuit.rails if rail.net in joined]
    found = [one for one in have if one == "resistance"]
    candidates = [
        one for one in readings_worth(case, (), found) if one.reading.state == case.now
    ]
    for net in dict.fromkeys((ends[0], *others)):
        wanted = {net, case.ground_of(net)}
        if net != ends[0] and ohms_between(case, (net, case.ground_of(net))):
            return None
        for candidate in candidates:
            one = candidate.reading
            if {one.plus.net, one.minus.net} == wanted:
                return candidate
    return None


def _worth_trying(view: Outlook, end: frozenset[str]) -> str | None:
    """Return the part to lift first where replacing the set is too much of a bet."""
    case = view.case
    still = [ref for ref in view.suspects() if ref in end and ref not in case.now.off]
    if not still or still[0] in case.fresh:
        return None
    chance = float(view.chance[view.ends.index(end)])
    if end & case.now.off and chance > _LIKELY:
        return None
    waste = sum(needless_seconds(case.view, ref) for ref in end)
    again = fit_seconds(case.view, still[0])
    return still[0] if (1 - chance) * waste > again else None


def _choices(view: Outlook, have: Sequence[str]) -> list[_Choice]:
    case = view.case
    made: list[_Choice] = []
    if len(view.ends) == 1:
        return made
    suspects = view.suspects()
    current = injection_now(case)
    if before_power.rails_first(case):
        # The job begins with the rails, whatever else would tell as much.
        suspects = ()
    readings = readings_worth(case, suspects, have, current)
    lifts = lifts_worth(view, suspects)
    place = where_to_inject(view, found_now=current)
    tried = place.drops(case, suspects, have) if place is not None else []
    if readings or lifts or tried:
        every = [*readings, *(lift.reading for lift in lifts), *tried]
        mean, sd = view.forecasts(every)
        belief = view.belief
        n, m = len(readings), len(lifts)
        gains = reading_gains(view.stakes, belief, mean[:, :n], sd[:, :n])
        made += [
            _Choice(float(gain), one.seconds, candidate=one)
            for one, gain in zip(readings, gains, strict=True)
        ]
        part = slice(n, n + m)
        made += [
            _Choice(gain, lift.seconds, lift=lift)
            for lift, gain in zip(
                lifts, lift_gains(view, lifts, mean[:, part], sd[:, part]), strict=True
            )
        ]
        if place is not None:
            drop = 0.0
            if tried:
                drops = reading_gains(
                    view.stakes, belief, mean[:, n + m :], sd[:, n + m :]
                )
                drop = max(0.0, float(drops.max()) - READ_SECONDS)
            heat = word_gains(view.stakes, belief, heat_likelihood(view, place))
            made.append(_Choice(max(heat, 0.0) + drop, INJECT_SECONDS, inject=place))
        if current is None:
            made += [
                _Choice(
                    word_gains(view.stakes, belief, heat_likelihood(view, then)),
                    lift.seconds + INJECT_SECONDS,
                    lift=replace(lift, volts=then.volts_max, load=then.unloaded),
                )
                for lift, then in (
                    *lift_to_inject(view, place, lifts),
                    *lift_load_to_inject(view, lifts),
                )
            ]
        raising = None
        if "resistance" in have:
            raising = readings_to_raise(view, place, current)
        if raising is not None:
            gain = word_gains(view.stakes, belief, heat_likelihood(view, raising[1]))
            seconds = INJECT_SECONDS + READ_SECONDS * len(raising[0].asked)
            made.append(_Choice(gain, seconds, raising=raising))
    made += _looks(view, suspects)
    return made


def _looks(view: Outlook, suspects: Sequence[str]) -> list[_Choice]:
    case = view.case
    seen = {
        one.event.part
        for one in case.timeline.placed
        if one.event.action == "look" and one.event.part
    }
    made = []
    for ref in [one for one in suspects if one not in seen][:_LOOKS_MAX]:
        faulty = np.array(
            [
                any(fault.ref == ref for fault, _ in one.faults)
                for one in view.hypotheses
            ]
        )
        switch = case.view.kind(ref) in ("mosfet", "igbt", "bipolar")
        chance = _LOOKS_BAD_SWITCH if switch else _LOOKS_BAD
        bad = np.where(faulty, chance, _LOOKS_BAD_ANYWAY)
        gain = word_gains(view.stakes, view.belief, np.stack((bad, 1 - bad), 1))
        made.append(_Choice(gain, LOOK_SECONDS, look=ref))
    return made


def _action(view: Outlook, choice: _Choice) -> Action:
    if choice.candidate is not None:
        return words.measure_action(view, choice.candidate)
    if choice.lift is not None:
        return words.lift_action(view, choice.lift)
    if choice.raising is not None:
        return words.raise_action(view, *choice.raising)
    if choice.inject is not None:
        return words.inject_action(view, choice.inject)
    assert choice.look is not None
    return words.look_action(view, choice.look)
