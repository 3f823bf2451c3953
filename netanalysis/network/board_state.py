"""The state that a board is in when something is measured."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.network.scene import Element

__all__ = ["AS_DRAWN", "BoardState"]


@dataclass(frozen=True, slots=True)
class BoardState:
    """Which parts are on the board, and what is broken on it."""

    #: Refs of parts taken off.
    lifted: frozenset[str] = frozenset()
    #: Refs of parts put on: they are there even where the file says "not fitted".
    fitted: frozenset[str] = frozenset()
    #: Faults as elements; one inside a part carries its ref and is lifted with it.
    faults: tuple[Element, ...] = ()

    def lift(self, refs: Iterable[str]) -> "BoardState":
        """Return the state with parts taken off."""
        gone = frozenset(refs)
        return replace(self, lifted=self.lifted | gone, fitted=self.fitted - gone)

    def fit(self, refs: Iterable[str], *, new: bool = True) -> "BoardState":
        """Return the state with parts put on; new ones leave their faults behind."""
        on = frozenset(refs)
        faults = tuple(f for f in self.faults if not (new and f.ref in on))
        return BoardState(self.lifted - on, self.fitted | on, faults)

    def break_(self, *faults: Element) -> "BoardState":
        """Return the state with faults added."""
        return replace(self, faults=(*self.faults, *faults))


#: Everything fitted as drawn, nothing broken.
AS_DRAWN = BoardState()
