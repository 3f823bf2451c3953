"""The bench log: what was done to a board and what was read on it, in order."""

from dataclasses import dataclass

from ohmtrail.netanalysis.probe_points import ProbePoint

__all__ = [
    "ACTIONS",
    "CHANGES",
    "COLUMNS",
    "FITS",
    "LOOKS",
    "MODES",
    "POWERS",
    "Event",
    "Log",
    "LogError",
]

#: The columns that mean something, in the order in which they are written.
COLUMNS = ("when", "action", "part", "mode", "plus", "minus", "value", "note")

ACTIONS = ("look", "measure", "lift", "fit", "inject", "power")
#: What changes the board: a reading belongs to one side of it.
CHANGES = ("lift", "fit", "inject", "power")
MODES = ("resistance", "diode", "four-wire", "drop", "voltage")

#: What a look, a fit and a power-up can tell.
LOOKS = ("ok", "burnt", "cracked", "wet", "reworked", "missing")
FITS = ("new", "same")
POWERS = ("runs", "limit", "dead", "died")


class LogError(ValueError):
    """A bench log does not hold what it should.  ``str()`` is one line.

    Attributes
    ----------
    message : str
        What was found and what was expected.
    name : str
        The file, as the caller named it.
    line : int or None
        Line number, from 1; None where no line is to blame.
    """

    def __init__(self, message: str, name: str = "", line: int | None = None) -> None:
        super().__init__(message, name, line)
        self.message = message
        self.name = name
        self.line = line

    def __str__(self) -> str:
        """Return ``name:line: message`` with nothing unprintable in it."""
        where = self.name if self.line is None else f"{self.name}:{self.line}"
        text = f"{where}: {self.message}" if where else self.message
        if text.isprintable():
            return text
        return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


@dataclass(frozen=True, slots=True)
class Event:
    """One row of the log."""

    #: Line on which the row begins, from 1.
    line: int
    #: One of `ACTIONS`.
    action: str
    #: The time as written; never interpreted, order is what counts.
    when: str = ""
    #: The part looked at, lifted or fitted; what got hot; on a measure row the part
    #: in the hand, off the board.  None where the row names none.
    part: str | None = None
    #: One of `MODES` on a measure row, else empty.
    mode: str = ""
    #: Red lead and black lead; None where the row has none.
    plus: ProbePoint | None = None
    minus: ProbePoint | None = None
    #: The reading in ohms or volts as the mode has it; ``inf`` for OL (open, or above
    #: the meter's range); None for n/a and on rows that are no reading.
    value: float | None = None
    #: What the last digit that was written down counts, in the unit of ``value``.
    step: float | None = None
    #: What was set and drawn while injecting, in volts and amperes.
    volts: float | None = None
    amps: float | None = None
    #: The word of a look, a fit or a power-up.
    word: str = ""
    #: The value as written, with a decimal point.
    text: str = ""
    note: str = ""
    #: Cells of further columns, (column, text), empty ones left out.
    extra: tuple[tuple[str, str], ...] = ()

    @property
    def unreachable(self) -> bool:
        """Whether a reading was wanted and the points could not be reached."""
        return self.action == "measure" and self.value is None

    @property
    def off_the_board(self) -> bool:
        """Whether the reading is of a part in the hand."""
        return self.action == "measure" and self.part is not None

    @property
    def nets(self) -> tuple[str | None, str | None]:
        """Nets under the red and the black lead."""
        return (
            self.plus.net if self.plus is not None else None,
            self.minus.net if self.minus is not None else None,
        )


@dataclass(frozen=True, slots=True)
class Log:
    """A bench log: events in the order of the file, which is the order of time."""

    #: The file, as the caller named it.
    name: str
    events: tuple[Event, ...] = ()
    #: Further columns, in the file's order.
    extra_columns: tuple[str, ...] = ()
    #: What reads oddly and is no error: (line, what).
    doubts: tuple[tuple[int, str], ...] = ()

    def unreachable(self, *nets: str | None) -> bool:
        """Whether a reading between two nets was wanted and could not be taken."""
        return any(
            event.unreachable and set(event.nets) == set(nets) for event in self.events
        )

    @property
    def readings(self) -> tuple[Event, ...]:
        """The measure rows that hold a value, in order."""
        return tuple(
            event
            for event in self.events
            if event.action == "measure" and event.value is not None
        )

    @property
    def last_power_line(self) -> int:
        """The line of the last power-up, 0 for none: what was read before it is old."""
        lines = (event.line for event in self.events if event.action == "power")
        return max(lines, default=0)
