"""Rails that readings show to stand apart from the one that is injected into.

``inject`` asks the board alone: every switch and chip on the way may be shorted.  Three
readings settle it.  With R_a and R_b from two nets to ground and R_ab between them,

    z = (R_a + R_b - R_ab) / 2

is their transfer resistance: of the volts on a, z / R_a stand on b, and what joins them
has (R_a R_b - z^2) / z ohms, never less than R_ab (two-port theory).  What a junction
lets through only from some hundred millivolts on, no reading shows: what lies behind
one in its forward direction must stand apart by readings of its own.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.injection_floor import floors_of
from ohmtrail.netanalysis.diagnosis.least_volts import volts_at_least
from ohmtrail.netanalysis.diagnosis.readings import Reading
from ohmtrail.netanalysis.inject import inject

__all__ = ["Raised", "raised"]

#: Nothing with more than this is a short, in ohms (common practice).
_SHORT_MOST = 50.0
#: Of a rail's own volts so much may come through; an unknown one gets less than a
#: junction wakes at, in volts (common practice).
_SHARE, _UNKNOWN_VOLTS = 0.5, 0.3
#: What a pull-up gives hurts no pin, in amperes (common practice).
_HARMLESS_AMPS = 5e-3
#: What three two-wire readings leave open together, in ohms, and of each reading; above
#: the last a meter reads nothing that counts here.
_CONTACTS, _PER_READING, _OPEN = 0.3, 0.004, 2e5
#: Of what the second net reads so much may be shared with the first, that the first
#: has a way to ground of its own.
_OWN_WAY = 0.7
#: So many readings more are asked for at most.
_ASKED_MAX = 12
#: Links up to this many ohms hand a voltage on.
_LINK_OHMS = 100.0

#: A pair of nets to be read.
_Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Raised:
    """How far the limit of an injection rises, and what that rests on."""

    #: Nets that stand apart.
    apart: frozenset[str]
    #: In volts, with these apart.
    volts_max: float
    #: What is read first; none where all has been.
    asked: tuple[_Pair, ...]


class _Judge:
    """Decides which nets stand apart from one, by the readings of the board now."""

    def __init__(self, case: Case, net: str, off: frozenset[str]) -> None:
        self.case, self.net = case, net
        self.near, self.behind = _forward(case, net, off)
        self.found: dict[frozenset[str], list[Reading]] = {}
        for one in case.readings:
            ends = frozenset((one.plus.net or "", one.minus.net or ""))
            # The three must be of one board: what is lifted changes them all.
            if one.mode in ("resistance", "four-wire") and one.state == case.now:
                self.found.setdefault(ends, []).append(one)

    def read(self, a: str, b: str) -> tuple[float, float] | None:
        """Return the least and the most that two nets read, None if never."""
        values = [one.value for one in self.found.get(frozenset((a, b)), ())]
        return (min(values), max(values)) if values else None

    def missing(self, net: str) -> Iterator[_Pair]:
        """Yield what must be read before a net can be said to stand apart."""
        ground = self.case.ground_of
        pairs = [(self.net, ground(self.net)), (net, ground(net)), (self.net, net)]
        pairs += [(other, ground(other)) for other in self.behind]
        for pair in pairs:
            if self.read(*pair) is None:
                yield pair

    def may_stand_apart(self, net: str) -> bool:
        """Whether readings could show it: nothing conducts there by nature."""
        return net not in self.near and net not in self.behind

    def stands_apart(self, net: str, volts: float, own: float | None) -> bool:
        """Whether no volts that hurt get to a net; all readings are there."""
        ground = self.case.ground_of
        a, b = self.read(self.net, ground(self.net)), self.read(net, ground(net))
        ab = self.read(self.net, net)
        if a is None or b is None or ab is None or a[1] > _OPEN:
            return False
        ab_least, b_least, b_most = (min(v, _OPEN) for v in (ab[0], *b))
        error = _CONTACTS + _PER_READING * (a[1] + b_most + ab_least)
        if ab_least > a[1] + b_most + error:
            # No two nets read more than both to ground: one of the three is wrong.
            return False
        z = min(max(0.0, (a[1] + b_most - ab_least + error) / 2), a[1], b_most)
        between = max((a[0] * b_least - z * z) / z if z else math.inf, ab_least - error)
        most = volts * min(1.0, z / max(a[0] - _CONTACTS, 0.01))
        # What goes to ground on its own way needs a second fault to be joined as well.
        own_way = between >= _SHORT_MOST or z <= _OWN_WAY * b_least
        return self._harmless(most, between, volts, own, sure=own_way) and all(
            self._behind_apart(other, (b_least, b_most), volts, own)
            for other in self.behind
        )

    def _behind_apart(
        self, other: str, b: tuple[float, float], volts: float, own: float | None
    ) -> bool:
        """Whether what lies behind a junction is not tied to a net.

        Tied by some ohms, their readings to ground differ by these at most.
        """
        found = self.read(other, self.case.ground_of(other))
        if found is None:
            return False
        least, most = (min(value, _OPEN) for value in found)
        error = _CONTACTS + _PER_READING * (most + b[1])
        between = max(least - b[1], b[0] - most) - error
        share = min(1.0, b[1] / max(least - _CONTACTS, 0.01))
        sure = between >= _SHORT_MOST
        return self._harmless(volts * share, between, volts, own, sure=sure)

    @staticmethod
    def _harmless(
        most: float, between: float, volts: float, own: float | None, *, sure: bool
    ) -> bool:
        """Whether so many volts, or what comes through so many ohms, hurt nothing."""
        allowed = _SHARE * own if own else _UNKNOWN_VOLTS
        if sure and most <= allowed:
            return True
        return between > 0 and volts / between <= _HARMLESS_AMPS


def _forward(
    case: Case, net: str, off: frozenset[str]
) -> tuple[frozenset[str], tuple[str, ...]]:
    """Return the nets at a net's own potential, and those behind junctions of these."""
    network = case.network.changed(without=off)
    links: dict[str, set[str]] = {}
    for path in network.resistances:
        if path.ohms_low <= _LINK_OHMS:
            links.setdefault(path.a, set()).add(path.b)
            links.setdefault(path.b, set()).add(path.a)
    onward: dict[str, set[str]] = {}
    for one in network.junctions:
        onward.setdefault(one.anode, set()).add(one.cathode)

    def spread(start: set[str], ways: tuple[dict[str, set[str]], ...]) -> set[str]:
        seen, todo = set(start), list(start)
        while todo:
            here = todo.pop()
            for way in ways:
                for other in way.get(here, ()):
                    if other not in seen and not case.view.is_ground(other):
                        seen.add(other)
                        todo.append(other)
        return seen

    near = spread({net}, (links,))
    behind = spread({net}, (links, onward)) - near
    supplies = case.injection.supplies
    return frozenset(near), tuple(sorted(one for one in behind if one in supplies))


