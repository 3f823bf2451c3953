"""The E series of preferred numbers (IEC 60063)."""

import bisect
import functools
import math

__all__ = ["SERIES", "e_series", "is_preferred", "nearest_preferred", "series_of"]

#: Number of steps a decade of each series.
SERIES = (3, 6, 12, 24, 48, 96, 192)

#: Where the standard differs from rounding ``10 ** (i / n)``: E24 and below were
#: set by hand, and 919 became 920.
_E24_EXCEPTIONS = {26: 27, 29: 30, 32: 33, 35: 36, 38: 39, 42: 43, 46: 47, 83: 82}
_E192_EXCEPTIONS = {919: 920}


@functools.cache
def e_series(steps: int) -> tuple[int, ...]:
    """Return one decade of a series: two-digit numbers up to E24, three above.

    Parameters
    ----------
    steps : int
        3, 6, 12, 24, 48, 96 or 192.

    Raises
    ------
    ValueError
        For any other number of steps.

    Examples
    --------
    >>> e_series(6)
    (10, 15, 22, 33, 47, 68)
    >>> e_series(96)[:3], e_series(192)[184:186]
    ((100, 102, 105), (909, 920))

    References
    ----------
    IEC 60063:2015.  The members follow from ``10 ** (i / steps)``, rounded, but for
    eight of E24 and one of E192.
    """
    if steps not in SERIES:
        known = ", ".join(map(str, SERIES))
        raise ValueError(f"no series E{steps}, expected one of {known}")
    scale, exceptions = (10, _E24_EXCEPTIONS) if steps <= 24 else (100, {})
    if steps == 192:
        exceptions = _E192_EXCEPTIONS
    rounded = (round(scale * 10 ** (i / steps)) for i in range(steps))
    return tuple(exceptions.get(number, number) for number in rounded)


def nearest_preferred(value: float, steps: int = 24) -> float:
    """Return the member of a series that is nearest to a value, by ratio.

    Raises
    ------
    ValueError
        If the value is not a finite number above zero, or there is no such series.

    Examples
    --------
    >>> nearest_preferred(4800.0), nearest_preferred(0.0214, 96)
    (4700.0, 0.0215)
    >>> nearest_preferred(9.9e-8)
    1e-07
    """
    if not (value > 0 and math.isfinite(value)):
        raise ValueError(f"no preferred number is near {value:g}, expected one above 0")
    numbers = e_series(steps)
    decade = math.floor(math.log10(value)) - (1 if steps <= 24 else 2)
    mantissa = value / 10.0**decade
    ring = (*numbers, numbers[0] * 10)
    at = bisect.bisect_left(ring, mantissa)
    near = ring[max(0, at - 1) : at + 1]
    best = min(near, key=lambda number: abs(math.log(number / mantissa)))
    return float(f"{best}e{decade}")


def is_preferred(value: float, steps: int = 24) -> bool:
    """Whether a value is a member of a series, in any decade.

    Examples
    --------
    >>> is_preferred(4700.0), is_preferred(0.1e-6, 3), is_preferred(104.0, 96)
    (True, True, False)
    >>> is_preferred(0.0)
    False
    """
    if not (value > 0 and math.isfinite(value)):
        return False
    return math.isclose(nearest_preferred(value, steps), value, rel_tol=1e-9)


def series_of(value: float) -> int | None:
    """Return the coarsest series that holds a value, None if none does.

    Examples
    --------
    >>> series_of(4700.0), series_of(49.9), series_of(1002.0)
    (3, 96, None)
    """
    return next((steps for steps in SERIES if is_preferred(value, steps)), None)
