"""Narrow what no file states by the readings of a good board.

A rail's reading to ground, less what the marked parts carry, is its load; a reading
in diode mode is the drop of the junctions across the pair.  What the marked parts
alone contradict is reported and narrows nothing.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.diagnosis.log import Event
from ohmtrail.netanalysis.network.elements import Junction, Network, Resistance
from ohmtrail.netanalysis.network.evidence import Evidence, spread

__all__ = ["Narrowed", "narrow"]

#: Nets joined by no more than this many ohms, or this share of what both read, are
#: one rail.
_JOINED_OHMS = 1.0
_JOINED_SHARE = 0.1
#: What a meter can show at most, in ohms: OL is taken as this.
_TOP_OHMS = 40e6
#: No lower end of a range is below this share of the reading: 0 would join the nets.
_LEAST_SHARE = 0.1
#: Rounds of setting all loads; how near the readings must come, as a share.
_ROUNDS = 30
_NEAR = 0.02
#: Test current of diode mode in amperes, and the drop beyond which nothing conducts.
_TEST_AMPS = 1e-3
_NO_JUNCTION_VOLTS = 1.5
#: Two counts of the display in diode mode, in volts.
_COUNTS_VOLTS = 0.002
#: Thermal voltage at 300 K, in volts.
_THERMAL_VOLTS = 0.02585


@dataclass(frozen=True, slots=True)
class Narrowed:
    """A network with narrower ranges."""

    network: Network
    #: What was left alone and why, one line each; `Evidence.doubts` are not repeated.
    doubts: tuple[str, ...] = ()


@dataclass(slots=True)
class _Load:
    """Paths that no file states, and the reading that they must make up for."""

    plus: str
    minus: str
    target: float
    event: Event
    #: Places in ``network.resistances``, and what all together carry, in siemens.
    places: tuple[int, ...]
    siemens: float
    scale: float = 1.0
    settled: bool = False


def narrow(
    network: Network, evidence: Evidence, off: frozenset[str] = frozenset()
) -> Narrowed:
    """Return the network with its assumed paths narrowed by a good board's readings.

    Parameters
    ----------
    network : Network
        The board, healthy, with the parts ``off`` taken off.
    evidence : Evidence
        Readings of a good board.
    off : frozenset of str
        Parts off the board; readings count only with the same ones off.

    Notes
    -----
    One factorisation a round, one solution a reading and round.
    """
    ohms, drops = _usable(evidence, off, frozenset(network.nodes))
    if not ohms and not drops:
        return Narrowed(network)
    network, doubts = _with_loads(network, ohms)
    network, more = _with_drops(network, drops)
    return Narrowed(network, (*doubts, *more))


def _usable(
    evidence: Evidence, off: frozenset[str], nodes: frozenset[str]
) -> tuple[dict[tuple[str, str], Event], dict[tuple[str, str], Event]]:
    """Return the last reading of each pair, in ohms and in diode mode."""
    ohms: dict[tuple[str, str], Event] = {}
    drops: dict[tuple[str, str], Event] = {}
    for (mode, plus, minus, parts), events in evidence.good.items():
        if parts != off or plus not in nodes or minus not in nodes:
            continue
        if mode == "diode":
            drops[plus, minus] = events[-1]
        elif mode in ("resistance", "four-wire"):
            ohms[plus, minus] = events[-1]
    return ohms, drops


class _Groups:
    """Nets that read alike: joined by little, or by little beside what they read."""

    def __init__(
        self,
        resistances: Iterable[Resistance],
        readings: Mapping[tuple[str, str], Event],
    ) -> None:
        self._head: dict[str, str] = {}
        lowest: dict[str, float] = {}
        for pair, event in readings.items():
            for node in pair:
                value = event.value if event.value is not None else 0.0
                lowest[node] = min(value, lowest.get(node, math.inf))
        for one in resistances:
            beside = min(lowest.get(one.a, 0.0), lowest.get(one.b, 0.0))
            most = max(_JOINED_OHMS, _JOINED_SHARE * beside)
            # A load may be as low as a link, but nobody knows how high it is.
            if (one.ohms_high if one.assumed else one.ohms) <= most:
                self._head[self.of(one.a)] = self.of(one.b)

    def of(self, node: str) -> str:
        """Return the node that stands for the group."""
        head = self._head
        while head.get(node, node) != node:
            head[node] = head.get(head[node], head[node])
            node = head[node]
        return node


def _loads(
    network: Network, readings: Mapping[tuple[str, str], Event]
) -> Iterator[_Load]:
    """Yield the loads to set: one for each pair of rails that was read."""
    groups = _Groups(network.resistances, readings)
    across: dict[frozenset[str], list[int]] = {}
    for place, one in enumerate(network.resistances):
        if one.assumed and one.ohms > 0 and math.isfinite(one.ohms):
            ends = frozenset((groups.of(one.a), groups.of(one.b)))
            across.setdefault(ends, []).append(place)
    done: set[frozenset[str]] = set()
    for (plus, minus), event in readings.items():
        ends = frozenset((groups.of(plus), groups.of(minus)))
        places = across.get(ends)
        if len(ends) < 2 or not places or ends in done or not event.value:
            continue
        done.add(ends)
        siemens = sum(1 / network.resistances[place].ohms for place in places)
        target = min(event.value, _TOP_OHMS)
        yield _Load(plus, minus, target, event, tuple(places), siemens)


def _range(load: _Load) -> tuple[float, float]:
    """Return by what factor the load may differ when the reading does."""
    low, high = spread(load.event.mode, load.target)
    carried = load.siemens / load.scale
    rest = 1 / load.target - carried
    most = 1 / max(low, load.target * _LEAST_SHARE) - rest
    least = (1 / high if math.isfinite(high) else 0.0) - rest
    return min(1.0, carried / most), max(
        1.0, carried / least
    ) if least > 0 else math.inf


def _scaled(network: Network, loads: Iterable[_Load], final: bool) -> Network:
    """Return the network with the loads at their scale, and their range at the end."""
    resistances = list(network.resistances)
    for load in loads:
        if final and not load.settled:
            continue
        for place in load.places:
            one = resistances[place]
            ohms = one.ohms * load.scale
            if not final:
                resistances[place] = replace(one, ohms=ohms)
                continue
            low, high = _range(load)
            resistances[place] = replace(
                one,
                ohms=ohms,
                ohms_low=ohms * low,
                ohms_high=ohms * high,
                because=f"good board, line {load.event.line}",
                likely=None,
            )
    return Network(network.nodes, tuple(resistances), network.junctions)


def _with_loads(
    network: Network, readings: Mapping[tuple[str, str], Event]
) -> tuple[Network, list[str]]:
    """Set every load so that its pair reads what the good board reads."""
    loads = list(_loads(network, readings))
    if not loads:
        return network, []
    from ohmtrail.netanalysis.network.solve import Solver

    pairs = [(load.plus, load.minus) for load in loads]
    for count in range(_ROUNDS):
        solver = Solver(_scaled(network, loads, final=False))
        for load, ohms in zip(loads, solver.resistances(pairs), strict=True):
            load.settled = abs(ohms - load.target) <= _NEAR * load.target
            carried = load.siemens / load.scale
            # What the load must carry if everything else stays as it is.
            wanted = carried + 1 / load.target - (1 / ohms if ohms else math.inf)
            wanted = max(wanted, carried / 100)
            # Loads that share a reading all make up for it: ever smaller steps.
            load.scale *= (carried / wanted) ** (1 / (1 + count // 4))
        if all(load.settled for load in loads):
            break
    doubts = [
        f"good board, line {load.event.line}: {load.plus} to {load.minus} reads "
        f"{load.event.text}, which the marked parts across it do not allow"
        for load in loads
        if not load.settled and math.isfinite(load.event.value or 0.0)
    ]
    return _scaled(network, loads, final=True), doubts


def _with_drops(
    network: Network, readings: Mapping[tuple[str, str], Event]
) -> tuple[Network, list[str]]:
    """Set the drop of the junctions across each pair that was read in diode mode."""
    across: dict[tuple[str, str], list[int]] = {}
    for place, one in enumerate(network.junctions):
        if one.sort not in ("zener", "breakdown"):
            across.setdefault((one.anode, one.cathode), []).append(place)
    usable = {pair: event for pair, event in readings.items() if pair in across}
    if not usable:
        return network, []
    from ohmtrail.netanalysis.network.solve import Solver

    junctions = list(network.junctions)
    doubts: list[str] = []
    pairs = list(usable)
    usual = Solver(network).resistances(pairs)
    least = Solver(network, "low").resistances(pairs)
    for pair, ohms, ohms_low in zip(pairs, usual, least, strict=True):
        event, places = usable[pair], across[pair]
        volts = event.value if event.value is not None else math.inf
        if volts >= _NO_JUNCTION_VOLTS:
            known = [o for p in places if (o := junctions[p]).volts_high < volts]
            if known and math.isinf(volts):
                doubts.append(_odd_drop(pair, event, known[0]))
            continue
        # Resistances alone may explain the reading; then no drop is above it for sure.
        explained = _TEST_AMPS * ohms_low <= 1.3 * volts + _COUNTS_VOLTS
        amps = (_TEST_AMPS - volts / ohms if ohms else 0.0) / len(places)
        for place in places:
            one = junctions[place]
            low, high = spread("diode", volts)
            more = 0.0
            if amps > _TEST_AMPS / 5 / len(places):
                more = one.emission * _THERMAL_VOLTS * math.log(_TEST_AMPS / amps)
            elif explained:
                continue
            narrowed = _clipped(
                one,
                low if explained else low + more,
                volts + more,
                math.inf if explained else high + more,
                event,
            )
            if narrowed is None:
                if not _other_way(network, pair, volts):
                    doubts.append(_odd_drop(pair, event, one))
                break
            junctions[place] = narrowed
    return Network(network.nodes, network.resistances, tuple(junctions)), doubts


def _other_way(network: Network, pair: tuple[str, str], volts: float) -> bool:
    """Whether the board may read so low through junctions elsewhere on it."""
    from ohmtrail.netanalysis.network.junction_solve import JunctionSolver

    lowest = JunctionSolver(network, "low").solve(
        *pair, amps=_TEST_AMPS, open_volts=2 * _NO_JUNCTION_VOLTS
    )
    return lowest.volts <= volts + _COUNTS_VOLTS


def _clipped(
    one: Junction, low: float, volts: float, high: float, event: Event
) -> Junction | None:
    """Return the junction within both ranges, None where they do not meet."""
    low, high = max(low, one.volts_low), min(high, one.volts_high)
    if low > high:
        return None
    return replace(
        one,
        volts=min(max(volts, low), high),
        volts_low=low,
        volts_high=high,
        because=f"good board, line {event.line}",
    )


def _odd_drop(pair: tuple[str, str], event: Event, one: Junction) -> str:
    return (
        f"good board, line {event.line}: {pair[0]} to {pair[1]} reads {event.text} in "
        f"diode mode, {one.ref} should drop {one.volts_low:g} to {one.volts_high:g} V"
    )
