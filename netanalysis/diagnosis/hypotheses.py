"""Which sets of faults are held against the readings, with their priors."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ohmtrail.netanalysis.diagnosis.faults import (
    DRIVER_TOO,
    GATE_RESISTOR_TOO,
    Fault,
)

__all__ = ["HEALTHY", "Hypothesis", "combined", "singles"]

#: Chance that nothing is wrong but a rail that reads low by nature, and that two
#: parts failed each on its own (common practice, no source).
HEALTHY, _DOUBLE = 0.08, 0.08
#: A short that no part makes: solder, a whisker, the board itself.
_BRIDGE = 0.01


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
        Factor on the prior of a part (looked burnt, was hot).
    """
    boost = boost or {}
    weighted: list[tuple[tuple[Fault, int], float]] = []
    for fault in faults:
        weight = fault.weight * boost.get(fault.ref, 1.0)
        if weight > 0:
            mine = tuple(pieces.get(fault.ref, (0,)))
            weighted += [((fault, piece), weight) for piece in mine]
    total = sum(weight for _, weight in weighted) or 1.0
    found = [Hypothesis((), math.log(HEALTHY))]
    share = math.log((1 - HEALTHY) / total)
    found += [
        Hypothesis((placed,), math.log(weight) + share) for placed, weight in weighted
    ]
    return found


def combined(
    best: Sequence[Hypothesis],
    others: Sequence[Hypothesis],
    chains: Mapping[str, Sequence[Fault]],
    pieces: Mapping[str, Iterable[int]],
) -> list[Hypothesis]:
    """Return what the best single faults may have taken along, and pairs of faults.

    Parameters
    ----------
    best : sequence of Hypothesis
        Single faults that explain most.
    others : sequence of Hypothesis
        Single faults to pair them with.
    chains : mapping
        By switch, what a punched gate can have damaged (`faults.chain_faults`).
    pieces : mapping
        As in `singles`.
    """
    made: dict[frozenset[tuple[Fault, int]], Hypothesis] = {}

    def add(faults: tuple[tuple[Fault, int], ...], log_prior: float) -> None:
        key = frozenset(faults)
        if len(key) == len(faults) and (
            key not in made or made[key].log_prior < log_prior
        ):
            made[key] = Hypothesis(faults, log_prior)

    for one in best:
        for fault, piece in one.faults:
            if fault.name not in ("all shorted", "gate short"):
                continue
            for extra in chains.get(fault.ref, ()):
                chance = DRIVER_TOO if extra.paths else GATE_RESISTOR_TOO
                for number in pieces.get(extra.ref, (0,)):
                    add(
                        ((fault, piece), (extra, number)),
                        one.log_prior + math.log(chance),
                    )
    for one in best:
        for other in others:
            if not one.faults or not other.faults or one.refs == other.refs:
                continue
            log_prior = one.log_prior + other.log_prior + math.log(_DOUBLE)
            add((*one.faults, *other.faults), log_prior)
    return list(made.values())
