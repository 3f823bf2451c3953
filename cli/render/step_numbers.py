"""Step numbers beside a point, in little room."""

from collections.abc import Sequence

__all__ = ["all_numbers", "short_numbers"]


def _runs(numbers: Sequence[int]) -> list[str]:
    runs: list[list[int]] = []
    for one in sorted(set(numbers)):
        if runs and one == runs[-1][1] + 1:
            runs[-1][1] = one
        else:
            runs.append([one, one])
    words = []
    for first, last in runs:
        if last - first > 1:
            words.append(f"{first}-{last}")
        else:
            words += [str(one) for one in range(first, last + 1)]
    return words


def all_numbers(numbers: Sequence[int]) -> str:
    """Return all numbers, runs joined.

    Examples
    --------
    >>> all_numbers([7, 2, 3, 4])
    '2-4, 7'
    """
    return ", ".join(_runs(numbers))


def short_numbers(numbers: Sequence[int], most: int = 2) -> str:
    """Return the first few numbers, and how many more steps there are.

    Examples
    --------
    >>> short_numbers([66, 78, 90, 102])
    '66,78+2'
    >>> short_numbers([2, 3, 4])
    '2-4'
    """
    words = _runs(numbers)
    if len(words) <= most:
        return ",".join(words)
    shown = 0
    for word in words[:most]:
        first, _, last = word.partition("-")
        shown += int(last or first) - int(first) + 1
    return ",".join(words[:most]) + f"+{len(set(numbers)) - shown}"
