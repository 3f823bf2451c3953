"""Numbers for people: three digits, a prefix, a unit."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.log import Event

__all__ = ["quantity", "range_text", "reading_text"]

#: Milli only below a tenth: a bench says 0.3 ohm, not 300 milliohm.
_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"))
_UNITS = {"ohms": "Ω", "volts": "V"}


def quantity(value: float | str, unit: str) -> str:
    """Return a number with its unit: three digits at most.

    Examples
    --------
    >>> quantity(4700.0, "ohms"), quantity(0.42, "volts"), quantity("OL", "ohms")
    ('4.7 kΩ', '0.42 V', 'OL')
    """
    if isinstance(value, str):
        return value
    symbol = _UNITS.get(unit, unit)
    if value == 0:
        return f"0 {symbol}"
    if 0.0995 <= abs(value) < 1:
        return f"{value:.3g} {symbol}"
    for scale, prefix in _PREFIXES:
        # 999.9 would print as 1e+03.
        if float(f"{abs(value):.3g}") >= scale:
            return f"{value / scale:.3g} {prefix}{symbol}"
    return f"{value:.3g} {symbol}"


def range_text(low: float | str | None, high: float | str | None, unit: str) -> str:
    """Return "9.9 Ω to 10.1 Ω", "over 1 kΩ", "under 1 Ω", "OL"."""
    if low is None and high is None:
        return "any"
    if low == high and low is not None:
        return quantity(low, unit)
    if low is None or low == 0:
        assert high is not None
        return f"under {quantity(high, unit)}" if high != "OL" else "any"
    if high is None or high == "OL":
        return f"over {quantity(low, unit)}"
    first, second = quantity(low, unit), quantity(high, unit)
    a, _, unit_a = first.partition(" ")
    _, _, unit_b = second.partition(" ")
    return f"{a} to {second}" if unit_a == unit_b else f"{first} to {second}"


def reading_text(event: "Event") -> str:
    """Return a reading of a log with its unit."""
    if event.value is None:
        return "not reached"
    if event.value == float("inf"):
        return "OL"
    in_ohms = event.mode in ("resistance", "four-wire")
    return quantity(event.value, "ohms" if in_ohms else "volts")
