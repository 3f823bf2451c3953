"""What a repair came to: found and why, before and after, done, and not checked."""

from collections.abc import Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.epochs import Timeline
from ohmtrail.netanalysis.diagnosis.log import Event, Log
from ohmtrail.netanalysis.diagnosis.posterior import Posterior
from ohmtrail.netanalysis.diagnosis.rank import Ranking, rank
from ohmtrail.netanalysis.diagnosis.sister_readings import (
    SisterReadings,
    sister_readings,
)
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.substitutes import substitute_lines

__all__ = ["Pair", "Report", "make_report"]

#: Explanations less likely than this are not worth a line to a customer.
_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Pair:
    """One pair of points, read before and after something was changed."""

    mode: str
    plus: str
    minus: str
    #: The first reading, and the last that belongs to another state of the board.
    before: Event
    after: Event


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that a report says, with no word about how it looks."""

    board: str
    events: int
    #: Times as they were written down; never interpreted.
    first: str
    last: str
    ranking: Ranking
    #: (what, why) of explanations that are worth naming, with their probability.
    found: tuple[tuple[str, float, tuple[str, ...]], ...]
    looks: tuple[Event, ...]
    #: Lifted, fitted, injected, powered.
    changes: tuple[Event, ...]
    pairs: tuple[Pair, ...]
    #: Places that were read in several sister stages.
    sisters: tuple[SisterReadings, ...]
    #: Every reading, in order.
    readings: tuple[Event, ...]
    #: In words, what nobody has checked.
    unchecked: tuple[str, ...]
    #: What new parts must meet or beat.
    substitutes: tuple[str, ...]
    #: The owner's own columns: (column, texts).
    private: tuple[tuple[str, tuple[str, ...]], ...]


def make_report(circuit: Circuit, found: Posterior) -> Report:
    """Return the report of a board and its log.

    Parameters
    ----------
    circuit : Circuit
        The board.
    found : Posterior
        What its log makes of every hypothesis (`weigh_log`).

    Notes
    -----
    O(events + rails) beyond the ranking.
    """
    log, timeline = found.case.log, found.case.timeline
    ranking = rank(found)
    events = log.events
    return Report(
        board=circuit.board.name,
        events=len(events),
        first=next((one.when for one in events if one.when), ""),
        last=next((one.when for one in reversed(events) if one.when), ""),
        ranking=ranking,
        found=tuple(
            (f"{' '.join(one.parts)}: {one.fault}", one.probability, one.because)
            for one in ranking.suspects
            if one.probability >= _SHARE
        ),
        looks=tuple(one for one in events if one.action == "look"),
        changes=tuple(
            one for one in events if one.action in ("lift", "fit", "inject", "power")
        ),
        pairs=tuple(_pairs(timeline)),
        sisters=sister_readings(circuit, timeline),
        readings=tuple(one for one in events if one.action == "measure"),
        unchecked=tuple(_unchecked(circuit, timeline, ranking)),
        substitutes=tuple(
            substitute_lines(circuit, view_of(circuit), ranking.replace)
            if ranking.replace
            else ()
        ),
        private=_private(log),
    )


def _pairs(timeline: Timeline) -> Iterator[Pair]:
    """Give pairs that were read in two states of the board, in order."""
    read: dict[tuple[str, str, str, str], list[tuple[int, Event]]] = {}
    for one in timeline.placed:
        event = one.event
        if event.action != "measure" or event.value is None:
            continue
        key = (event.mode, str(event.plus), str(event.minus), event.part or "")
        read.setdefault(key, []).append((one.epoch.number, event))
    for (mode, plus, minus, part), some in read.items():
        first, last = some[0], some[-1]
        if first[0] != last[0] and not part:
            yield Pair(mode, plus, minus, first[1], last[1])


def _unchecked(circuit: Circuit, timeline: Timeline, ranking: Ranking) -> Iterator[str]:
    """Give what is open, in words; nothing here is ever found to be safe."""
    read: dict[str, int] = {}
    for one in timeline.placed:
        event = one.event
        if event.action == "measure" and event.value is not None and not event.part:
            for net in event.nets:
                if net is not None:
                    read[net] = one.epoch.number
    now = timeline.now
    grounds = set(circuit.ground)
    rails = [rail.net for rail in circuit.rails if rail.net not in grounds]
    never = [net for net in rails if net not in read]
    stale = [net for net in rails if read.get(net, now.number) < now.number]
    if never:
        yield f"rails with no reading at all: {' '.join(never)}"
    if stale:
        yield f"rails not read since the board was last changed: {' '.join(stale)}"
    for one in timeline.placed:
        if one.event.unreachable:
            points = f"{one.event.plus} to {one.event.minus}"
            yield f"line {one.event.line}: {points} could not be reached"
    if now.off:
        yield f"off the board as the log ends: {' '.join(sorted(now.off))}"
    looked = {
        ref
        for one in timeline.placed
        if one.event.action in ("look", "measure")
        for ref in _touched(circuit, one.event)
    }
    fresh = {
        ref
        for one in timeline.placed
        if one.event.action == "measure" and one.epoch.number == now.number
        for ref in _touched(circuit, one.event)
    }
    for ref, how in ranking.inspect:
        if ref in fresh:
            continue
        seen = (
            "not since the board was last changed"
            if ref in looked
            else "no row of the log looks at it or reads it"
        )
        yield f"before power, {ref}: {how} ({seen})"
    if ranking.contradictions:
        lines = " ".join(map(str, ranking.contradictions))
        yield f"lines that nothing explains: {lines}"
    powers = [one for one in timeline.placed if one.event.action == "power"]
    if not powers:
        yield "no power-up is in the log"
    elif powers[-1].event.word != "runs":
        yield f"at its last power-up the board did not run: {powers[-1].event.word}"
    elif powers[-1].after.number != now.number:
        yield "no power-up since the board was last changed"


def _touched(circuit: Circuit, event: Event) -> set[str]:
    """Return parts that an event looks at, has a probe on, or reads across."""
    refs = {event.part} if event.part else set()
    for point in (event.plus, event.minus):
        if point is not None and point.pin is not None:
            refs.add(point.pin.ref)
    nets = [
        circuit.board.net_by_name[net]
        for net in event.nets
        if net is not None and net in circuit.board.net_by_name
    ]
    if len(nets) == 2:
        plus, minus = ({pin.ref for pin in net.pins} for net in nets)
        refs |= {
            ref for ref in plus & minus if len(circuit.board.part_by_ref[ref].pins) == 2
        }
    return refs


def _private(log: Log) -> tuple[tuple[str, tuple[str, ...]], ...]:
    found: dict[str, dict[str, None]] = {name: {} for name in log.extra_columns}
    for event in log.events:
        for name, text in event.extra:
            found.setdefault(name, {})[text] = None
    return tuple((name, tuple(texts)) for name, texts in found.items() if texts)
