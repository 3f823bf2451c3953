"""The next probe by expected entropy, over candidates that predict values."""

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

__all__ = ["Probe", "entropy_bits", "probes", "updated"]

Value = Hashable


@dataclass(frozen=True, slots=True)
class Probe:
    """What probing one quantity is expected to tell."""

    quantity: str
    #: Probability of each predicted value; of candidates that predict none, apart.
    outcomes: tuple[tuple[Value, float], ...]
    unpredicted: float
    #: Entropy of the outcome in bits: the more, the better the probe.
    bits: float
    #: Expected entropy afterwards less the entropy now, in nats: the less, the better.
    cost: float


def entropy_bits(chances: Iterable[float]) -> float:
    """Return the entropy of probabilities that sum to one, in bits.

    Examples
    --------
    >>> entropy_bits([0.5, 0.25, 0.125, 0.125])
    1.75
    """
    return -sum(p * math.log2(p) for p in chances if p > 0)


def probes(
    candidates: Mapping[frozenset[str], float],
    predicted: Mapping[str, Mapping[frozenset[str], Value | None]],
    values: Mapping[str, int] | None = None,
) -> list[Probe]:
    """Return what each quantity would tell, best probe first.

    Parameters
    ----------
    candidates : mapping
        Diagnosis to probability; normalised here.
    predicted : mapping
        Quantity to {candidate: the value it predicts, None if none}.
    values : mapping, optional
        Number of values that each quantity can take, 2 by default: among so many a
        candidate that predicts none spreads its probability.

    Notes
    -----
    With S(v) the probability that value v is predicted, U that none is, n values
    predicted and m possible, p(v) = S(v) + U/m, the cost is
    sum p(v) ln p(v) + U ln m - n (U/m) ln(U/m).  O(candidates * quantities).

    References
    ----------
    J. de Kleer, B. C. Williams, "Diagnosing Multiple Faults", Artificial Intelligence
    32:97-130, 1987, section 4 (the formula from memory).
    """
    total = sum(candidates.values())
    if not candidates or total <= 0:
        raise ValueError("expected candidates with a probability above 0")
    found = []
    for quantity, table in predicted.items():
        shares: dict[Value, float] = {}
        unknown = 0.0
        for candidate, chance in candidates.items():
            value = table.get(candidate)
            if value is None:
                unknown += chance / total
            else:
                shares[value] = shares.get(value, 0.0) + chance / total
        count = max(len(shares), (values or {}).get(quantity, 2))
        found.append(
            Probe(
                quantity,
                tuple(sorted(shares.items(), key=lambda row: -row[1])),
                unknown,
                entropy_bits([*shares.values(), unknown]),
                _cost(list(shares.values()), unknown, count),
            )
        )
    found.sort(key=lambda one: one.cost)
    return found


def _cost(shares: Sequence[float], unknown: float, count: int) -> float:
    each = unknown / count
    total = sum((s + each) * math.log(s + each) for s in shares if s + each > 0)
    if unknown > 0:
        total += unknown * math.log(count) - len(shares) * each * math.log(each)
    return total


def updated(
    candidates: Mapping[frozenset[str], float],
    predicted: Mapping[frozenset[str], Value | None],
    value: Value,
    count: int = 2,
) -> dict[frozenset[str], float]:
    """Return the candidates after a quantity was found to have a value.

    Parameters
    ----------
    candidates : mapping
        Diagnosis to probability.
    predicted : mapping
        What each predicts for the quantity, None if nothing.
    value : hashable
    count : int
        Number of values that the quantity can take.

    Returns
    -------
    dict
        Normalised; candidates that predict another value are gone.

    Raises
    ------
    ValueError
        If no candidate allows the value.
    """
    kept = {}
    for one, chance in candidates.items():
        said = predicted.get(one)
        likelihood = 1.0 / count if said is None else float(said == value)
        if chance * likelihood > 0:
            kept[one] = chance * likelihood
    total = sum(kept.values())
    if not kept:
        raise ValueError(f"no candidate allows the value {value!r}")
    return {one: chance / total for one, chance in kept.items()}
