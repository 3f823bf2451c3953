"""Readings at one place of several sister stages, beside each other."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.epochs import Timeline
from ohmtrail.netanalysis.diagnosis.log import Event
from ohmtrail.netanalysis.network.evidence import spread
from ohmtrail.netanalysis.network.sister_nets import SisterNets, sister_nets

__all__ = ["SisterReadings", "sister_readings"]


@dataclass(frozen=True, slots=True)
class SisterReadings:
    """One place, read in two sister stages or more while nothing was changed."""

    mode: str
    #: (letter of the stage, its id, the last reading there), by letter.
    readings: tuple[tuple[str, str, Event], ...]
    #: Letters that stand apart from all the others, which agree.
    apart: tuple[str, ...]
    #: Whether no reading agrees with another, so that none can be told to be odd.
    all_differ: bool


def sister_readings(circuit: Circuit, timeline: Timeline) -> tuple[SisterReadings, ...]:
    """Return the places that were read in several sister stages.

    Parameters
    ----------
    circuit : Circuit
        The board.
    timeline : Timeline
        Its log, event by event.

    Returns
    -------
    tuple of SisterReadings
        In the order of the log.  Only readings of one state of the board are held
        against each other; parts in the hand are left out.

    Notes
    -----
    Two readings agree if one is within what sister stages of one board may differ by
    (`spread`, common practice).  O(readings * sisters).
    """
    from ohmtrail.netanalysis.checklist.sisters import sister_groups

    letters = {
        stage.id: chr(65 + number % 26)
        for group in sister_groups(circuit.stages)
        for number, stage in enumerate(group)
    }
    sisters = sister_nets(circuit)
    last: dict[tuple[int, str, str, str], Event] = {}
    for one in timeline.placed:
        event = one.event
        plus, minus = event.nets
        if event.action != "measure" or event.value is None or event.part:
            continue
        if plus is not None and minus is not None:
            last[one.epoch.number, event.mode, plus, minus] = event
    found = []
    used: set[int] = set()
    for (epoch, mode, plus, minus), event in last.items():
        if event.line in used:
            continue
        mine = _own_stage(sisters, plus, minus)
        rows = [(mine, event)] if mine else []
        for stage, red, black in sisters.pairs(plus, minus):
            other = last.get((epoch, mode, red, black))
            if other is not None:
                rows.append((stage, other))
        if len(rows) < 2:
            continue
        used.update(one.line for _, one in rows)
        found.append(_row(mode, rows, letters))
    return tuple(found)


def _own_stage(sisters: SisterNets, plus: str, minus: str) -> str:
    """Return the stage that a pair belongs to: what its sisters call their sister."""
    for _, red, black in sisters.pairs(plus, minus):
        for stage, back, forth in sisters.pairs(red, black):
            if (back, forth) == (plus, minus):
                return stage
    return ""


def _row(
    mode: str, rows: Iterable[tuple[str, Event]], letters: dict[str, str]
) -> SisterReadings:
    readings = sorted((letters.get(stage, "?"), stage, one) for stage, one in rows)
    alike = list(_agreeing(mode, [one for _, _, one in readings]))
    lonely = tuple(
        letter
        for (letter, _, _), mates in zip(readings, alike, strict=True)
        if not mates
    )
    all_differ = len(lonely) == len(readings)
    return SisterReadings(
        mode, tuple(readings), () if all_differ else lonely, all_differ
    )


def _agreeing(mode: str, events: list[Event]) -> Iterator[int]:
    """Give how many other readings each agrees with."""
    for one in events:
        assert one.value is not None, "only readings come here"
        low, high = spread(mode, one.value, sisters=True)
        yield sum(
            low <= other.value <= high
            for other in events
            if other is not one and other.value is not None
        )
