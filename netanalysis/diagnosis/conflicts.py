"""Minimal conflicts: smallest sets of parts that cannot all be good.

Two ways to find them.  Where parts compute values from values (`Rule`), assumption-
based propagation gives every value with the smallest sets of good parts that it rests
on; two values of one quantity are a conflict.  Where there is only somebody who can
say whether a set of parts can all be good, that oracle is asked.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from ohmtrail.netanalysis.diagnosis.hitting_sets import (
    minimal_hitting_sets,
    minimal_sets,
)

__all__ = ["Rule", "conflicts_of", "minimal_conflict", "minimal_conflicts", "propagate"]

Value = Hashable
Environment = frozenset[str]


@dataclass(frozen=True, slots=True)
class Rule:
    """While a part is good, some values give another one.

    An adder is three rules: the sum from its inputs, and each input from the sum and
    the other input.
    """

    part: str
    inputs: tuple[str, ...]
    output: str
    #: Returns the output's value, None where these inputs do not settle it.
    value: Callable[..., Value]


def propagate(
    rules: Iterable[Rule], observed: Mapping[str, Value], *, most: int = 100_000
) -> dict[str, dict[Value, list[Environment]]]:
    """Return every value that follows, with the smallest sets of parts it rests on.

    Parameters
    ----------
    rules : iterable of Rule
    observed : mapping
        Quantity to its value; these rest on no part.
    most : int
        Steps after which it gives up.

    Returns
    -------
    dict
        Quantity to {value: minimal environments}.

    Raises
    ------
    ValueError
        If it takes more than ``most`` steps.

    Notes
    -----
    Environments that hold a conflict found so far are not carried on: what follows
    from a contradiction tells nothing.

    References
    ----------
    J. de Kleer, B. C. Williams, "Diagnosing Multiple Faults", Artificial Intelligence
    32:97-130, 1987.
    """
    rules = tuple(rules)
    known: dict[str, dict[Value, list[Environment]]] = {}
    nogoods: list[Environment] = []
    queue: list[str] = []

    def add(quantity: str, value: Value, environment: Environment) -> bool:
        values = known.setdefault(quantity, {})
        have = values.setdefault(value, [])
        if any(one <= environment for one in have):
            return False
        if any(one <= environment for one in nogoods):
            return False
        values[value] = [*(one for one in have if not environment <= one), environment]
        for other, theirs in values.items():
            if other != value:
                nogoods.extend(environment | one for one in theirs)
        nogoods[:] = minimal_sets(nogoods)
        return True

    for quantity, value in observed.items():
        if add(quantity, value, frozenset()):
            queue.append(quantity)
    steps = 0
    while queue:
        changed = queue.pop(0)
        for rule in rules:
            if changed not in rule.inputs:
                continue
            for values, environment in _ways(rule, known):
                steps += 1
                if steps > most:
                    raise ValueError(f"propagation takes more than {most} steps")
                result = rule.value(*values)
                if result is None:
                    continue
                if add(rule.output, result, environment) and rule.output not in queue:
                    queue.append(rule.output)
    return known


def _ways(
    rule: Rule, known: Mapping[str, Mapping[Value, Sequence[Environment]]]
) -> list[tuple[tuple[Value, ...], Environment]]:
    found: list[tuple[tuple[Value, ...], Environment]] = [((), frozenset({rule.part}))]
    for name in rule.inputs:
        found = [
            ((*values, value), environment | theirs)
            for values, environment in found
            for value, environments in known.get(name, {}).items()
            for theirs in environments
        ]
    return found


def conflicts_of(
    known: Mapping[str, Mapping[Value, Sequence[Environment]]],
) -> list[Environment]:
    """Return the minimal conflicts among propagated values (`propagate`)."""
    found = [
        one | other
        for values in known.values()
        for i, (_, ones) in enumerate(values.items())
        for _, others in list(values.items())[i + 1 :]
        for one in ones
        for other in others
    ]
    return minimal_sets(found)


def minimal_conflict(
    parts: Sequence[str], consistent: Callable[[frozenset[str]], bool]
) -> frozenset[str] | None:
    """Return one smallest set of parts that cannot all be good, None if all can.

    Parameters
    ----------
    parts : sequence of str
    consistent : callable
        Whether the readings allow that all of a set are good, the rest unknown.  What
        it says of a set must hold for every subset if it is yes.

    Notes
    -----
    Divide and conquer: O(k log(n / k)) questions for a conflict of k among n parts.

    References
    ----------
    U. Junker, "QUICKXPLAIN", AAAI-04, pages 167-172, 2004 (from memory).
    """
    if consistent(frozenset(parts)):
        return None

    def explain(
        base: frozenset[str], added: bool, rest: Sequence[str]
    ) -> frozenset[str]:
        if added and not consistent(base):
            return frozenset()
        if len(rest) == 1:
            return frozenset(rest)
        middle = len(rest) // 2
        first, second = rest[:middle], rest[middle:]
        right = explain(base | set(first), bool(first), second)
        left = explain(base | right, bool(right), first)
        return left | right

    if not consistent(frozenset()):
        return frozenset()
    return explain(frozenset(), False, tuple(parts))


def minimal_conflicts(
    parts: Sequence[str],
    consistent: Callable[[frozenset[str]], bool],
    *,
    size_max: int | None = None,
    most: int = 10_000,
) -> tuple[list[frozenset[str]], list[frozenset[str]]]:
    """Return the conflicts that an oracle gives, and the minimal diagnoses.

    Parameters
    ----------
    parts : sequence of str
    consistent : callable
        As in `minimal_conflict`.
    size_max : int, optional
        Diagnoses of more parts are not looked for.
    most : int
        Questions after which it gives up.

    Returns
    -------
    conflicts, diagnoses : list of frozenset
        The conflicts suffice for the diagnoses; there may be more of them.

    Raises
    ------
    ValueError
        If it takes more than ``most`` rounds.

    Notes
    -----
    A hitting set of the conflicts so far either is a diagnosis, or the oracle, told
    that all other parts are good, gives a further conflict (Reiter 1987).
    """
    conflicts: list[frozenset[str]] = []
    for _ in range(most):
        candidates = minimal_hitting_sets(conflicts, size_max=size_max)
        for one in candidates:
            rest = tuple(part for part in parts if part not in one)
            found = minimal_conflict(rest, consistent)
            if found is not None:
                conflicts.append(found)
                break
        else:
            return minimal_sets(conflicts), candidates
    raise ValueError(f"more than {most} conflicts")
