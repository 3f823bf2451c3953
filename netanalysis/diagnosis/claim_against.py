"""The lines of a log that contradict a suggestion."""

from collections.abc import Sequence

import numpy as np

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.posterior import Posterior, Weighed
from ohmtrail.netanalysis.diagnosis.reasons import reading_words

__all__ = ["lines_against"]

Placed = tuple[Fault, int]

#: It is contradicted where every way in which it could hold explains the readings
#: worse than the best other explanation by this much log evidence (1 in 90), and a
#: reading says so.
_AGAINST = 4.5
#: Lines that are named for each way in which a claim could hold.
_LINES_EACH = 2
#: A reading speaks against a fit from this deviation on, in its spreads, if the
#: better explanation is nearer by so much.
_OFF, _NEARER = 3.0, 1.5
_WRONG = 0.5
#: How far a drifted part may stay from its drift, and what more costs, in log ohms.
_STRAINED, _EDGE = 0.05, 0.1


def lines_against(
    found: Posterior, holds: Sequence[bool], ways: Sequence[frozenset[Placed]]
) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """Return the lines that contradict a claim, none unless all of its ways fail.

    Parameters
    ----------
    found : Posterior
        The claim and what else explains the readings, weighed together.
    holds : sequence of bool
        Under which of them the claim is true.
    ways : sequence of frozenset
        The sets of (fault, piece) that make it true.

    Returns
    -------
    lines : tuple of int
        For each way the strongest ones, by its best fit.
    words : tuple of str
        The readings, strongest first.
    """
    mine = [one for one, yes in zip(found.weighed, holds, strict=True) if yes]
    others = [one for one, yes in zip(found.weighed, holds, strict=True) if not yes]
    if not mine or not others:
        return (), ()
    best = max(others, key=lambda one: one.evidence)
    value = {id(one): one.evidence - _strain(found, one)[0] for one in mine}
    top = max(value.values())
    if top > best.evidence - _AGAINST:
        return (), ()
    rows: dict[int, float] = {}
    for way in ways:
        fits = [one for one in mine if way <= set(one.hypothesis.faults)]
        if not fits:
            return (), ()
        one = max(fits, key=lambda one: value[id(one)])
        against = _against(found, one, best)
        if not against:
            return (), ()
        for i in sorted(against, key=lambda i: -against[i])[:_LINES_EACH]:
            rows[i] = max(rows.get(i, 0.0), against[i])
    readings = found.case.readings
    strongest = sorted(rows, key=lambda i: -rows[i])
    return (
        tuple(sorted(readings[i].line for i in rows)),
        tuple(reading_words(readings[i]) for i in strongest[:5]),
    )


def _against(found: Posterior, one: Weighed, best: Weighed) -> dict[int, float]:
    mine, better = np.abs(found.deviation(one)), np.abs(found.deviation(best))
    wrong, right = found.doubted(one), found.doubted(best)
    made = dict.fromkeys(_strain(found, one)[1], _OFF)
    return made | {
        i: float(mine[i])
        for i in range(len(mine))
        if (mine[i] > _OFF and mine[i] - better[i] > _NEARER)
        or (wrong[i] > _WRONG and right[i] < _WRONG)
    }


def _strain(found: Posterior, one: Weighed) -> tuple[float, list[int]]:
    """Return what it costs that a drifted part would have to read as marked.

    The ends of a fault's range are soft; those of "drifted" are the claim itself.
    With it, the readings across the part.
    """
    group = found.groups[one.group]
    cost, rows, place = 0.0, [], 0
    for fault, piece in one.hypothesis.faults:
        size = len(fault.paths)
        if fault.name == "drifted":
            fitted = group.fitted.fault[one.row, place : place + size]
            outside = float(np.max(group.batch.low[one.row, place] - fitted))
            if outside > _STRAINED:
                cost += 0.5 * (outside / _EDGE) ** 2
                rows += _across(found.case, fault, piece)
        place += size
    return cost, rows


def _across(case: Case, fault: Fault, piece: int) -> list[int]:
    return [
        i
        for i, one in enumerate(case.readings)
        if {one.plus.net, one.minus.net} == set(fault.nets)
        and (one.state.holds(fault.ref, piece) or one.state.hand == (fault.ref, piece))
    ]
