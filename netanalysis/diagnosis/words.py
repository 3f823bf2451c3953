"""Actions in a technician's words."""

import math
from collections.abc import Iterable, Mapping, Sequence

from ohmtrail.netanalysis.diagnosis.action import Action
from ohmtrail.netanalysis.diagnosis.apart import Raised
from ohmtrail.netanalysis.diagnosis.candidates import Candidate
from ohmtrail.netanalysis.diagnosis.costs import (
    INJECT_SECONDS,
    LOOK_SECONDS,
    READ_SECONDS,
    lift_seconds,
    replace_seconds,
)
from ohmtrail.netanalysis.diagnosis.injecting import Injecting
from ohmtrail.netanalysis.diagnosis.lifts import Lift
from ohmtrail.netanalysis.diagnosis.outlook import Outlook
from ohmtrail.netanalysis.diagnosis.requirement import mates_of
from ohmtrail.netanalysis.recognise._natural import natural

__all__ = [
    "fault_words",
    "inject_action",
    "lift_action",
    "look_action",
    "measure_action",
    "ohms_text",
    "raise_action",
    "replace_action",
    "share_text",
    "try_action",
]

#: So many suspects are told of at a reading; as logarithms, closer than this is alike.
_TOLD, _ALIKE = 6, 0.1


def ohms_text(ohms: float) -> str:
    """Write a resistance as people read it ("11.8 ohms", "4.98 k", "OL")."""
    if not math.isfinite(ohms) or ohms >= 2e7:
        return "OL"
    for limit, scale, unit in ((1e6, 1e6, "M"), (1e3, 1e3, "k")):
        if ohms >= limit:
            return f"{ohms / scale:.3g} {unit}ohms"
    if ohms < 0.02:
        return f"{1e3 * ohms:.2g} milliohms"
    return f"{ohms:.3g} ohms" if ohms >= 99.5 else f"{ohms:.2g} ohms"


def fault_words(ref: str, name: str, pin: str = "") -> str:
    """Write a fault with its part ("Q12 drain-source short")."""
    return f"{ref} {name}" + (f" at pin {pin}" if pin and name == "pin short" else "")


def share_text(share: float) -> str:
    """Write a chance as people read it; nothing is ever sure.

    Examples
    --------
    >>> share_text(0.999), share_text(0.34), share_text(0.002)
    ('over 99 %', '34 %', 'under 1 %')
    """
    if share > 0.99:
        return "over 99 %"
    return "under 1 %" if share < 0.01 else f"{100 * share:.0f} %"


def _most(refs: Iterable[str], shown: int = 4) -> str:
    names = list(refs)
    more = len(names) - shown
    return ", ".join(names[:shown]) + (f" and {more} more" if more > 0 else "")


def measure_action(view: Outlook, candidate: Candidate) -> Action:
    """Return the reading with what its outcomes would mean."""
    one = candidate.reading
    mean, _ = view.forecasts([candidate])
    groups: dict[str, list[tuple[float, float]]] = {}
    for h, hypothesis in enumerate(view.hypotheses):
        who = " + ".join(hypothesis.refs) or "a good board"
        groups.setdefault(who, []).append((float(view.belief[h]), float(mean[h, 0])))
    ranked = _telling(groups)
    levels: dict[str, list[str]] = {}
    for who, usual in ranked:
        levels.setdefault(_shown(one.mode, math.exp(usual)), []).append(who)
    expected = tuple(
        (f"about {level}", f"points to {_most(refs)}") for level, refs in levels.items()
    )
    likely = _most(who for who, _ in ranked)
    alone = len(ranked) == 1
    told = f"it speaks for {likely} or against" if alone else f"it tells apart {likely}"
    if _read_before(view, candidate):
        why, other = "one reading may be a slip", "another value"
        if one.mode in ("four-wire", "drop"):
            why, other = "the last digits of one tell too little", "quite another value"
        told = f"once more, since {why}; {told}"
        expected += ((other, "one of the two is wrong: read a third time"),)
    return Action(
        "measure",
        f"{candidate.about}: {told}",
        READ_SECONDS,
        one.mode,
        str(one.plus),
        str(one.minus),
        part=candidate.part,
        expected=expected,
    )


