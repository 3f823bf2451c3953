"""Where an injected current goes under a hypothesis: what it passes, and what takes it.

A shorted switch hands the current on: into a low side that is shorted as well, or
through the coil into the load of the next rail.  Both get warm, by their resistances.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import NamedTuple

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault

__all__ = ["Fed", "HeatWays", "sole_loads"]

#: Above this a fault hands on no current that warms anything, in ohms (common
#: practice).
_HANDS_ON_OHMS = 15.0
#: Chance that what the current passes on its way gets warmer than what takes it
#: (common practice, no source).
_SERIES_SHARE = 0.4
#: Share of a rail's supply pins from which on nothing else loads it (common practice).
_SOLE = 0.75


class HeatWays(NamedTuple):
    """What may get warm when a rail is fed."""

    #: Faults that tie the rail, or what a shorted part joins to it, to ground.
    sinks: tuple[Fault, ...]
    #: Shorted parts that the current passes on its way to other nets.
    passed: tuple[str, ...]
    #: What loads these nets by nature.
    loads: frozenset[str]

    def chances(self) -> dict[str, float]:
        """Return, where a fault takes the current, the chance of each to be hottest."""
        refs = {fault.ref for fault in self.sinks}
        share = _SERIES_SHARE if self.passed else 0.0
        found = dict.fromkeys(refs, (1.0 - share) / max(1, len(refs)))
        for ref in self.passed:
            found[ref] = found.get(ref, 0.0) + share / len(self.passed)
        return found

    def of_loads(self, ref: str) -> float:
        """Return, where the loads take the current, the chance of one to be hottest."""
        if ref in self.passed:
            return _SERIES_SHARE / len(self.passed)
        if ref in self.loads:
            return 1.0 - _SERIES_SHARE if self.passed else 1.0
        return 0.0


class Fed:
    """A rail that current is fed into.

    Parameters
    ----------
    case : Case
    *nets : str
        The rail; or both nets that the supply is across, ground or not.
    off : frozenset of str
        Parts that are off the board.
    """

    def __init__(self, case: Case, *nets: str | None, off: frozenset[str]) -> None:
        self._case, self._off = case, off
        #: The nets with all that links join to them, ground left out.
        self.nets = case.joined(*nets, off=off)
        self._loads: dict[frozenset[str], frozenset[str]] = {}

    @cached_property
    def unloaded(self) -> bool:
        """Whether all that loads the rail to speak of is off the board."""
        main = sole_loads(self._case, self.nets)
        return bool(main) and main <= self._off

    def ways(self, faults: Sequence[Fault]) -> HeatWays:
        """Return what may get warm with these faults of parts on the board."""
        ground = self._case.view.is_ground
        near = self._sinks(self.nets, faults)
        bridges = [
            (fault.ref, way)
            for fault in faults
            for way in fault.paths
            if way.ohms_low < _HANDS_ON_OHMS and not (ground(way.a) or ground(way.b))
        ]
        reached = self.nets
        passed: dict[str, None] = {}
        busy = bool(bridges)
        while busy:
            busy = False
            for ref, way in bridges:
                if (way.a in reached) != (way.b in reached):
                    onward = way.b if way.a in reached else way.a
                    reached |= self._case.joined(onward, off=self._off)
                    passed[ref] = None
                    busy = True
        if passed:
            sinks = self._sinks(reached, faults)
            loads = self._loads_of(reached)
            if sinks != near or (not near and loads != self._loads_of(self.nets)):
                return HeatWays(sinks, tuple(passed), loads)
        # Nothing lies beyond that takes more than what is here.
        return HeatWays(near, (), self._loads_of(self.nets))

    def _sinks(
        self, nets: frozenset[str], faults: Sequence[Fault]
    ) -> tuple[Fault, ...]:
        """Return the faults that tie any of these nets to ground."""
        ground = self._case.view.is_ground
        return tuple(
            fault
            for fault in faults
            if any(
                (way.a in nets and ground(way.b)) or (way.b in nets and ground(way.a))
                for way in fault.paths
            )
        )

    def _loads_of(self, nets: frozenset[str]) -> frozenset[str]:
        """Return what loads the rails among some nets and is on the board."""
        if nets not in self._loads:
            self._loads[nets] = frozenset(
                ref
                for rail in self._case.circuit.rails
                if rail.net in nets
                for ref in rail.loads
                if ref not in self._off
            )
        return self._loads[nets]


def sole_loads(case: Case, nets: Iterable[str]) -> frozenset[str]:
    """Return the chips that load some nets, where they are all that counts.

    None where a quarter or more of the supply pins are other chips'.
    """
    loads = {rail.net: rail.loads for rail in case.circuit.rails}
    pins = {
        (ref, net): len(case.view.pins_on(ref, net))
        for net in nets
        for ref in loads.get(net, ())
    }
    main = frozenset(ref for _, net in pins for ref in case.main_loads(net))
    mine = sum(count for (ref, _), count in pins.items() if ref in main)
    return main if mine > _SOLE * sum(pins.values()) else frozenset()