def _bears(case: Case, net: str) -> float | None:
    """Return the volts of a rail, or those that it has at least; None if unknown."""
    nominal = case.injection.nominals.get(net)
    volts = nominal.volts if nominal is not None else None
    if volts is None:
        # What feeds a buck has no less than the buck makes.
        volts = volts_at_least(case.circuit, above=1.0, named=False).get(net)
    return volts if volts and volts > 0 else None


def raised(
    case: Case, net: str, off: frozenset[str]
) -> tuple[Raised | None, Raised | None]:
    """Return how far readings raise the volts of an injection, and what more would.

    Parameters
    ----------
    case : Case
    net : str
        Where to inject; its own voltage must be known, if only from below.
    off : frozenset of str
        Parts that are off the board meanwhile.

    Returns
    -------
    now, then : Raised, optional
        By what was read; and with the readings that would raise it further.

    Notes
    -----
    A net stands apart only by readings of the board as it is; the limit is the lowest
    voltage of all nets that do not.
    """
    bears = _bears(case, net)
    if bears is None or not case.ground_of(net):
        return None, None
    judge = _Judge(case, net, off)
    apart: set[str] = set()
    asked: dict[_Pair, None] = {}
    now = None
    while len(asked) <= _ASKED_MAX:
        answer = inject(
            case.circuit, net, index=case.injection, off=off, apart=frozenset(apart)
        )
        told = floors_of(case.circuit, answer, case.view)
        floors = {one: volts for one, volts, _ in told}
        limit = min((volts or 0.0 for volts in floors.values()), default=0.0)
        if apart and limit > 0:
            then = Raised(frozenset(apart), limit, tuple(asked))
            if not asked:
                now = then
        else:
            then = None
        if limit > 0.999 * bears:
            break
        # The nearest of the lower ones: what lies beyond it goes with it.
        lower = next(
            one.net
            for one in sorted(answer.reach.details, key=lambda one: len(one.via))
            if (floors.get(one.net, math.inf) or 0.0) < 0.999 * bears
        )
        if not case.ground_of(lower):
            break
        missing = list(judge.missing(lower))
        own = floors[lower]
        if not judge.may_stand_apart(lower) or (
            not missing and not judge.stands_apart(lower, bears, own)
        ):
            break
        asked |= dict.fromkeys(missing)
        apart.add(lower)
    else:
        return now, None
    return now, then if asked else None
