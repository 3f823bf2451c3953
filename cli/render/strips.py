"""Pictures of letters: bars of shares, and readings of sister stages on a strip."""

import math
from collections.abc import Iterable, Iterator

from ohmtrail.cli.render.units import quantity
from ohmtrail.netanalysis.diagnosis.log import Event
from ohmtrail.netanalysis.diagnosis.sister_readings import SisterReadings

__all__ = ["bar", "strip_lines", "verdict_words"]

_STRIP = 36
#: A strip in ohms spans this factor at least: less is noise of contacts.
_LEAST_RATIO = 10.0
#: Ohms below which a place on the strip is not told apart.
_LEAST_OHMS = 1e-3


def bar(share: float, cells: int = 10) -> str:
    """Return a share as a bar.

    Examples
    --------
    >>> bar(0.62), bar(0.001), bar(1.0)
    ('######....', '..........', '##########')
    """
    full = round(min(1.0, max(0.0, share)) * cells)
    return "#" * full + "." * (cells - full)


def _in_ohms(mode: str) -> bool:
    return mode in ("resistance", "four-wire")


def _unit(mode: str) -> str:
    return "ohms" if _in_ohms(mode) else "volts"


def _place(value: float, mode: str) -> float:
    return math.log10(max(value, _LEAST_OHMS)) if _in_ohms(mode) else value


def _shown(event: Event) -> str:
    value = event.value
    if value is None or math.isinf(value):
        return "OL"
    return quantity(value, _unit(event.mode))


def verdict_words(one: SisterReadings) -> str:
    """Say who stands apart, in words."""
    if one.all_differ:
        return "they differ: which is odd cannot be told"
    if one.apart:
        return f"{' '.join(one.apart)} apart from the others"
    return "alike"


def strip_lines(one: SisterReadings) -> Iterator[str]:
    """Give the lines of one strip: where, the picture, the numbers.

    Parameters
    ----------
    one : SisterReadings
        The readings of one place; ohms go on a logarithmic scale.  OL stands at the
        right end.
    """
    first = one.readings[0][2]
    lines = " ".join(str(event.line) for _, _, event in one.readings)
    yield f"{first.plus} to {first.minus} and its sisters, {one.mode}, lines {lines}"
    values = [
        event.value
        for _, _, event in one.readings
        if event.value is not None and math.isfinite(event.value)
    ]
    if values:
        low, high = _ends(values, one.mode)
        unit = _unit(one.mode)
        row = _letters(one, _place(low, one.mode), _place(high, one.mode))
        left, right = quantity(low, unit), quantity(high, unit)
        yield f"  {left:>8} |{row}| {right}"
    told = "  ".join(f"{letter} {_shown(event)}" for letter, _, event in one.readings)
    yield f"  {told}: {verdict_words(one)}"


def _ends(values: Iterable[float], mode: str) -> tuple[float, float]:
    values = tuple(values)
    low, high = min(values), max(values)
    if not _in_ohms(mode):
        return min(0.0, low), max(high, 0.1)
    low, high = max(low, _LEAST_OHMS), max(high, _LEAST_OHMS)
    short = _LEAST_RATIO / (high / low)
    if short > 1.0:
        low, high = low / math.sqrt(short), high * math.sqrt(short)
    return low, high


def _letters(one: SisterReadings, low: float, high: float) -> str:
    """Return the strip; letters that fall on one place stand beside each other."""
    cells = [" "] * _STRIP
    wide = max(high - low, 1e-9)
    for letter, _, event in one.readings:
        at = _STRIP - 1
        if event.value is not None and math.isfinite(event.value):
            share = (_place(event.value, event.mode) - low) / wide
            at = round(min(1.0, max(0.0, share)) * (_STRIP - 1))
        free = [i for i, cell in enumerate(cells) if cell == " "]
        cells[min(free, key=lambda i: (abs(i - at), i))] = letter
    return "".join(cells)
