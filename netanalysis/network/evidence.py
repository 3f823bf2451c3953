"""What readings of a good board, and of sister stages, say that a pair should read.

Boards of one model differ: the spreads below are common practice, without a single
published source, and rather wide.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.epochs import Placed, timeline
from ohmtrail.netanalysis.diagnosis.log import Event, Log
from ohmtrail.netanalysis.network.own_log import holding
from ohmtrail.netanalysis.network.sister_nets import SisterNets, sister_nets
from ohmtrail.netanalysis.verdict import LEADS_OHMS, is_short

__all__ = ["Evidence", "Known", "gather", "spread"]

#: By what factor two boards of one model differ, either way: loads of rails, and
#: readings so high that leakage and slow capacitors decide.
_BOARDS_RATIO = 1.3
_HIGH_OHMS, _HIGH_RATIO = 100e3, 2.0
#: Junctions differ by a share, and by some tens of millivolts at least; below this
#: many volts it is a load that carries the test current, and it differs as loads do.
_JUNCTION_SHARE, _JUNCTION_VOLTS, _LOAD_VOLTS = 0.15, 0.05, 0.3
#: Two stages of one board: parts of one lot.
_SISTERS_RATIO = 1.1
_SISTERS_SHARE, _SISTERS_VOLTS = 0.05, 0.02
#: A supply that runs.
_RUNNING_SHARE = 0.05
#: What a contact adds.
_CONTACT_OHMS = {"resistance": 0.1, "four-wire": 0.001}
#: Where one board shows OL another shows at least this.
_OPEN_OHMS, _OPEN_VOLTS = 1e6, 1.5


@dataclass(frozen=True, slots=True)
class Known:
    """A range that rests on readings."""

    low: float
    typical: float
    #: ``inf`` is OL.
    high: float
    #: "ohms" or "volts".
    unit: str
    #: "good board, line 7".
    source: str
    lines: tuple[int, ...]
    #: The readings are of the board under repair itself.
    own: bool = False

    def within(self, low: float, high: float) -> "Known | None":
        """Return what is left of this range within a computed one.

        Parameters
        ----------
        low, high : float
            The computed range, in the same unit.

        Returns
        -------
        Known or None
            None where the two do not meet: the good board is not of this model, or
            is not good; then neither should be believed alone.
        """
        if low > self.high or high < self.low:
            return None
        low, high = max(low, self.low), min(high, self.high)
        return replace(
            self, low=low, typical=min(max(self.typical, low), high), high=high
        )


Key = tuple[str, str, str, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Readings to hold others against; made by `gather`."""

    #: Readings by (mode, plus net, minus net, parts off the board), in order.
    good: dict[Key, tuple[Event, ...]] = field(default_factory=dict)
    own: dict[Key, tuple[Event, ...]] = field(default_factory=dict)
    sisters: SisterNets = field(default_factory=lambda: SisterNets((), frozenset()))
    #: What contradicts itself, or cannot be a good board's: one line each.
    doubts: tuple[str, ...] = ()

    def known(
        self,
        mode: str,
        plus: str,
        minus: str,
        off: frozenset[str] = frozenset(),
        honest: tuple[float, float] | None = None,
    ) -> Known | None:
        """Return what a pair should read, None where no reading tells.

        Parameters
        ----------
        mode : str
            A mode of the log; "drop" is never known.
        plus, minus : str
            Nets under the red and the black lead.
        off : frozenset of str
            Parts off the board: readings count only with the same ones off.
        honest : (float, float), optional
            Lowest and highest honest reading by other means.  A sister stage of the
            board under repair counts only if it reads within: it may be the sick one,
            and a short that all share makes them agree.  None: none counts.

        Notes
        -----
        The same pair on a good board comes first, then a sister stage's pair there,
        then sister stages of the board itself.  O(sisters).
        """
        pairs = tuple(self.sisters.pairs(plus, minus))
        found = self.good.get((mode, plus, minus, off))
        if found:
            return _over(mode, found, "good board, ", False)
        for stage, red, black in pairs:
            found = self.good.get((mode, red, black, off))
            if found:
                return _over(mode, found, f"good board, sister {stage}, ", False)
        if honest is None:
            return None
        readings = [
            one
            for _, red, black in pairs
            for one in self.own.get((mode, red, black, off), ())[-1:]
            if one.value is not None and honest[0] <= one.value <= honest[1]
        ]
        if not readings:
            return None
        return _over(mode, readings, "sister stages of this board, ", True)


