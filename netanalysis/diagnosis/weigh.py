"""What the readings make of a suggestion: it fits, is contradicted, or is open."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

import numpy as np

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.action import Action
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.claim_against import lines_against
from ohmtrail.netanalysis.diagnosis.claim_faults import faults_meant
from ohmtrail.netanalysis.diagnosis.claim_parts import focus_of
from ohmtrail.netanalysis.diagnosis.claims import Claim, Item, parse_claim
from ohmtrail.netanalysis.diagnosis.decider import decide
from ohmtrail.netanalysis.diagnosis.faults import (
    DRIVER_TOO,
    GATE_RESISTOR_TOO,
    Fault,
)
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.log import Log
from ohmtrail.netanalysis.diagnosis.posterior import (
    Posterior,
    weigh_these,
)
from ohmtrail.netanalysis.diagnosis.rank import weigh_log
from ohmtrail.netanalysis.diagnosis.reasons import reading_words
from ohmtrail.netanalysis.diagnosis.requirement import mates_of

__all__ = ["Meaning", "Weigher", "Weighing", "weigh"]

#: A claim fits from this probability on.
_FITS = 0.5
#: A line that tells for a claim brings it nearer by so many spreads.
_NEARER = 1.5
#: Explanations that a claimed fault is put beside, and hypotheses at most.
_BESIDE, _BASES, _HYPOTHESES = 8, 48, 1200
#: More ways than this are not weighed: each is fitted beside an explanation at least.
_WAYS_MAX = 500
#: Two parts that failed each on its own, as for the suspects.
_DOUBLE = 0.08

Placed = tuple[Fault, int]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What the readings make of one meaning of a suggestion."""

    claim: Claim
    #: "fits", "contradicted" or "open".
    verdict: str
    #: Probability that it holds, against all else that explains the readings.
    probability: float
    #: Log lines that speak against it, and in words.
    by: tuple[int, ...]
    because: tuple[str, ...]
    decider: Action | None = None


@dataclass(frozen=True, slots=True)
class Weighing:
    """The answer of `weigh`."""

    text: str
    meanings: tuple[Meaning, ...]
    verdict: str
    by: tuple[int, ...]
    decider: Action | None

    @property
    def probability(self) -> float:
        """Chance of the likeliest meaning."""
        return max(one.probability for one in self.meanings)


class Weigher:
    """Holds suggestions against the readings of one log, which it weighs once.

    Parameters
    ----------
    circuit : Circuit
    log : Log
    have : iterable of str
        Meter modes at hand, for the reading that would decide.
    """

    def __init__(
        self, circuit: Circuit, log: Log, have: Iterable[str] = ("resistance",)
    ) -> None:
        self.circuit = circuit
        self.log = log
        self.have = tuple(have)
        self.case = Case(circuit, log)
        self.first = weigh_log(self.case)
        self.focus = focus_of(circuit, self.case.view, log)

    def weigh(self, text: str) -> Weighing:
        """Hold a suggestion against the readings.

        Parameters
        ----------
        text : str
            In a technician's words, see `parse_claim`.

        Returns
        -------
        Weighing
            Where it has several meanings, their common verdict, else "open".

        Raises
        ------
        ClaimError
            As `parse_claim`.

        Notes
        -----
        Every way in which the claim could hold, alone and beside the best other
        explanations, is fitted to all readings together with those explanations.
        """
        claims = parse_claim(text, self.circuit, self.case.view, self.focus)
        meanings = tuple(self._weigh_one(claim) for claim in claims)
        verdicts = {one.verdict for one in meanings}
        verdict = verdicts.pop() if len(verdicts) == 1 else "open"
        lines = {line for one in meanings for line in one.by}
        deciders = [one.decider for one in meanings if one.decider is not None]
        return Weighing(
            text,
            meanings,
            verdict,
            tuple(sorted(lines)) if verdict == "contradicted" else (),
            deciders[0] if deciders and verdict == "open" else None,
        )

    def _weigh_one(self, claim: Claim) -> Meaning:
        if any(item.fault == "weakened" for item in claim.items):
            return _weakened(self.first, claim)
        view = self.case.view
        items = [faults_meant(self.circuit, view, item) for item in claim.items]
        known = set(self.case.faults)
        more = [
            fault
            for found in items
            for faults in found.values()
            for fault in faults
            if fault not in known
        ]
        case = Case(self.circuit, self.log, _weightless(more)) if more else self.case
        ways = _ways(case, claim.items, [_as_weighed(one, known) for one in items])
        if not ways:
            words = "no reading of direct current shows this fault"
            return Meaning(claim, "open", 0.0, (), (words,))
        if len(ways) > _WAYS_MAX:
            words = "it could hold in too many ways: name fewer parts, or one fault"
            return Meaning(claim, "open", 0.0, (), (words,))
        found = weigh_these(case, _hypotheses(case, self.first, ways))
        holds = [_holds(one.hypothesis, ways) for one in found.weighed]
        pairs = zip(found.weighed, holds, strict=True)
        chance = sum(one.probability for one, yes in pairs if yes)
        if case.readings and chance >= _FITS:
            return Meaning(claim, "fits", chance, (), _for(found, holds))
        by, because = lines_against(found, holds, ways)
        if by:
            return Meaning(claim, "contradicted", chance, by, because)
        faults = [fault for way in ways for fault, _ in way]
        decider = decide(found, holds, faults, self.have)
        if not case.readings:
            because = ("the log holds no reading that counts for the board as it is",)
        return Meaning(claim, "open", chance, (), because, decider)


