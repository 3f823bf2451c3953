"""Where to inject, what may get hot, and which drops to read meanwhile."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.apart import Raised, raised
from ohmtrail.netanalysis.diagnosis.candidates import Candidate, readings_worth
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.heat_evidence import (
    FELT,
    MISTAKEN,
    felt_chance,
    load_heats,
    watts_of,
)
from ohmtrail.netanalysis.diagnosis.heat_ways import Fed, sole_loads
from ohmtrail.netanalysis.diagnosis.injection_floor import limit_with_floors
from ohmtrail.netanalysis.diagnosis.lifts import Lift, guilty_rail
from ohmtrail.netanalysis.diagnosis.outlook import Outlook
from ohmtrail.netanalysis.diagnosis.readings import Current
from ohmtrail.netanalysis.inject import InjectAnswer, inject
from ohmtrail.netanalysis.nearest import NotOnBoardError

__all__ = [
    "Injecting",
    "heat_likelihood",
    "injection_now",
    "lift_load_to_inject",
    "lift_to_inject",
    "ohms_between",
    "readings_to_raise",
    "where_to_inject",
]

_TIMES_MAX = 2
#: A short that hides beside a load takes so many times less (`load_heats`).
_LESSER = 2.0
#: Into more than this nothing flows that tells anything, in ohms.
_LOW_OHMS = 100.0
#: So much more power makes an injection another one; so much more chance to feel heat
#: is worth lifting a part for (common practice, no source).
_MORE, _WORTH_A_LIFT = 2.0, 0.15
#: No more than this goes into a short where readings alone raise the limit: more than
#: a finger feels, in watts (common practice).
_WARM_WATTS = 1.0
#: Bench supplies are turned up to this while somebody watches, in amperes (common
#: practice).
_AMPS_MOST = 3.0


@dataclass(frozen=True, slots=True)
class Injecting:
    """An injection that is allowed, and its limits."""

    net: str
    plus: str
    minus: str
    answer: InjectAnswer
    #: In volts, and what it rests on where it is no nominal voltage.
    volts_max: float
    floors: tuple[str, ...]
    amps: float
    #: What it feeds, in ohms, and what goes in there at most, in watts.
    ohms: float
    watts: float
    #: True where one was done on this board as it is: only the drops are new.
    again: bool
    #: Parts that are off the board meanwhile.
    off: frozenset[str]
    #: Nets that readings have shown to stand apart from this one.
    apart: frozenset[str] = frozenset()
    #: True where what loads the rail most would be lifted for it: then nothing but a
    #: fault takes much.
    unloaded: bool = False

    def drops(
        self, case: Case, suspects: Iterable[str], have: Iterable[str]
    ) -> list[Candidate]:
        """Return the drops that could be read once current flows."""
        current = Current((self.plus, self.minus), self.amps)
        found = readings_worth(case, suspects, ("drop",), current)
        return found if "drop" in tuple(have) else []


def injection_now(case: Case) -> Current | None:
    """Return the injection that is still on."""
    for one in reversed(case.timeline.placed):
        event = one.event
        if event.action == "measure" and event.mode == "drop":
            continue
        if event.action == "look":
            continue
        if event.action != "inject" or not event.amps:
            return None
        red, black = event.nets
        return Current((red, black), event.amps, event.line) if red and black else None
    return None


def where_to_inject(
    view: Outlook,
    found_now: Current | None,
    also_off: frozenset[str] = frozenset(),
    if_apart: frozenset[str] = frozenset(),
) -> Injecting | None:
    """Return the injection that is worth thinking about, if one is allowed.

    Into the rail that most of the suspicion hangs on; none where its voltage limit
    is not known, or where current is already flowing.  What is off the board, and
    what would be (``also_off``), leads nowhere; nor does what readings show to stand
    apart, or would (``if_apart``).
    """
    case = view.case
    if found_now is not None or not case.ground:
        return None
    ends = guilty_rail(view)
    if ends is None:
        return None
    net = _net_of(case, ends)
    off = case.now.off | also_off
    main = sole_loads(case, case.joined(net, off=off))
    load_off = main if main <= off else frozenset()
    ohms = _low_ohms(case, ends, load_off)
    if ohms is None:
        return None
    try:
        allowed = _allowed(case, net, off, ohms, None if also_off else if_apart)
    except NotOnBoardError:
        return None
    if allowed is None:
        return None
    answer, volts_max, floors, apart = allowed
    most = min(_AMPS_MOST, volts_max / max(ohms, 0.02))
    watts = most * most * ohms
    done = sum(
        1
        for i, one in enumerate(case.timeline.placed)
        if one.event.action == "inject"
        and load_off <= one.epoch.off
        and i > case.died_at
        and set(one.event.nets) == set(ends)
        and one.epoch.renewed == case.timeline.now.renewed
        and (
            (one.epoch.off == off and not apart) or watts < _MORE * watts_of(one.event)
        )
    )
    if done >= _TIMES_MAX:
        return None
    amps = min(answer.amps_start, volts_max / max(ohms, 0.02))
    return Injecting(
        net,
        answer.plus,
        answer.minus,
        answer,
        volts_max,
        floors,
        amps,
        max(ohms, 0.02),
        watts,
        done > 0,
        off,
        apart,
        bool(load_off & also_off),
    )


def _allowed(
    case: Case,
    net: str,
    off: frozenset[str],
    ohms: float,
    if_apart: frozenset[str] | None,
) -> tuple[InjectAnswer, float, tuple[str, ...], frozenset[str]] | None:
    """Return the limit of an injection: the board's, or what readings raise it to.

    No further than it takes to warm the short.  Without ``if_apart`` the board's alone.
    """
    strict = inject(case.circuit, net, index=case.injection, off=off)
    limit = limit_with_floors(case.circuit, strict)
    volts = limit[0] if limit is not None else 0.0
    if if_apart is None:
        return None if limit is None else (strict, *limit, frozenset())
    apart = if_apart
    if not apart and felt_chance(volts * volts / max(ohms, 0.02)) < FELT:
        now, _ = raised(case, net, off)
        apart = now.apart if now is not None else apart
    if apart:
        answer = inject(case.circuit, net, index=case.injection, off=off, apart=apart)
        higher = limit_with_floors(case.circuit, answer)
        enough = math.floor(10.0 * math.sqrt(_WARM_WATTS * ohms)) / 10.0
        if higher is not None and min(higher[0], enough) > volts:
            known = f"{volts:.3g} V" if volts else "nothing"
            rests = (
                f"The board alone allows {known}: more rests on the readings that show "
                "what stands apart; one in doubt is read again first."
            )
            return answer, min(higher[0], enough), (*higher[1], rests), apart
    return None if limit is None else (strict, *limit, frozenset())


def readings_to_raise(
    view: Outlook, now: Injecting | None, current: Current | None
) -> tuple[Raised, Injecting] | None:
    """Return readings that would let a supply warm what it does not warm now.

    None where the limit is enough already, or no reading would raise it so far.
    """
    case, ends = view.case, guilty_rail(view)
    if ends is None or not case.ground:
        return None
    ohms = _low_ohms(case, ends)
    if ohms is None:
        return None
    watts = now.watts if now is not None else 0.0
    if current is not None and set(current.ends) == set(ends):
        watts = max(watts, current.amps * current.amps * ohms)
    felt = felt_chance(watts)
    if felt + _WORTH_A_LIFT > FELT:
        return None
    try:
        _, then = raised(case, _net_of(case, ends), case.now.off)
    except NotOnBoardError:
        return None
    if then is None or any(case.log.unreachable(*pair) for pair in then.asked):
        return None
    place = where_to_inject(view, None, if_apart=then.apart)
    if place is None or place.again:
        return None
    return (then, place) if felt_chance(place.watts) > felt + _WORTH_A_LIFT else None


def lift_to_inject(
    view: Outlook, now: Injecting | None, lifts: Iterable[Lift]
) -> Iterator[tuple[Lift, Injecting]]:
    """Yield lifts that let a supply in far enough to warm what nothing warms now.

    A coil or link that joins the rail to lower ones, or to unknown ones, sets the
    volts; with it off the rail's own may be all that counts.
    """
    felt = felt_chance(now.watts) if now is not None else 0.0
    case, ends = view.case, guilty_rail(view)
    if ends is None or felt + _WORTH_A_LIFT > FELT:
        return
    net = _net_of(case, ends)
    # What is on no way to any rail in reach changes nothing.
    reach = case.injection.reach(net, case.now.off)
    ways = {ref for one in reach.details for ref in one.via} & case.shared
    for lift in lifts:
        if lift.ref in ways:
            then = where_to_inject(view, None, frozenset((lift.ref,)))
            if then is None or then.again:
                continue
            if felt_chance(then.watts) > felt + _WORTH_A_LIFT:
                yield lift, then


def lift_load_to_inject(
    view: Outlook, lifts: Iterable[Lift]
) -> Iterator[tuple[Lift, Injecting]]:
    """Yield the lift of what loads the rail most, for an injection with it off.

    While it is on, it takes the current and gets warm by nature, and a lesser short
    beside it does not show; with it off a fault is all that is left to take any.
    """
    case, ends = view.case, guilty_rail(view)
    if ends is None:
        return
    off = case.now.off
    mine = sole_loads(case, case.joined(_net_of(case, ends), off=off)) - off
    if len(mine) != 1:
        return
    for lift in lifts:
        if lift.ref in mine:
            then = where_to_inject(view, None, frozenset((lift.ref,)))
            if then is not None and not then.again:
                yield lift, then


def _net_of(case: Case, ends: tuple[str, str]) -> str:
    return ends[1] if case.view.is_ground(ends[0]) else ends[0]


def _low_ohms(
    case: Case, ends: tuple[str, str], off: frozenset[str] = frozenset()
) -> float | None:
    """Return what two nets read, None where that was not read or is high.

    With some parts off, where it was read so; else what is left took less than they.
    """
    ohms = ohms_between(case, ends, off)
    if ohms is None and off and (loaded := ohms_between(case, ends)) is not None:
        ohms = loaded * _LESSER
    return ohms if ohms is not None and ohms <= _LOW_OHMS else None


def ohms_between(
    case: Case, ends: tuple[str, str], off: frozenset[str] = frozenset()
) -> float | None:
    """Return what two nets read last, in ohms; None where they were not read.

    A new part makes it another board; an open reading is none.  With parts named, what
    was read with these off, open or not.
    """
    values = [
        one.value
        for one in case.readings
        if {one.plus.net, one.minus.net} == set(ends)
        and one.state.hand is None
        and one.state.renewed == case.now.renewed
        and off <= one.state.off
        and one.mode in ("resistance", "four-wire")
    ]
    finite = [value for value in values if off or math.isfinite(value)]
    return finite[-1] if finite else None


def heat_likelihood(view: Outlook, place: Injecting) -> NDArray[np.float64]:
    """Return how likely each part is to be named as hot, shape (H, refs + 2).

    The last columns are "nothing got warm"; and, where the load is lifted for it, that
    with the rail not low any more.
    """
    felt = felt_chance(place.watts)
    if not felt:
        return np.ones((len(view.hypotheses), 1))
    refs = tuple(dict.fromkeys(f.ref for one in view.hypotheses for f, _ in one.faults))
    made = np.zeros((len(view.hypotheses), len(refs) + 2))
    index = {ref: i for i, ref in enumerate(refs)}
    case, off = view.case, place.off
    fed = Fed(case, place.net, off=off)
    for h, one in enumerate(view.hypotheses):
        ways = fed.ways(
            [
                fault
                for fault, piece in one.faults
                if fault.ref not in off and case.piece(fault.ref) == piece
            ]
        )
        made[h, :-2] = MISTAKEN / max(1, len(refs))
        # What was felt once tells no more the second time.
        if not place.again:
            # What loads the rail by nature gets warm, beside a lesser short as well;
            # with it off no short is the lesser one.
            beside = math.nan if place.unloaded else place.ohms
            by_load = load_heats(ways.sinks, beside, float(view.gap[h]))
            for ref, chance in ways.chances().items():
                made[h, index[ref]] += felt * (1.0 - by_load) * chance
            for ref in (*ways.passed, *ways.loads):
                if ref in index:
                    made[h, index[ref]] += (
                        felt
                        * by_load
                        * ways.of_loads(ref)
                        / (1 if ref in ways.passed else len(ways.loads))
                    )
        free = place.unloaded and not ways.sinks
        made[h, -1 if free else -2] = max(1e-3, 1.0 - made[h, :-2].sum())
    return made