def spread(mode: str, value: float, sisters: bool = False) -> tuple[float, float]:
    """Return how low and high another board of the model may read.

    Parameters
    ----------
    mode : str
        A mode of the log.
    value : float
        The reading in ohms or volts; ``inf`` for OL.
    sisters : bool
        Both readings are of one board.
    """
    if mode in ("resistance", "four-wire"):
        if math.isinf(value):
            return _OPEN_OHMS, math.inf
        ratio = _SISTERS_RATIO if sisters else _BOARDS_RATIO
        if value > _HIGH_OHMS:
            ratio = _HIGH_RATIO
        contact = _CONTACT_OHMS[mode]
        # Leads may have been nulled or not.
        leads = LEADS_OHMS if mode == "resistance" else 0.0
        low = max(0.0, (value - leads) / ratio - contact)
        high = value * ratio + contact
        return low, high if high < 2 * _OPEN_OHMS else math.inf
    if math.isinf(value):
        return _OPEN_VOLTS, math.inf
    if mode == "voltage":
        share, least = _RUNNING_SHARE, _JUNCTION_VOLTS
    elif sisters:
        share, least = _SISTERS_SHARE, _SISTERS_VOLTS
    elif abs(value) < _LOAD_VOLTS:
        share, least = _BOARDS_RATIO - 1, 0.005
    else:
        share, least = _JUNCTION_SHARE, _JUNCTION_VOLTS
    apart = max(share * abs(value), least)
    high = value + apart
    if mode == "diode":
        return max(0.0, value - apart), high if high < _OPEN_VOLTS else math.inf
    return value - apart, high


def _over(mode: str, readings: Iterable[Event], source: str, sisters: bool) -> Known:
    """Return the range that all readings together leave."""
    readings = tuple(readings)
    values = sorted(one.value for one in readings if one.value is not None)
    ranges = [spread(mode, value, sisters) for value in values]
    lines = tuple(dict.fromkeys(one.line for one in readings))
    shown = ", ".join(map(str, lines[:4])) + (" ..." if len(lines) > 4 else "")
    return Known(
        min(low for low, _ in ranges),
        values[len(values) // 2],
        max(high for _, high in ranges),
        "ohms" if mode in ("resistance", "four-wire") else "volts",
        f"{source}line{'s' if len(lines) > 1 else ''} {shown}",
        lines,
        sisters,
    )


def _agree(mode: str, readings: Iterable[Event]) -> bool:
    values = [one.value for one in readings if one.value is not None]
    low, high = spread(mode, min(values))
    return low <= max(values) <= high


def _compared(placed: Iterable[Placed]) -> Iterator[tuple[Key, Event]]:
    """Yield the readings that can be compared, by pair and parts off the board."""
    powered = False
    for one in placed:
        event = one.event
        if event.action != "measure":
            if event.action != "look":
                powered = event.word == "runs"
            continue
        plus, minus = event.nets
        if (
            event.value is None
            or event.off_the_board
            or event.mode == "drop"
            or (event.mode == "voltage" and not powered)
            or plus is None
            or minus is None
            or plus == minus
        ):
            continue
        yield (event.mode, plus, minus, one.epoch.off), event


def _by_pair(placed: Iterable[Placed]) -> dict[Key, tuple[Event, ...]]:
    found: dict[Key, list[Event]] = {}
    for key, event in _compared(placed):
        found.setdefault(key, []).append(event)
    return {key: tuple(events) for key, events in found.items()}


def gather(
    circuit: Circuit, good: Log | None = None, own: Log | None = None
) -> Evidence:
    """Collect what readings say of a healthy board.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    good : Log, optional
        Readings of a good board of the same model.
    own : Log, optional
        The log of the board under repair; what no longer holds for it is left out.

    Returns
    -------
    Evidence
        ``doubts`` lists readings of one pair that do not agree (their ranges are
        joined), and readings that no good board has (they are left out).

    Notes
    -----
    O(readings + pins of all stages).
    """
    doubts: list[str] = []
    kept: dict[Key, tuple[Event, ...]] = {}
    read = timeline(good.events).placed if good is not None else ()
    for key, events in _by_pair(read).items():
        sound = tuple(one for one in events if not _is_short(circuit, key, one, doubts))
        if len(sound) > 1 and not _agree(key[0], sound):
            lines = ", ".join(str(one.line) for one in sound)
            doubts.append(
                f"good board, lines {lines}: {key[1]} to {key[2]} reads "
                f"{' and '.join(one.text for one in sound)}: they do not agree"
            )
        if sound:
            kept[key] = sound
    for event in good.events if good is not None else ():
        if event.word in ("limit", "dead", "died", "burnt", "cracked"):
            subject = event.part or "the board"
            doubts.append(
                f"good board, line {event.line}: {subject} {event.word}: is it good?"
            )
    mine = _by_pair(holding(own)) if own is not None else {}
    return Evidence(kept, mine, sister_nets(circuit), tuple(doubts))


def _is_short(circuit: Circuit, key: Key, event: Event, doubts: list[str]) -> bool:
    """Whether a reading of a rail is a short, whoever calls the board good."""
    mode, plus, minus, _ = key
    if mode not in ("resistance", "four-wire") or event.value is None:
        return False
    for net, other in ((plus, minus), (minus, plus)):
        if other in circuit.ground and net not in circuit.ground:
            if is_short(circuit, net, event.value):
                doubts.append(
                    f"good board, line {event.line}: {net} reads {event.text}, a "
                    "short: not taken as good"
                )
                return True
    return False