def _telling(
    groups: Mapping[str, Sequence[tuple[float, float]]],
) -> list[tuple[str, float]]:
    """Return the likeliest suspects with the logarithm of what each would read.

    Where they would all read alike, some of whom the reading would tell them from.
    """
    total = {who: sum(p for p, _ in found) for who, found in groups.items()}
    ranked = [
        (who, sum(p * m for p, m in groups[who]) / total[who])
        for who in sorted(groups, key=lambda who: (-round(total[who], 2), natural(who)))
        if total[who]
    ]
    likely = ranked[:_TOLD]
    usual = likely[0][1]
    if all(abs(reads - usual) < _ALIKE for _, reads in likely):
        others = [row for row in ranked[_TOLD:] if abs(row[1] - usual) >= _ALIKE]
        if others:
            likely = [*likely[: _TOLD // 2], *others[: _TOLD // 2]]
    return likely


def _read_before(view: Outlook, candidate: Candidate) -> bool:
    """Whether the same two points were read in the board's present state."""
    one = candidate.reading
    ends = {str(one.plus), str(one.minus)}
    return any(
        {str(r.plus), str(r.minus)} == ends
        and r.mode == one.mode
        and r.state == one.state
        for r in view.case.readings
    )


def _shown(mode: str, ohms: float) -> str:
    return ohms_text(ohms) if mode != "drop" else f"{1e3 * ohms:.3g} mV an ampere"


def lift_action(view: Outlook, lift: Lift) -> Action:
    """Return a lift with what the rail would then tell."""
    one = lift.reading.reading
    why = (
        f"with {lift.ref} off, {one.plus} to {one.minus} tells which side is guilty; "
        f"measure {lift.ref} in the hand as well"
    )
    if lift.load:
        why += (
            f"; {lift.ref} loads {one.plus} most and gets warm by nature: what still "
            f"takes current without it, at {lift.volts:.3g} V at most, is the short"
        )
    elif lift.volts is not None:
        why += (
            f"; without it {lift.volts:.3g} V may be injected, enough to warm the short"
        )
    return Action(
        "lift",
        why,
        lift_seconds(view.case.view, lift.ref),
        part=lift.ref,
        expected=(
            ("the short is gone", f"it went with {lift.ref}; measure it in the hand"),
            ("unchanged", f"{lift.ref} is not the main path"),
            ("higher but low", f"{lift.ref} is one path of several"),
        ),
    )


def raise_action(view: Outlook, then: Raised, place: Injecting) -> Action:
    """Return a reading that shows a rail to stand apart before more volts go in."""
    net, other = then.asked[0]
    more = len(then.asked) - 1
    row, shows = (f" and {more} more like it", "show") if more else ("", "shows")
    joined = f"is it joined to {place.net}?"
    if view.case.view.is_ground(other):
        joined = f"its own reading, beside that of {place.net}."
        if net == place.net:
            joined = "its own reading, beside those of lower rails."
    elif net == place.net:
        joined = "are they joined?"
    return Action(
        "measure",
        f"{net} to {other}: {joined} If this reading{row} {shows} that nothing lower "
        f"is joined to {place.net}, {place.volts_max:.3g} V can go in, enough to warm "
        "the short",
        READ_SECONDS,
        "resistance",
        net,
        other,
        expected=(
            ("as much as both to ground together", "no short joins the two"),
            ("less than that", "they may be joined: the lower limit holds"),
        )
        if not view.case.view.is_ground(other)
        else (
            (
                "it is its own reading",
                "what reads with it tells whether they are joined",
            ),
        ),
        notes=("the supply is off while resistances are read",),
    )


def _limit_words(place: Injecting) -> str:
    if place.apart:
        return (
            f"{_most(sorted(place.apart))} read apart from it, so that "
            f"{place.volts_max:g} V is the least of what is left in reach"
        )
    if not place.floors:
        return place.answer.why
    return (
        f"{place.volts_max:g} V is the least that any rail in reach has; of some only "
        "the least is known"
    )


def inject_action(view: Outlook, place: Injecting) -> Action:
    """Return an injection with its limits."""
    answer = place.answer
    return Action(
        "inject",
        f"into {place.net}: what heats, and where the drop is lowest, is the short. "
        f"{_limit_words(place)}",
        INJECT_SECONDS,
        plus=place.plus,
        minus=place.minus,
        volts_max=place.volts_max,
        amps_start=answer.amps_start,
        expected=(
            ("one part gets warm", "it is the likeliest culprit; measure it"),
            ("nothing gets warm", "read the drop across the suspects meanwhile"),
        ),
        notes=(*place.floors, *answer.cautions),
    )


def look_action(view: Outlook, ref: str) -> Action:
    """Return a look at a part."""
    return Action(
        "look",
        f"{ref} under the microscope: a burnt or cracked part is suspect first, a "
        "good look clears nobody",
        LOOK_SECONDS,
        part=ref,
        expected=(
            ("burnt, cracked, wet", f"{ref} rises among the suspects"),
            ("ok", "go on measuring"),
        ),
    )


def try_action(view: Outlook, ref: str, end: frozenset[str]) -> Action:
    """Return the lift of a suspect that is not sure enough to be replaced."""
    chance = share_text(float(view.chance[view.ends.index(end)]))
    return Action(
        "lift",
        f"{ref} is the cheapest likely suspect ({chance}): lift it, measure it "
        "in the hand and the rail without it",
        lift_seconds(view.case.view, ref),
        part=ref,
        expected=(
            ("it reads bad in the hand", "replace it, with its parallel mates"),
            ("it reads good and the rail as before", "put it back, try the next"),
        ),
    )


def replace_action(view: Outlook, end: frozenset[str]) -> Action:
    """Return the complete set to replace, with what to inspect before power."""
    case = view.case
    parts = tuple(sorted(end))
    seconds = sum(
        replace_seconds(case.view, ref, off=ref in case.now.off) for ref in parts
    )
    chance = float(view.chance[view.ends.index(end)])
    sets = (sorted({ref, *mates_of(case, ref)} & end) for ref in parts)
    lots = dict.fromkeys(tuple(one) for one in sets if len(one) > 1)
    together = " together" if len(parts) > 1 else ""
    for lot in lots:
        which = "" if set(lot) == end else f"{', '.join(lot)} "
        together += f", {which}same type, same lot"
    return Action(
        "replace",
        f"{_most(parts, 8)}{together}: with a chance of {share_text(chance)} this is "
        "all that is wrong; a parallel mate that reads well may still be weakened",
        seconds,
        parts=parts,
        expected=(
            ("the cold readings of the stage are good", "go on to power"),
            ("still low", "another path is left: go on measuring"),
        ),
    )
