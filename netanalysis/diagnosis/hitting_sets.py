"""Minimal hitting sets: every smallest set of parts that explains all conflicts."""

from collections.abc import Hashable, Iterable
from typing import TypeVar

__all__ = ["minimal_hitting_sets", "minimal_sets"]

T = TypeVar("T", bound=Hashable)


def minimal_sets(sets: Iterable[frozenset[T]]) -> list[frozenset[T]]:
    """Return the sets that hold no other one, in order of size, each once.

    Notes
    -----
    O(n^2) for n sets.
    """
    kept: list[frozenset[T]] = []
    for one in sorted(dict.fromkeys(sets), key=len):
        if not any(other <= one for other in kept):
            kept.append(one)
    return kept


def minimal_hitting_sets(
    conflicts: Iterable[Iterable[T]], *, size_max: int | None = None
) -> list[frozenset[T]]:
    """Return all minimal sets that share an element with every conflict.

    With conflicts as sets of parts that cannot all be good, these are the *minimal
    diagnoses*.

    Parameters
    ----------
    conflicts : iterable of iterables
        In any order; a conflict that holds another one adds nothing.
    size_max : int, optional
        Larger diagnoses are left out.

    Returns
    -------
    list of frozenset
        By size, then in the order in which elements were met.  One empty set where
        there is no conflict; none where a conflict is empty.

    Examples
    --------
    >>> found = minimal_hitting_sets([("M1", "M2", "A1"), ("M1", "M3", "A1", "A2")])
    >>> sorted(sorted(one) for one in found)
    [['A1'], ['A2', 'M2'], ['M1'], ['M2', 'M3']]

    Notes
    -----
    Built one conflict at a time: what hits the new one stays, what does not is
    extended by each of its elements, and supersets are dropped.  Reiter's tree prunes
    by labels that a later, smaller conflict makes wrong (Greiner, Smith and Wilkerson
    1989); here nothing is decided before all conflicts have been seen, so their order
    cannot matter.  Exponential in the number of conflicts in the worst case.

    References
    ----------
    R. Reiter, "A Theory of Diagnosis from First Principles", Artificial Intelligence
    32:57-95, 1987.  R. Greiner, B. Smith, R. Wilkerson, "A Correction to the Algorithm
    in Reiter's Theory of Diagnosis", Artificial Intelligence 41:79-88, 1989.  C. Berge,
    "Hypergraphs", 1989 (sequential computation of transversals).
    """
    ordered = [tuple(dict.fromkeys(one)) for one in conflicts]
    place: dict[T, int] = {}
    for one in ordered:
        for element in one:
            place.setdefault(element, len(place))
    found: list[frozenset[T]] = [frozenset()]
    for conflict in minimal_sets(frozenset(one) for one in ordered):
        hit = [one for one in found if one & conflict]
        extended = [
            one | {element}
            for one in found
            if not one & conflict
            for element in sorted(conflict, key=place.__getitem__)
            if size_max is None or len(one) < size_max
        ]
        found = hit + [
            one for one in minimal_sets(extended) if not any(old <= one for old in hit)
        ]
    found.sort(key=lambda one: (len(one), sorted(place[element] for element in one)))
    return found
