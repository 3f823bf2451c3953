"""What a meter drives into a board, and what it shows.

A range is a source of constant current that gives up at its open voltage: below it
the whole test current flows, at it whatever the board takes, and the display says
"OL".  Leads are nulled: a reading is what stands at the pads.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

__all__ = [
    "DEFAULT_METER",
    "FOUR_WIRE_OPEN_VOLTS",
    "DiodeRange",
    "Meter",
    "MeterError",
    "OhmRange",
]

#: A milliohm meter above this wakes Schottky junctions and counts as an injection.
FOUR_WIRE_OPEN_VOLTS = 0.1


class MeterError(ValueError):
    """A meter that cannot be; `key` names the field at fault."""

    def __init__(self, message: str, key: str = "") -> None:
        super().__init__(message, key)
        self.message = message
        self.key = key

    def __str__(self) -> str:
        return self.message


def _check(value: float, key: str, *, zero: bool = False) -> None:
    if not (math.isfinite(value) and (value > 0.0 or (zero and value == 0.0))):
        wanted = "0 or more" if zero else "more than 0"
        raise MeterError(f"found {key} {value:g}, expected {wanted}", key)


@dataclass(frozen=True, slots=True)
class OhmRange:
    """One range that shows ohms, two-wire or four-wire."""

    #: Above this reading it shows "OL".
    full_scale_ohms: float
    #: What it drives.
    test_amps: float
    #: What it rises to with nothing connected; never below the drop at full scale.
    open_volts: float
    #: One count of the display.
    resolution_ohms: float
    #: Error of the reading, a fraction of it.
    accuracy: float = 0.01

    def __post_init__(self) -> None:
        _check(self.full_scale_ohms, "full_scale_ohms")
        _check(self.test_amps, "test_amps")
        _check(self.open_volts, "open_volts")
        _check(self.resolution_ohms, "resolution_ohms")
        _check(self.accuracy, "accuracy", zero=True)
        needed = self.full_scale_ohms * self.test_amps
        if needed > self.open_volts * (1 + 1e-9):
            raise MeterError(
                f"found open_volts {self.open_volts:g}, expected at least "
                f"{needed:g}: {self.test_amps:g} A through "
                f"{self.full_scale_ohms:g} ohms",
                "open_volts",
            )

    def display(self, ohms: float) -> float:
        """Return what stands on the display in ohms, ``inf`` for "OL"."""
        return _display(ohms, self.full_scale_ohms, self.resolution_ohms)

    def error_ohms(self, ohms: float) -> float:
        """Return how far off so many ohms may be: accuracy and two counts."""
        return self.accuracy * ohms + 2 * self.resolution_ohms


@dataclass(frozen=True, slots=True)
class DiodeRange:
    """Diode mode: volts at a known current."""

    test_amps: float
    open_volts: float
    #: Above this reading it shows "OL".
    full_scale_volts: float
    resolution_volts: float = 0.001
    #: Error of the reading, a fraction of it.
    accuracy: float = 0.01

    def __post_init__(self) -> None:
        _check(self.test_amps, "test_amps")
        _check(self.open_volts, "open_volts")
        _check(self.full_scale_volts, "full_scale_volts")
        _check(self.resolution_volts, "resolution_volts")
        _check(self.accuracy, "accuracy", zero=True)
        if self.full_scale_volts > self.open_volts:
            raise MeterError(
                f"found full_scale_volts {self.full_scale_volts:g}, expected at most "
                f"open_volts {self.open_volts:g}",
                "full_scale_volts",
            )

    def display(self, volts: float) -> float:
        """Return what stands on the display in volts, ``inf`` for "OL"."""
        return _display(volts, self.full_scale_volts, self.resolution_volts)

    def error_volts(self, volts: float) -> float:
        """Return how far off so many volts may be: accuracy and two counts."""
        return self.accuracy * volts + 2 * self.resolution_volts


def _display(value: float, full_scale: float, resolution: float) -> float:
    if not value <= full_scale:
        return math.inf
    return round(value / resolution) * resolution


@dataclass(frozen=True, slots=True)
class Meter:
    """The meters of a bench, as far as they decide what is read."""

    #: Lowest range first.
    resistance: tuple[OhmRange, ...]
    diode: DiodeRange
    #: Ranges of a milliohm meter, lowest first.
    four_wire: tuple[OhmRange, ...]
    #: Both test leads together; in series with the board in all but four-wire mode.
    lead_ohms: float = 0.2
    name: str = ""

    def __post_init__(self) -> None:
        _check(self.lead_ohms, "lead_ohms", zero=True)
        for mode, ranges in (
            ("resistance", self.resistance),
            ("four_wire", self.four_wire),
        ):
            if not ranges:
                raise MeterError(f"found no {mode} range, expected one at least", mode)
            for lower, upper in pairwise(ranges):
                if upper.full_scale_ohms <= lower.full_scale_ohms:
                    raise MeterError(
                        f"found {mode} range {upper.full_scale_ohms:g} ohms after "
                        f"{lower.full_scale_ohms:g}, expected rising ranges",
                        mode,
                    )
        for one in self.four_wire:
            if one.open_volts > FOUR_WIRE_OPEN_VOLTS:
                raise MeterError(
                    f"found open_volts {one.open_volts:g}, expected at most "
                    f"{FOUR_WIRE_OPEN_VOLTS:g}: a four-wire meter must wake nothing",
                    "open_volts",
                )

    def ranges(self, mode: str) -> tuple[OhmRange, ...]:
        """Return the ranges of "resistance" or "four-wire", lowest first."""
        if mode == "resistance":
            return self.resistance
        if mode == "four-wire":
            return self.four_wire
        raise ValueError(f"no ranges in ohms in mode {mode!r}")

    def leads(self, mode: str) -> float:
        """Return the ohms that the leads add to the current's path as measured."""
        return 0.0 if mode == "four-wire" else self.lead_ohms

    def autorange(
        self, read: Callable[[OhmRange], float], mode: str = "resistance"
    ) -> tuple[OhmRange, float]:
        """Find the range that the meter ends in.

        A meter steps up while the reading is over the range.  A junction makes the
        reading depend on the range: less current, more apparent ohms; so the
        lowest range that is not over is also the one in which it stays.

        Parameters
        ----------
        read : callable
            Ohms at the pads as this range measures them, ``inf`` where its open
            voltage is reached.
        mode : str
            "resistance" or "four-wire".

        Returns
        -------
        (OhmRange, float)
            The range and the reading in ohms, not rounded; ``inf`` ("OL") and the
            highest range when every range is over.
        """
        for one in self.ranges(mode):
            ohms = read(one)
            if ohms <= one.full_scale_ohms:
                return one, ohms
        return one, math.inf


