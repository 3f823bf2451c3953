"""Several pad numbers on one pin: KiCad 10's ``[1,3-5]``."""

import re

__all__ = ["stacked"]

_RANGE = re.compile(r"\s*(\D*)(\d{1,6})\s*-\s*(\D*)(\d{1,6})\s*", re.ASCII)
_STACK_MAX = 10_000


def stacked(number: str) -> list[str]:
    """Return the pad numbers for which a pin's number stands.

    What is no such list, and a range whose ends differ in more than the number, is
    one number as written.

    Examples
    --------
    >>> stacked("[1,3-5]"), stacked("[A9-A11]"), stacked("A1"), stacked("[A1-B2]")
    (['1', '3', '4', '5'], ['A9', 'A10', 'A11'], ['A1'], ['[A1-B2]'])
    """
    if not (len(number) > 2 and number[0] == "[" and number[-1] == "]"):
        return [number]
    found: dict[str, None] = {}
    left = _STACK_MAX
    for item in number[1:-1].split(","):
        span = _RANGE.fullmatch(item)
        if span is None:
            if not item.strip() or "-" in item:
                return [number]
            found[item.strip()] = None
            continue
        low, high = int(span[2]), int(span[4])
        left -= high - low + 1
        if span[1] != span[3] or low > high or left < 0:
            return [number]
        found |= {f"{span[1]}{n}": None for n in range(low, high + 1)}
    return list(found)
