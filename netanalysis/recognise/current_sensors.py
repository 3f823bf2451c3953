"""Conductor pins of current sensors without pin names: two rows of equal length."""

import re

from ohmtrail.netanalysis.board import Part

__all__ = ["INTERNAL_SHUNT_PARTS", "conductor_names"]

#: Families with the conductor or the shunt inside (common practice of numbering).
_HALL = re.compile(
    r"^(?:ACS7\d\d|ACS37\d|TMCS1\d\d\d|MCS18\d\d|CT4\d\d|MLX9121\d|CC6\d{3})"
)
#: Those of them with a shunt, where no description says so.
INTERNAL_SHUNT_PARTS = re.compile(r"^(?:INA2(?:50|53|60)|INA7\d\d|LTC2947|MAX40080H)")
_GROUND = re.compile(r"(?:^|/)[A-Z]?GND[A-Z]?$|(?:^|/)0V$|VSS", re.I)
_HALL_WORDS = re.compile(r"hall.{0,30}current|current.{0,20}hall", re.I)


def conductor_names(part: Part) -> dict[str, tuple[str, str]]:
    """Return (name, reason) by pin number of the two ends of the conductor inside.

    Parameters
    ----------
    part : Part
        A part without pin names.

    Notes
    -----
    O(pins).  The part number (or description) must be a current sensor's, and two
    nets must each have the same number of pins, two or more, numbered in a row.
    The first row is taken for the positive end.
    """
    value = part.value.upper()
    hall = bool(_HALL.match(value) or _HALL_WORDS.search(part.description))
    if not hall and not INTERNAL_SHUNT_PARTS.match(value):
        return {}
    rows: dict[str, list[int]] = {}
    for pin in part.pins:
        if pin.net and pin.number.isdecimal() and not _GROUND.search(pin.net):
            rows.setdefault(pin.net, []).append(int(pin.number))
    long = {net: longest_row(numbers) for net, numbers in rows.items()}
    lengths = sorted({len(row) for row in long.values() if len(row) > 1}, reverse=True)
    for length in lengths:
        ends = sorted(row for row in long.values() if len(row) == length)
        if len(ends) == 2:
            names = ("IP+", "IP-") if hall else ("IN+", "IN-")
            because = "two rows of pins of a current sensor"
            return {
                str(number): (name, because)
                for row, name in zip(ends, names, strict=True)
                for number in row
            }
    return {}


def longest_row(numbers: list[int]) -> list[int]:
    """Return the longest run of consecutive numbers.

    >>> longest_row([1, 2, 3, 12])
    [1, 2, 3]
    """
    best: list[int] = []
    run: list[int] = []
    for number in sorted(numbers):
        run = [*run, number] if run and number == run[-1] + 1 else [number]
        if len(run) > len(best):
            best = run
    return best
