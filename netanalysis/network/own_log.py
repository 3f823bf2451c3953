"""What the log of the board under repair says of that board as it is now."""

from collections.abc import Iterator

from ohmtrail.netanalysis.diagnosis.epochs import Epoch, Placed, timeline
from ohmtrail.netanalysis.diagnosis.log import Log
from ohmtrail.netanalysis.network.board_state import AS_DRAWN, BoardState

__all__ = ["holding", "state_now"]


def state_now(log: Log) -> BoardState:
    """Return the state that a log leaves its board in, taken as healthy.

    Parts that were lifted, or found missing, and not fitted since are off.  What
    somebody fitted is on, also where the file calls the part "not fitted".
    """
    now = timeline(log.events).now
    return AS_DRAWN.fit(ref for ref, _ in now.renewed).lift(now.off)


def holding(log: Log) -> Iterator[Placed]:
    """Yield the events of a log that still tell of the board, in order.

    An event holds while nothing was powered or injected since and, beside the parts
    that were off then, the same pieces are on the board.  Whether the same parts are
    off is for whoever asks.
    """
    line = timeline(log.events)
    now = line.now
    for one in line.placed:
        epoch = one.epoch
        if (
            epoch.powered == now.powered
            and epoch.injected == now.injected
            and _pieces(epoch, epoch.off) == _pieces(now, epoch.off)
        ):
            yield one


def _pieces(epoch: Epoch, off: frozenset[str]) -> frozenset[tuple[str, int]]:
    return frozenset(one for one in epoch.renewed if one[0] not in off)
