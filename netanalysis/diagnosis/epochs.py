"""The state of the board at each event: what was on it, and what had been powered.

A reading belongs to the board as it was.  Every lift, fit, injection and power-up ends
one *epoch* and begins the next; between them nothing is known to have changed, so
readings of one epoch can be held against each other.  Readings of two epochs with the
same parts on the board can not, without a thought for what lies between: power makes
health worse, heat and handling too, and a short may vanish by itself.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.diagnosis.log import CHANGES, Event, LogError

__all__ = ["MOVES_MAX", "Epoch", "Placed", "Timeline", "Tracker", "timeline"]

#: More lifts and fits than this are no repair: at two minutes each they are weeks.
MOVES_MAX = 2000


@dataclass(frozen=True, slots=True)
class Epoch:
    """The board between two events that change it."""

    #: From 0, the board as it came in.
    number: int = 0
    #: The lift, fit, injection or power-up that began it (or the look that found a part
    #: fallen off); None for the first.
    began_by: Event | None = None
    #: Parts that were lifted and are not back.
    lifted: frozenset[str] = frozenset()
    #: Parts that somebody found missing and nobody fitted since.
    missing: frozenset[str] = frozenset()
    #: (ref, number) of the places that hold another part than at the start: 1 for the
    #: first new one, 2 for the next.  A place not named here holds the part that came.
    renewed: frozenset[tuple[str, int]] = frozenset()
    #: Power-ups and injections so far.
    powered: int = 0
    injected: int = 0

    @property
    def off(self) -> frozenset[str]:
        """Every part that is known not to be on the board."""
        return self.lifted | self.missing if self.missing else self.lifted

    def same_parts(self, other: "Epoch") -> bool:
        """Whether the same parts, and the same pieces of them, are on the board."""
        return self.renewed == other.renewed and self.off == other.off

    def piece(self, ref: str) -> int:
        """Return which part of that ref is meant here: 0 came with the board."""
        return next((number for one, number in self.renewed if one == ref), 0)


@dataclass(frozen=True, slots=True)
class Placed:
    """An event with the board as it was."""

    event: Event
    #: The board when the event happened, before it changed anything.
    epoch: Epoch
    #: The board afterwards; the same value where the event changes nothing.
    after: Epoch
    #: For a part looked at, lifted, fitted or in the hand: which part of that ref, 0
    #: for the one that came with the board, 1 for the first new one.
    piece: int | None = None
    #: For a voltage drop: the injection that was on.  None where the log has none.
    injection: Event | None = None


@dataclass(frozen=True, slots=True)
class Timeline:
    """All events of a log, each with its board."""

    placed: tuple[Placed, ...]
    epochs: tuple[Epoch, ...]

    @property
    def now(self) -> Epoch:
        """The board after the last event."""
        return self.epochs[-1]

    def of(self, line: int) -> Placed:
        """Return the event on a line; KeyError if no row begins there."""
        for one in self.placed:
            if one.event.line == line:
                return one
        raise KeyError(line)

    def during(self, epoch: Epoch) -> tuple[Placed, ...]:
        """Events of one epoch, the one that ends it included."""
        return tuple(one for one in self.placed if one.epoch.number == epoch.number)

    def between(self, first: Epoch, second: Epoch) -> tuple[Event, ...]:
        """Return what separates two epochs: every change between them, in order."""
        low, high = sorted((first.number, second.number))
        return tuple(
            epoch.began_by
            for epoch in self.epochs[low + 1 : high + 1]
            if epoch.began_by is not None
        )


def _moved(event: Event, expected: str) -> LogError:
    return LogError(expected, line=event.line)


class Tracker:
    """Follows a log event by event and refuses what cannot have happened.

    Raises `LogError` without a file name: whoever reads the file adds it.
    """

    def __init__(self, missing: Iterable[str] = ()) -> None:
        self.epoch = Epoch(missing=frozenset(missing))
        #: Line of the last lift or fit of each ref, and whether it is off now.
        self._lifted_on: dict[str, int] = {}
        self._fitted_on: dict[str, int] = {}
        #: Pieces on the bench, the one that came off last at the end.
        self._in_hand: dict[str, list[int]] = {}
        self._on_board: dict[str, int] = {}
        self._pieces: dict[str, int] = {}
        self._moves = 0
        self._injection: Event | None = None

    def take(self, event: Event) -> Placed:
        """Place the next event.

        Raises
        ------
        LogError
            If a part is lifted that is off, fitted "same" that is on, measured in the
            hand that never came off, or if there are more than `MOVES_MAX` moves.
        """
        before, piece = self.epoch, self._piece(event)
        injection = self._injection if event.mode == "drop" else None
        if event.action in ("lift", "fit"):
            self._moves += 1
            if self._moves > MOVES_MAX:
                raise _moved(event, f"found more than {MOVES_MAX} lifts and fits")
            piece = self._lift(event) if event.action == "lift" else self._fit(event)
        elif event.action == "look" and event.word == "missing":
            self._note_missing(event)
        elif event.action == "inject":
            self.epoch = self._next(event, injected=before.injected + 1)
        elif event.action == "power":
            self.epoch = self._next(event, powered=before.powered + 1)
        if event.action == "inject":
            self._injection = event
        elif event.action in CHANGES or event.mode in ("resistance", "diode"):
            self._injection = None
        return Placed(event, before, self.epoch, piece, injection)

    def _next(self, event: Event, **changes: object) -> Epoch:
        number = self.epoch.number + 1
        return replace(self.epoch, number=number, began_by=event, **changes)  # type: ignore[arg-type]

    def _piece(self, event: Event) -> int | None:
        ref = event.part
        if ref is None or event.action in ("inject", "power"):
            return None
        if not event.off_the_board:
            return self._on_board.get(ref, 0)
        on_bench = self._in_hand.get(ref)
        if not on_bench:
            back = self._fitted_on.get(ref)
            where = f"fitted again on line {back}" if back else "on the board"
            raise _moved(
                event,
                f"found {ref} measured in the hand while it is {where}, expected a "
                f"lift of {ref} before, or no part in this row",
            )
        return on_bench[-1]

    def _lift(self, event: Event) -> int:
        ref = event.part or ""
        if ref in self.epoch.lifted:
            raise _moved(
                event,
                f"found {ref} lifted again, expected a part on the board: it was "
                f"lifted on line {self._lifted_on[ref]}",
            )
        if ref in self.epoch.missing:
            raise _moved(event, f"found {ref} lifted, which the log says was missing")
        piece = self._on_board.get(ref, 0)
        self._lifted_on[ref] = event.line
        self._in_hand.setdefault(ref, []).append(piece)
        self.epoch = self._next(event, lifted=self.epoch.lifted | {ref})
        return piece

    def _fit(self, event: Event) -> int:
        ref, epoch = event.part or "", self.epoch
        renewed = epoch.renewed
        if event.word == "same":
            if ref not in epoch.lifted:
                raise _moved(
                    event,
                    f"found the same {ref} fitted, expected a lift of {ref} before",
                )
            piece = self._in_hand[ref].pop()
        else:
            if ref not in epoch.off:
                # Fitted without a word of the old one, which is on the bench then.
                self._in_hand.setdefault(ref, []).append(self._on_board.get(ref, 0))
            piece = self._pieces.get(ref, 0) + 1
            self._pieces[ref] = piece
            renewed = frozenset(one for one in renewed if one[0] != ref) | {
                (ref, piece)
            }
        self._on_board[ref] = piece
        self._fitted_on[ref] = event.line
        self.epoch = self._next(
            event,
            lifted=epoch.lifted - {ref},
            missing=epoch.missing - {ref},
            renewed=renewed,
        )
        return piece

    def _note_missing(self, event: Event) -> None:
        ref = event.part
        if ref is not None and ref not in self.epoch.off:
            # It fell off at some time after it was fitted.
            self.epoch = self._next(event, missing=self.epoch.missing | {ref})


def _missing_from_the_start(events: Iterable[Event]) -> Iterator[str]:
    """Refs found missing that no row moved before: they were missing all along."""
    moved: set[str] = set()
    for event in events:
        if event.part is None:
            continue
        if event.action in ("lift", "fit"):
            moved.add(event.part)
        elif event.word == "missing" and event.part not in moved:
            yield event.part


def timeline(events: Iterable[Event]) -> Timeline:
    """Give every event the board as it was.

    Parameters
    ----------
    events : iterable of Event
        In the order in which they happened.

    Raises
    ------
    LogError
        As `Tracker.take`.

    Notes
    -----
    O(events + moves * parts off the board).
    """
    events = tuple(events)
    tracker = Tracker(_missing_from_the_start(events))
    first = tracker.epoch
    placed = tuple(tracker.take(event) for event in events)
    epochs = {first.number: first}
    for one in placed:
        epochs[one.after.number] = one.after
    return Timeline(placed, tuple(epochs.values()))
