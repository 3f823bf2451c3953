"""What the readings make of every hypothesis: probabilities that sum to one."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.batch import make_batch
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.fit import Fit, oddness
from ohmtrail.netanalysis.diagnosis.fit_all import fit_all
from ohmtrail.netanalysis.diagnosis.heat_evidence import Fitted
from ohmtrail.netanalysis.diagnosis.hypotheses import (
    Hypothesis,
    Pairing,
    combined,
    singles,
    with_a_gate,
    with_one_more,
)
from ohmtrail.netanalysis.diagnosis.partners import Singles, told_of
from ohmtrail.netanalysis.diagnosis.predicted import relevant
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, rows_of
from ohmtrail.netanalysis.diagnosis.repeats import odd_repeats

__all__ = ["Group", "Posterior", "Weighed", "posterior", "rows_of", "weigh_these"]

#: A first look drops what lies this far behind the best, as a logarithm.
_HOPELESS = 20.0
#: So many spreads off is left odd.
_LEFT_ODD = 3.0
#: How many single faults are paired with how many: the likeliest, and those that
#: explain most of what the first leaves odd.
_BEST, _OTHERS = 8, 8
#: So many pairs, not further behind than this, get a third fault, of so many each.
_LEADERS, _BEHIND, _THIRD_MAX = 4, 6.0, 12


@dataclass(frozen=True, slots=True)
class Group:
    """Distinct hypotheses that were fitted together."""

    batch: Batch
    fitted: Fit


@dataclass(frozen=True, slots=True)
class Weighed:
    """One hypothesis with its probability, and where its fit stands."""

    hypothesis: Hypothesis
    probability: float
    #: Log evidence of the readings without the prior.
    evidence: float
    group: int
    row: int


@dataclass(frozen=True, slots=True)
class Posterior:
    """All hypotheses, likeliest first."""

    case: Case
    weighed: tuple[Weighed, ...]
    groups: tuple[Group, ...]
    #: Which common paths were fitted; the others stay at their usual value.
    keep: NDArray[np.bool_]
    #: The readings as numbers, as they were fitted.
    problem: Problem

    def deviation(self, one: Weighed) -> NDArray[np.float64]:
        """Return how far each reading lies from this hypothesis, in its spreads."""
        found: NDArray[np.float64] = self.groups[one.group].fitted.deviation[one.row]
        return found

    def doubted(self, one: Weighed) -> NDArray[np.float64]:
        """Return the chance that each reading is plain wrong under a hypothesis."""
        found: NDArray[np.float64] = self.groups[one.group].fitted.wrong[one.row]
        return found

    def wrong(self) -> NDArray[np.float64]:
        """Return, for each reading, the chance that it is plain wrong.

        By what each hypothesis makes of it, or of other readings of the same points.
        """
        likely = [one for one in self.weighed if one.probability > 1e-6]
        doubted = np.array([self.doubted(one) for one in likely])
        expected = np.array(
            [self.groups[one.group].fitted.expected[one.row] for one in likely]
        )
        log_value = np.array([one.noise.log_value for one in self.case.readings])
        odd = odd_repeats(self.case.readings, log_value, expected)
        share = np.array([one.probability for one in likely])
        total: NDArray[np.float64] = share @ np.maximum(doubted, odd)
        return total


@dataclass(frozen=True, slots=True)
class _Set:
    hypotheses: Sequence[Hypothesis]
    group: Group
    row: NDArray[np.intp]
    #: Log likelihood of power-ups and injections under each hypothesis.
    told: Sequence[float]

    def score(self, i: int) -> float:
        found = self.group.fitted.evidence[self.row[i]]
        return float(found) + self.hypotheses[i].log_prior + self.told[i]


def posterior(case: Case, boost: Mapping[str, float] | None = None) -> Posterior:
    """Weigh every single fault, then what the best of them may have taken along.

    Parameters
    ----------
    case : Case
    boost : mapping, optional
        Factor on the prior of a part (looked burnt, was hot).

    Notes
    -----
    O(distinct hypotheses * states * paths^3); pairs are tried among the best single
    faults only.
    """
    first = singles(case.faults, case.pieces, boost)
    batch, row = make_batch(case, first, case.states)
    keep, telling = relevant(case.problem, batch)
    keep = case.kept(keep)
    numbers = case.numbers(case.readings, case.states, keep)
    problem = case.without(keep, numbers)
    # What no reading can tell from a healthy board has its evidence.
    place = np.where(telling, np.cumsum(telling) - 1, 0)
    batch, row = rows_of(batch, np.flatnonzero(telling)), place[row]
    one = _weigh(case, problem, keep, first, batch, row)
    order = sorted(range(len(first)), key=lambda i: -one.score(i))
    groups: dict[int, list[Hypothesis]] = {}
    for i in order:
        if row[i]:
            groups.setdefault(int(row[i]), []).append(first[i])
    odd = oddness(problem, one.group.fitted)
    ones = Singles.of(case, groups, odd)
    best = ones.groups[:_BEST]
    others = []
    joining = ones.joining(case)
    for first_row, group in zip(groups, best, strict=False):
        mine = ones.explaining(group[0], odd[first_row])
        mine += ones.facing(case, group[0], odd[first_row])
        some = dict.fromkeys((*range(min(_OTHERS, len(groups))), *mine, *joining))
        others.append([ones.groups[j] for j in some])
    sets = [one]
    healthy = float(one.group.fitted.evidence[row[0]])

    seen: set[frozenset[tuple[Fault, int]]] = set()

    def add(pairs: Sequence[Pairing]) -> None:
        # The same set of faults may come by several ways: it counts once.
        fresh: list[tuple[Hypothesis, list[Hypothesis]]] = []
        for pair in pairs:
            mine = []
            for member in pair.members:
                if (faults := frozenset(member.faults)) not in seen:
                    seen.add(faults)
                    mine.append(member)
            if mine:
                fresh.append((pair.example, mine))
        if not fresh:
            return
        examples = [example for example, _ in fresh]
        made, place = make_batch(case, examples, case.states)
        # Each pair stands for all members, and for their chance together.
        members = [m for _, mine in fresh for m in mine]
        which = [place[i] for i, (_, mine) in enumerate(fresh) for _ in mine]
        row = np.array(which, np.intp)
        sets.append(_weigh(case, problem, keep, members, made, row, healthy=healthy))

    pairs = combined(best, others, case.chains, case.pieces, first)
    if pairs:
        add(pairs)
        add(_third(problem, sets, ones, sets[-1]) + _gates(case, one, ones))
    return _normalised(case, sets, keep, problem)


def weigh_these(case: Case, hypotheses: Sequence[Hypothesis]) -> Posterior:
    """Weigh a list of hypotheses against one another, and nothing else.

    Parameters
    ----------
    case : Case
        Its faults hold all that the hypotheses name.
    hypotheses : sequence of Hypothesis
        At least one, each with its prior.
    """
    batch, row = make_batch(case, hypotheses, case.states)
    keep, _ = relevant(case.problem, batch)
    keep = case.kept(keep)
    numbers = case.numbers(case.readings, case.states, keep)
    problem = case.without(keep, numbers)
    # What is contradicted is asked by which lines: all are fitted to the end.
    every = _weigh(case, problem, keep, hypotheses, batch, row, math.inf)
    return _normalised(case, [every], keep, problem)


def _normalised(
    case: Case, sets: Sequence[_Set], keep: NDArray[np.bool_], problem: Problem
) -> Posterior:
    score = np.array(
        [part.score(i) for part in sets for i in range(len(part.hypotheses))]
    )
    share = np.exp(score - score.max())
    share /= share.sum()
    found: list[Weighed] = []
    for number, part in enumerate(sets):
        for i, hypothesis in enumerate(part.hypotheses):
            row = int(part.row[i])
            evidence = float(part.group.fitted.evidence[row])
            chance = float(share[len(found)])
            found.append(Weighed(hypothesis, chance, evidence, number, row))
    found.sort(key=lambda one: -one.probability)
    groups = tuple(part.group for part in sets)
    return Posterior(case, tuple(found), groups, keep, problem)


def _third(
    problem: Problem, sets: Sequence[_Set], ones: Singles, pairs: _Set
) -> list[Pairing]:
    """Return the likeliest pairs with one fault more, where something is left odd."""
    odd = oddness(problem, pairs.group.fitted)
    top = max(part.score(i) for part in sets for i in range(len(part.hypotheses)))
    order = sorted(range(len(pairs.hypotheses)), key=lambda i: -pairs.score(i))
    seen: set[int] = set()
    made: list[Pairing] = []
    for i in order:
        row = int(pairs.row[i])
        if len(seen) == _LEADERS or pairs.score(i) < top - _BEHIND:
            break
        if row in seen:
            continue
        seen.add(row)
        leader = pairs.hypotheses[i]
        mine = ones.explaining(leader, odd[row], _THIRD_MAX)
        made += with_one_more(leader, [ones.groups[j] for j in mine])
    return made


def _gates(case: Case, singles: _Set, ones: Singles) -> list[Pairing]:
    """Return punched gates with what they took along, alone and beside the best."""
    best = max(range(len(singles.hypotheses)), key=singles.score)
    leader = singles.hypotheses[best]
    deviation = singles.group.fitted.deviation[int(singles.row[best])]
    # Whose own pads read too low: its gate alone may explain nothing (see there).
    low = {
        point.pin.ref
        for i in np.flatnonzero(deviation < -_LEFT_ODD).tolist()
        for point in (case.readings[i].plus, case.readings[i].minus)
        if point.pin is not None
    }
    groups = [
        own
        for group in ones.groups
        if (own := tuple(one for one in group if low & set(one.refs)))
    ]
    return with_a_gate(leader, groups, case.chains, case.pieces)


def _weigh(
    case: Case,
    problem: Problem,
    keep: NDArray[np.bool_],
    hypotheses: Sequence[Hypothesis],
    batch: Batch,
    row: NDArray[np.intp],
    hopeless: float = _HOPELESS,
    healthy: float | None = None,
) -> _Set:
    """Fit hypotheses; ``healthy`` is the evidence for a healthy board, if known."""
    batch = replace(batch, common_there=batch.common_there[:, :, keep])
    prior = np.full(len(batch.path), -math.inf)
    for i, one in enumerate(hypotheses):
        prior[row[i]] = np.logaddexp(prior[row[i]], one.log_prior)
    fitted = fit_all(problem, batch, prior, hopeless)
    told_by = told_of(case)
    if healthy is None:
        healthy = _of_healthy(hypotheses, fitted, row)
    told = [
        told_by(one, _fit_of(fitted, int(row[i]), healthy))
        if told_by is not None
        else 0.0
        for i, one in enumerate(hypotheses)
    ]
    return _Set(hypotheses, Group(batch, fitted), row, told)


def _fit_of(fitted: Fit, row: int, healthy: float) -> Fitted:
    m = fitted.common.shape[1]
    spread = np.sqrt(np.maximum(np.diagonal(fitted.covariance[row])[m:], 0.0))
    return Fitted(
        healthy - float(fitted.evidence[row]),
        tuple(fitted.fault[row].tolist()),
        tuple(spread.tolist()),
    )


def _of_healthy(
    hypotheses: Sequence[Hypothesis], fitted: Fit, row: NDArray[np.intp]
) -> float:
    """Return the evidence for a healthy board, none where it is not among them."""
    for i, one in enumerate(hypotheses):
        if not one.faults:
            return float(fitted.evidence[row[i]])
    return -math.inf