def _ohm_range(full: float, amps: float, accuracy: float) -> OhmRange:
    return OhmRange(full, amps, 0.5, full / 4000, accuracy)


#: A common handheld of 4,000 counts and a milliohm meter (common practice, no single
#: source: 1 mA in the lowest range, a decade less in each range above, 0.4 V at full
#: scale and half a volt open, so that silicon mostly stays off; 1 mA and 3 V in diode
#: mode; 0.1 A in the lowest ranges of four-wire mode).
DEFAULT_METER = Meter(
    resistance=(
        _ohm_range(400.0, 1e-3, 0.01),
        _ohm_range(4e3, 1e-4, 0.01),
        _ohm_range(4e4, 1e-5, 0.01),
        _ohm_range(4e5, 1e-6, 0.01),
        _ohm_range(4e6, 1e-7, 0.01),
        _ohm_range(4e7, 1e-8, 0.02),
    ),
    diode=DiodeRange(1e-3, 3.0, 3.0, 0.001, 0.01),
    four_wire=(
        OhmRange(0.04, 0.1, 0.05, 1e-5, 0.005),
        OhmRange(0.4, 0.1, 0.05, 1e-4, 0.005),
        OhmRange(4.0, 0.01, 0.05, 1e-3, 0.005),
        OhmRange(40.0, 0.001, 0.05, 1e-2, 0.005),
    ),
    name="a common handheld",
)
