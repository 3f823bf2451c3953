"""Which sets of faults are held against the readings, with their priors."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ohmtrail.netanalysis.diagnosis.faults import (
    DRIVER_TOO,
    GATE_RESISTOR_TOO,
    Fault,
)

__all__ = [
    "HEALTHY",
    "Hypothesis",
    "Pairing",
    "combined",
    "singles",
    "with_a_gate",
    "with_one_more",
]

#: Chance that nothing is wrong but a rail that reads low by nature, and that two
#: parts failed each on its own (common practice, no source).
HEALTHY, _DOUBLE = 0.08, 0.08
#: A short that no part makes: solder, a whisker, the board itself.
_BRIDGE = 0.01
#: Faults of a switch that send the drain's volts into its gate chain.
_PUNCHED = ("all shorted", "gate short")
#: Members of one group that are paired: mates, and the parts of a bank.
_ALIKE_MAX, _BANK_MAX = 3, 64


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """Faults of certain pieces of certain parts; none at all is a healthy board."""

    #: (fault, which piece of its ref: 0 came with the board).
    faults: tuple[tuple[Fault, int], ...] = ()
    log_prior: float = 0.0

    @property
    def refs(self) -> tuple[str, ...]:
        """The faulty parts, each once."""
        return tuple(dict.fromkeys(fault.ref for fault, _ in self.faults))


def singles(
    faults: Iterable[Fault],
    pieces: Mapping[str, Iterable[int]],
    boost: Mapping[str, float] | None = None,
) -> list[Hypothesis]:
    """Return the healthy board and every single fault, priors normalised.

    Parameters
    ----------
    faults : iterable of Fault
    pieces : mapping
        For each ref whose part was renewed: which pieces may be faulty.
    boost : mapping, optional
        Factor on the prior of a part (looked burnt, was hot); of a healthy board
        under the empty string.
    """
    boost = boost or {}
    weighted: list[tuple[tuple[Fault, int], float]] = []
    for fault in faults:
        weight = fault.weight * boost.get(fault.ref, 1.0)
        if weight > 0:
            mine = tuple(pieces.get(fault.ref, (0,)))
            weighted += [((fault, piece), weight) for piece in mine]
    total = sum(weight for _, weight in weighted) or 1.0
    found = [Hypothesis((), math.log(HEALTHY * boost.get("", 1.0)))]
    share = math.log((1 - HEALTHY) / total)
    found += [
        Hypothesis((placed,), math.log(weight) + share) for placed, weight in weighted
    ]
    return found


@dataclass(frozen=True, slots=True)
class Pairing:
    """A pair of faults to fit, and all pairs that no reading tells from it."""

    example: Hypothesis
    members: tuple[Hypothesis, ...]


def combined(
    best: Sequence[Sequence[Hypothesis]],
    others: Sequence[Sequence[Sequence[Hypothesis]]],
    chains: Mapping[str, Sequence[Fault]],
    pieces: Mapping[str, Iterable[int]],
    every: Iterable[Hypothesis] = (),
) -> list[Pairing]:
    """Return what the best single faults may have taken along, and pairs of faults.

    Parameters
    ----------
    best : sequence of sequence of Hypothesis
        Single faults that explain most, those that no reading tells apart together.
    others : sequence, for each of ``best``, of sequences of Hypothesis
        Single faults to pair it with, likewise.
    chains : mapping
        By switch, what a punched gate can have damaged (`faults.chain_faults`).
    pieces : mapping
        As in `singles`.
    every : iterable of Hypothesis
        All single faults: whose gate may have taken one of the best along.
    """
    known: set[frozenset[tuple[Fault, int]]] = set()

    def new(
        faults: tuple[tuple[Fault, int], ...], log_prior: float
    ) -> list[Hypothesis]:
        key = frozenset(faults)
        if len(key) < len(faults) or key in known:
            return []
        known.add(key)
        return [Hypothesis(faults, log_prior)]

    leading = [one for group in best for one in group[:_ALIKE_MAX]]
    taken = {fault for one in leading for fault, _ in one.faults}
    made: list[Pairing] = []

    def taking(one: Hypothesis, *, but: bool) -> None:
        """Add what a punched gate took along; ``but`` only what leads by itself."""
        for along, chance in _taken_along(one, chains, pieces):
            if not but or along[0] in taken:
                found = new((*one.faults, along), one.log_prior + chance)
                made.extend(Pairing(pair, (pair,)) for pair in found)

    for one in leading:
        taking(one, but=False)
    # A dead driver or an open gate resistor asks for the gate that did it.
    for one in every:
        taking(one, but=True)
    for group, mine in zip(best, others, strict=True):
        for other in mine:
            if group[0].refs == other[0].refs:
                continue
            members = [
                pair
                for one in group[:_ALIKE_MAX]
                for two in other[:_BANK_MAX]
                if one.refs != two.refs
                for pair in new(
                    (*one.faults, *two.faults),
                    one.log_prior + two.log_prior + math.log(_DOUBLE),
                )
            ]
            if members:
                made.append(Pairing(members[0], tuple(members)))
    return made


def with_a_gate(
    first: Hypothesis,
    others: Iterable[Sequence[Hypothesis]],
    chains: Mapping[str, Sequence[Fault]],
    pieces: Mapping[str, Iterable[int]],
) -> list[Pairing]:
    """Return punched gates with what they took along, and a hypothesis with them more.

    An open gate resistor hides the gate from its mates, so that neither of the two
    explains the readings alone.

    Parameters
    ----------
    first : Hypothesis
    others : iterable of sequence of Hypothesis
        Single faults, those that no reading tells apart together.
    chains, pieces : mapping
        As in `combined`.
    """
    made = []
    for group in others:
        for one in group[:_BANK_MAX]:
            for along, chance in _taken_along(one, chains, pieces):
                alone = Hypothesis((*one.faults, along), one.log_prior + chance)
                made.append(Pairing(alone, (alone,)))
                if set(alone.refs) & set(first.refs):
                    continue
                log_prior = first.log_prior + alone.log_prior + math.log(_DOUBLE)
                both = Hypothesis((*first.faults, *alone.faults), log_prior)
                made.append(Pairing(both, (both,)))
    return made


def _taken_along(
    one: Hypothesis,
    chains: Mapping[str, Sequence[Fault]],
    pieces: Mapping[str, Iterable[int]],
) -> Iterator[tuple[tuple[Fault, int], float]]:
    """Yield what the punched gate of a single fault damaged, and its log chance."""
    for fault, _ in one.faults:
        if fault.name in _PUNCHED:
            for extra in chains.get(fault.ref, ()):
                chance = math.log(DRIVER_TOO if extra.paths else GATE_RESISTOR_TOO)
                for piece in pieces.get(extra.ref, (0,)):
                    yield (extra, piece), chance


def with_one_more(
    first: Hypothesis, others: Iterable[Sequence[Hypothesis]]
) -> list[Pairing]:
    """Return a hypothesis with one fault more, that failed on its own.

    Parameters
    ----------
    first : Hypothesis
    others : iterable of sequence of Hypothesis
        Single faults, those that no reading tells apart together.
    """
    made = []
    for group in others:
        members = [
            Hypothesis(
                (*first.faults, *one.faults),
                first.log_prior + one.log_prior + math.log(_DOUBLE),
            )
            for one in group[:_BANK_MAX]
            if not set(one.refs) & set(first.refs)
        ]
        if members:
            made.append(Pairing(members[0], tuple(members)))
    return made
