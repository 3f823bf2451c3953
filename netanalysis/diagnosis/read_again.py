"""Readings to take once more before a part comes off or power goes on.

A reading costs ten seconds, a part taken off for a slip of the pen costs minutes to an
hour.  Two kinds are read again: those that fit nothing else that was read, and those
that a part would come off for although nothing else speaks against it.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.action import Action
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.costs import READ_SECONDS, lift_seconds
from ohmtrail.netanalysis.diagnosis.fit import Fit
from ohmtrail.netanalysis.diagnosis.forecast import told_by_others
from ohmtrail.netanalysis.diagnosis.posterior import Posterior, Weighed
from ohmtrail.netanalysis.diagnosis.problem import rows_of
from ohmtrail.netanalysis.diagnosis.readings import Reading
from ohmtrail.netanalysis.diagnosis.requirement import needed

__all__ = ["before_a_part", "doubtful", "low_gate"]

#: From this chance on that it is wrong a reading is taken again.
_DOUBTFUL = 0.2
#: Readings of the same two points that differ by less agree, as a logarithm (a factor
#: of 1.5; common practice, no source).
_AGREE = float(np.log(1.5))
#: A part hangs on a reading that leaves less than this share of its chance without it.
_HANGS = 0.5
#: So much likelier than on a healthy board is a reading that convicts, as a logarithm.
_ODD = 1.0
#: Below this chance a hypothesis is not thought of, even with a reading less; so many
#: are at most.
_NEVER, _LIKELY_MAX = 1e-9, 256
#: A third reading tells which of two is wrong, a fourth is not asked for.
_TWICE = 2
#: A punched gate reads less than this, in ohms (TRADE: some ohms to some hundred).
_LOW_GATE = 300.0
_MODES = ("resistance", "four-wire", "diode")


def doubtful(found: Posterior, have: Iterable[str]) -> Action | None:
    """Return the reading to take once more since it fits nothing else, else None.

    Parameters
    ----------
    found : Posterior
    have : iterable of str
        Meter modes at hand.

    Notes
    -----
    What is read again is right in most cases, and then it is another line that is
    wrong: that one is named, and read again, next.
    """
    wrong = found.wrong()
    order = [int(i) for i in np.argsort(-wrong, kind="stable") if wrong[i] > _DOUBTFUL]
    case = found.case
    for i in order:
        one = case.readings[i]
        lines = _once_or_apart(case, one)
        if lines and _can_be_read(case, one, have):
            if len(lines) > 1:
                told = f"{_lines(lines)} disagree, a third reading tells which is wrong"
            else:
                told = f"line {one.line} fits little else that was read: read it again"
            return _again(one, told)
    return None


def before_a_part(
    found: Posterior, refs: Collection[str], have: Iterable[str]
) -> Action | None:
    """Return the reading that a part would come off for alone, None if none is.

    Parameters
    ----------
    found : Posterior
    refs : collection of str
        What is about to come off.
    have : iterable of str
        Meter modes at hand.

    Notes
    -----
    Without a reading each hypothesis loses what that one added to its evidence
    (`told_by_others`).  O(hypotheses * readings * unknowns^2).
    """
    case = found.case
    once = [
        i
        for i, one in enumerate(case.readings)
        if len(_once_or_apart(case, one)) == 1 and _can_be_read(case, one, have)
    ]
    healthy = next((w for w in found.weighed if not w.hypothesis.faults), None)
    if not once or healthy is None:
        return None
    likely = [w for w in found.weighed[:_LIKELY_MAX] if w.probability > _NEVER]
    chance = np.array([*(one.probability for one in likely), 0.0])
    likely.append(healthy)
    right = np.array([bool(needed(case, w.hypothesis) & set(refs)) for w in likely])
    told = _told(found, likely)[:, once]
    now = float(chance @ right)
    if not now:
        return None
    # What a healthy board would show as well convicts nobody; it clears others.
    speaks = (chance * right) @ told / now - told[-1] > _ODD
    without = chance[:, None] * np.exp(-told)
    left = np.where(speaks, right @ without / without.sum(0), np.inf)
    least = int(np.argmin(left))
    if left[least] >= _HANGS * now:
        return None
    one = case.readings[once[least]]
    who = ", ".join(sorted(refs)[:4]) + (" and more" if len(refs) > 4 else "")
    return _again(one, f"{who} would come off for line {one.line} alone: read it again")


def low_gate(found: Posterior) -> Action | None:
    """Return the lift of a switch whose gate reads low each time, else None.

    Parameters
    ----------
    found : Posterior

    Notes
    -----
    No power on a gate that reads as a punched one does: readings that agree are no
    slips, though no explanation that was thought of has room for them.  A switch that
    was off before is not taken off again: then the bench stops.
    """
    case, wrong = found.case, found.wrong()
    for i, one in enumerate(case.readings):
        red, black = one.plus.pin, one.minus.pin
        if red is None or black is None or red.ref != black.ref:
            continue
        role = {case.view.role(pin.ref, pin.number) for pin in (red, black)}
        low = wrong[i] > _DOUBTFUL and one.value < _LOW_GATE
        if not low or not role & {"gate", "base"} or one.state != case.now:
            continue
        every = [case.readings[k].value for k in _same_place(case, one)]
        # One of three may be a slip: then it does not read low each time.
        if len(every) < _TWICE or max(every) >= _LOW_GATE or red.ref in case.now.off:
            continue
        told = (
            f"{one.plus} to {one.minus} reads {one.value:g} ohms each time and nothing "
            "explains it: no power on that gate"
        )
        if any(e.action == "lift" and e.part == red.ref for e in case.log.events):
            return Action("stop", f"{told}, and {red.ref} was off before")
        return Action(
            "lift",
            f"{told}. {red.ref} off, and measure it in the hand and its pads on the "
            "board",
            lift_seconds(case.view, red.ref),
            part=red.ref,
            expected=(
                ("it reads low in the hand", "its gate is punched: replace it"),
                ("the board's pads read low", "what drives them is dead"),
            ),
        )
    return None


def _told(found: Posterior, some: Sequence[Weighed]) -> NDArray[np.float64]:
    """Return what each reading adds to the evidence of each, shape (H, P)."""
    made = np.zeros((len(some), len(found.case.readings)))
    for number, group in enumerate(found.groups):
        mine = [h for h, one in enumerate(some) if one.group == number]
        if mine:
            rows = np.array([some[h].row for h in mine], np.intp)
            fitted = Fit(*(getattr(group.fitted, f.name)[rows] for f in fields(Fit)))
            batch = rows_of(group.batch, rows)
            made[mine] = told_by_others(found.problem, batch, fitted)
    return made


def _once_or_apart(case: Case, one: Reading) -> tuple[int, ...]:
    """Return the line of a reading taken once, or of two that disagree; else none."""
    mine = _same_place(case, one)
    lines = tuple(case.readings[i].line for i in mine)
    if len(mine) == _TWICE:
        values = [case.problem.log_value[i] for i in mine]
        return lines if abs(values[0] - values[1]) > _AGREE else ()
    return lines if len(mine) == 1 else ()


def _same_place(case: Case, one: Reading) -> list[int]:
    """Return the readings of the same points, mode and state of the board."""
    return [
        i
        for i, other in enumerate(case.readings)
        if (other.mode, other.state) == (one.mode, one.state)
        and _points(other) == _points(one)
    ]


def _points(one: Reading) -> frozenset[str | None]:
    """Return where a reading is taken: two wires read the same all over a net."""
    if one.mode == "four-wire" or one.state.hand is not None:
        return frozenset((str(one.plus), str(one.minus)))
    return frozenset((one.plus.net, one.minus.net))


def _can_be_read(case: Case, one: Reading, have: Iterable[str]) -> bool:
    """Whether the same reading can be taken of the board as it is now."""
    if one.mode not in _MODES or one.mode not in have or _tried(case, one):
        return False
    if one.state.hand is not None:
        ref, piece = one.state.hand
        return ref in case.now.off and case.piece(ref) == piece
    return one.state == case.now and one.line > case.log.last_power_line


def _tried(case: Case, one: Reading) -> bool:
    """Whether it was to be read again and could not be reached."""
    return any(
        event.unreachable
        and event.line > one.line
        and event.mode == one.mode
        and {str(event.plus), str(event.minus)} == {str(one.plus), str(one.minus)}
        for event in case.log.events
    )


def _lines(lines: tuple[int, ...]) -> str:
    return "lines " + " and ".join(map(str, lines))


def _again(one: Reading, told: str) -> Action:
    return Action(
        "measure",
        f"{one.plus} to {one.minus} once more: {told}",
        READ_SECONDS,
        one.mode,
        str(one.plus),
        str(one.minus),
        part=one.state.hand[0] if one.state.hand is not None else None,
        expected=(
            ("the same", "it stands, whatever else has to be doubted for it"),
            ("another value", "one of the two is wrong: read a third time"),
        ),
    )
