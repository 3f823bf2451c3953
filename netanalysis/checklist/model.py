"""The values that a checklist is made of."""

from dataclasses import dataclass

__all__ = ["COLD", "LIMITED", "LOOK", "POWER", "Checklist", "Expect", "Section", "Step"]

LOOK = "look"
COLD = "cold"
LIMITED = "limited power"
POWER = "power"


@dataclass(frozen=True, slots=True)
class Expect:
    """What a healthy board reads.  "OL" is an open circuit; None is unknown."""

    low: float | str | None
    typical: float | str | None
    high: float | str | None
    #: "ohms" or "volts".
    unit: str


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do: look, or put two probes down and read."""

    #: Kind of step; neighbours of one title, mode and meaning are shown together.
    title: str
    phase: str
    why: str
    #: Meter mode; None in steps that take no reading.
    mode: str | None = None
    #: Red and black probe: "REF.PIN" or a net; None in steps that take no reading.
    plus: str | None = None
    minus: str | None = None
    #: Pin names at the probes ("GATE"), or the net under a pad; "" if none.
    plus_name: str = ""
    minus_name: str = ""
    #: A pad where a net is handy, when the probe is given as a net.
    plus_near: str = ""
    minus_near: str = ""
    expect: Expect | None = None
    #: What it usually reads with the probes swapped, in the unit of `expect`; None
    #: where swapping tells nothing.
    swapped: float | str | None = None
    #: What the expected range rests on.
    source: str = ""
    if_low: str = ""
    if_high: str = ""
    #: Stage that the step belongs to.
    stage: str | None = None
    #: Parts that are off the board while it is read.
    lifted: tuple[str, ...] = ()
    #: The reading is held against others; its range is that of a sound board.
    compare: bool = False
    #: Parts that the step is about.
    parts: tuple[str, ...] = ()
    #: Place of the red probe, or of the first part.
    x_mm: float | None = None
    y_mm: float | None = None
    side: str | None = None
    #: More about this one step: the parts it stands for, what it splits.
    detail: str = ""
    #: Same in sister stages: their readings belong beside each other.
    row: str = ""
    #: Number within the checklist, from 1.
    n: int = 0


@dataclass(frozen=True, slots=True)
class Section:
    """The steps of one rail (or other net)."""

    rail: str
    volts: float | None
    steps: tuple[Step, ...]
    #: What is not known and limits the answer, in words.
    unknown: tuple[str, ...] = ()
    #: Where the rail's current comes from and goes to, in words.
    path: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Checklist:
    """A whole probe checklist."""

    board: str
    cautions: tuple[str, ...]
    sections: tuple[Section, ...]
    #: Sister stages by letter: (letter, stage id), in the order of columns.
    letters: tuple[tuple[str, str], ...] = ()
