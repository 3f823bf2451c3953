"""The readings of a log, each with the state of the board that it belongs to."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from ohmtrail.netanalysis.diagnosis.epochs import Epoch, Placed, Timeline
from ohmtrail.netanalysis.diagnosis.junctions import Junctions
from ohmtrail.netanalysis.diagnosis.reading_noise import (
    AMPS_SPREAD,
    Noise,
    awake,
    noise_of,
)
from ohmtrail.netanalysis.probe_points import ProbePoint

__all__ = [
    "Current",
    "Reading",
    "State",
    "hand_node",
    "most_read",
    "readings_of",
    "state_of",
]


@dataclass(frozen=True, slots=True)
class State:
    """What is on the board, or which part is in the hand."""

    off: frozenset[str] = frozenset()
    renewed: frozenset[tuple[str, int]] = frozenset()
    #: The part in the hand and which piece of its ref; None on the board.
    hand: tuple[str, int] | None = None

    def holds(self, ref: str, piece: int) -> bool:
        """Whether this piece of a part is on the board."""
        if self.hand is not None or ref in self.off:
            return False
        return piece == next((n for one, n in self.renewed if one == ref), 0)


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading that takes part in the reasoning."""

    line: int
    mode: str
    plus: ProbePoint
    minus: ProbePoint
    value: float
    state: State
    noise: Noise
    #: The pair that the current goes through, where it is not the probes' own.
    drive: tuple[str, str] | None = None
    #: Line of the injection that a drop was read with, else 0.
    injection: int = 0

    def drop_of(self, injection: int) -> bool:
        """Whether it is a drop read with the injection of this line, not 0."""
        return 0 != self.injection == injection

    def relative(self, injection: int) -> float:
        """Return its relative spread where that injection's current is an unknown."""
        if self.mode != "drop" or self.drop_of(injection):
            return self.noise.relative
        return math.hypot(self.noise.relative, AMPS_SPREAD)


class Current(NamedTuple):
    """Current that is being injected, or could be."""

    #: Nets that it goes through.
    ends: tuple[str, str]
    amps: float
    #: Line of the injection, 0 for one that is thought of.
    line: int = 0


def most_read(readings: Iterable[Reading]) -> int:
    """Return the line of the injection with most drops, the later of two; else 0."""
    lines = [one.injection for one in readings if one.injection]
    return max(lines, key=lambda line: (lines.count(line), line), default=0)


def hand_node(ref: str, net: str) -> str:
    """Return the node of a part's pins in the hand; named as on its board."""
    return f"{ref} in the hand: {net}"


def state_of(epoch: Epoch) -> State:
    """Return what is on the board in an epoch."""
    return State(epoch.off, epoch.renewed)


def readings_of(
    timeline: Timeline, since: int, junctions: Junctions | None = None
) -> Iterable[Reading]:
    """Yield the readings from an event on that say something about resistance.

    Parameters
    ----------
    timeline : Timeline
    since : int
        Index of the first event that counts.
    junctions : Junctions, optional
        Those of the board: a meter's test voltage may wake them, in the hand and where
        nobody knows what else a net carries.
    """
    for i, placed in enumerate(timeline.placed):
        event = placed.event
        if i < since or event.action != "measure" or event.value is None:
            continue
        if event.plus is None or event.minus is None:
            continue
        if event.plus.net is None or event.minus.net is None:
            continue
        state = state_of(placed.epoch)
        drive = None
        amps = None
        if event.off_the_board and event.part is not None:
            state = State(hand=(event.part, placed.piece or 0))
        elif event.mode == "drop":
            drive, amps = _injection(placed)
            if drive is None or amps is None:
                continue
            if {event.plus.net, event.minus.net} != set(drive):
                # Elsewhere than where the current flows a drop says little.
                continue
        noise = noise_of(event.mode, event.value, event.step, amps)
        ends = event.plus.net, event.minus.net
        if noise is not None and junctions is not None:
            if state.hand:
                woken = event.part in junctions.refs
            else:
                woken = event.mode == "resistance" and junctions.across(*ends)
            noise = awake(noise) if woken else noise
        if noise is not None and ends[0] != ends[1]:
            yield Reading(
                event.line,
                event.mode,
                event.plus,
                event.minus,
                event.value,
                state,
                noise,
                drive,
                placed.injection.line if drive and placed.injection else 0,
            )


def _injection(placed: Placed) -> tuple[tuple[str, str] | None, float | None]:
    source = placed.injection
    if source is None or source.plus is None or source.minus is None:
        return None, None
    ends = (source.plus.net, source.minus.net)
    if ends[0] is None or ends[1] is None or not source.amps:
        return None, None
    return (ends[0], ends[1]), source.amps