def weigh(
    circuit: Circuit, log: Log, text: str, have: Iterable[str] = ("resistance",)
) -> Weighing:
    """Hold one suggestion against the readings of a log, as `Weigher.weigh`."""
    return Weigher(circuit, log, have).weigh(text)


def _weightless(faults: Iterable[Fault]) -> list[Fault]:
    """Return claimed faults that no case knows, once each and without a prior."""
    return list(dict.fromkeys(replace(one, weight=0.0) for one in faults))


def _as_weighed(
    found: Mapping[str, Sequence[Fault]], known: set[Fault]
) -> dict[str, list[Fault]]:
    return {
        ref: [one if one in known else replace(one, weight=0.0) for one in faults]
        for ref, faults in found.items()
    }


def _weakened(found: Posterior, claim: Claim) -> Meaning:
    """Judge "weakened", which no cold reading shows: by what the parts went through."""
    case = found.case
    refs = {ref for item in claim.items for ref in item.parts}
    mates = {mate for ref in refs for mate in mates_of(case, ref)}
    stressed = sum(
        one.probability
        for one in found.weighed
        if (refs | mates) & set(one.hypothesis.refs)
    )
    words = (
        "a weakened part passes every cold reading: replace the set that carried the "
        "fault"
    )
    return Meaning(
        claim, "fits" if stressed >= _FITS else "open", stressed, (), (words,)
    )


def _ways(
    case: Case,
    items: Sequence[Item],
    faults: Sequence[Mapping[str, Sequence[Fault]]],
) -> list[frozenset[Placed]]:
    """Return every set of faults that makes the claim true."""
    options: list[list[tuple[Placed, ...]]] = []
    for item, by_ref in zip(items, faults, strict=True):
        each = [
            [(fault, piece) for fault in found for piece in case.pieces.get(ref, (0,))]
            for ref, found in by_ref.items()
        ]
        if item.every and len(each) > 1:
            if not all(each):
                return []
            rows = islice(product(*each), _WAYS_MAX + 1)
            options.append(list(rows))
        else:
            options.append([(one,) for found in each for one in found])
    if not all(options):
        return []
    joined = islice(product(*options), _WAYS_MAX + 1)
    made = (frozenset(one for way in ways for one in way) for ways in joined)
    return list(dict.fromkeys(made))


def _hypotheses(
    case: Case, first: Posterior, ways: Sequence[frozenset[Placed]]
) -> list[Hypothesis]:
    """Return the best other explanations, and the claim alone and beside them."""
    single = {
        one.hypothesis.faults[0]: one.hypothesis.log_prior
        for one in first.weighed
        if len(one.hypothesis.faults) == 1
    }
    least = min(single.values(), default=-8.0)
    bases: list[Hypothesis] = []
    seen: set[tuple[int, int]] = set()
    for one in first.weighed:
        if _holds(one.hypothesis, ways) or len(bases) >= _BASES:
            continue
        if len(bases) >= _BESIDE and (one.group, one.row) in seen:
            continue
        seen.add((one.group, one.row))
        bases.append(one.hypothesis)
    if all(one.faults for one in bases):
        bases += [w.hypothesis for w in first.weighed if not w.hypothesis.faults]
    made = {frozenset(one.faults): one for one in bases}
    for one in first.weighed[:_BASES]:
        made.setdefault(frozenset(one.hypothesis.faults), one.hypothesis)

    def add(faults: frozenset[Placed], log_prior: float) -> None:
        if faults not in made and len(made) < _HYPOTHESES:
            made[faults] = Hypothesis(tuple(faults), log_prior)

    for way in ways:
        first_one, *rest = sorted(single.get(one, least) for one in way)[::-1]
        add(way, first_one + sum(one + math.log(_DOUBLE) for one in rest))
    beside = [one for one in bases if one.faults][:_BESIDE]
    for base in beside:
        for way in ways:
            if {f.ref for f, _ in way} & set(base.refs):
                way = frozenset(one for one in way if one not in base.faults)
                if {f.ref for f, _ in way} & set(base.refs) or not way:
                    continue
            extra = sum(_beside(case, base, one, single, least) for one in way)
            add(way | frozenset(base.faults), base.log_prior + extra)
    return list(made.values())


def _beside(
    case: Case,
    base: Hypothesis,
    placed: Placed,
    single: Mapping[Placed, float],
    least: float,
) -> float:
    """Return the log chance of a further fault, given an explanation."""
    fault = placed[0]
    for one, _ in base.faults:
        for extra in case.chains.get(one.ref, ()):
            if extra.ref == fault.ref and (extra.name, extra.pin) == (
                fault.name if fault.name != "drifted" else "open",
                fault.pin,
            ):
                return math.log(DRIVER_TOO if extra.paths else GATE_RESISTOR_TOO)
    return single.get(placed, least) + math.log(_DOUBLE)


def _holds(one: Hypothesis, ways: Iterable[frozenset[Placed]]) -> bool:
    mine = set(one.faults)
    return any(way <= mine for way in ways)


def _for(found: Posterior, holds: Sequence[bool]) -> tuple[str, ...]:
    """Return the lines that a claim explains and a healthy board does not."""
    case = found.case
    best = next(one for one, yes in zip(found.weighed, holds, strict=True) if yes)
    plain = next((one for one in found.weighed if not one.hypothesis.faults), None)
    if plain is None:
        return ()
    gain = np.abs(found.deviation(plain)) - np.abs(found.deviation(best))
    order = [int(i) for i in np.argsort(-gain) if gain[i] > _NEARER][:5]
    return tuple(reading_words(case.readings[i]) for i in sorted(order))
