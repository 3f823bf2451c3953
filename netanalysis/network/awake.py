"""Which junctions an ohmmeter wakes, and what it then shows.

A meter steps up through its ranges.  What the junctions could take is judged from the
voltages of the linear network, which is cheap; they are solved only in the ranges in
which they could decide what is shown.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ohmtrail.netanalysis.network.diode_models import PIN_CLAMP, SILICON
from ohmtrail.netanalysis.network.elements import Junction, Network
from ohmtrail.netanalysis.network.junction_law import THERMAL_VOLTS
from ohmtrail.netanalysis.network.junction_solve import Solution
from ohmtrail.netanalysis.network.meter import OhmRange

if TYPE_CHECKING:
    from ohmtrail.netanalysis.network.assembly import Floats
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = ["Awake", "Read", "settled_clamps"]

#: Junctions that take less than this share of the test current sleep.
_AWAKE_SHARE = 1e-3
#: Of two junctions in a row, the one of lower drop takes no more than this.
_CHAIN_SHARE = 0.7
#: A part whose junctions take this share is said to wake.
_WOKE_SHARE = 1e-2
#: More than any board draws at the voltage of an ohmmeter.
_PLENTY_AMPS = 100.0


@dataclass(frozen=True, slots=True)
class Read:
    """What is shown: ohms (``inf`` for "OL"), the range, the refs that woke."""

    ohms: float
    range: OhmRange
    woke: tuple[str, ...] = ()


def settled_clamps(network: Network) -> Network:
    """Return the network for ohms: clamps of chips nowhere below their usual drop.

    In diode mode a clamp may honestly read 0.35 V.  If every clamp of a board were
    taken so low, a meter that steps up from its lowest range would stop there at some
    300 ohms whatever resistor it lies across, and every range would be useless.  The
    clamp of one pin is one small silicon junction; where nothing was measured it
    counts with the usual drop of such a one.
    """
    return Network(
        network.nodes,
        network.resistances,
        tuple(_settled(one) for one in network.junctions),
    )


def _settled(one: Junction) -> Junction:
    if one.sort != "clamp":
        return one
    volts = one.volts
    if one.because == PIN_CLAMP:
        volts = min(max(volts, SILICON.typical), one.volts_high)
    return replace(one, volts=volts, volts_low=volts)


class Awake:
    """Readings of several pairs at one corner, in one mode."""

    def __init__(
        self,
        board: "SolvedBoard",
        mode: str,
        corner: str,
        pairs: Sequence[tuple[str, str]],
    ) -> None:
        self._pairs = pairs
        self._board = board
        self._corner = corner
        self._ranges = board.meter.ranges(mode)
        self._leads = board.meter.leads(mode)
        solver = board.corners.solvers[corner]
        net = solver.assembly
        plus, minus = net.pairs(pairs)
        self._landed: list[tuple[OhmRange, bool]] | None = None
        self._ohms: Floats = np.array([])
        self._taken: Floats = np.zeros((len(self._ranges), 0))
        if not pairs:
            return
        volts = solver.factor.solve(plus, minus)
        ohms = np.diagonal(volts.drops(plus, minus)).copy()
        together = net.island[plus] == net.island[minus]
        ohms[~together] = math.inf
        self._ohms = ohms
        ones = board.for_ohms.junctions
        anodes, cathodes = net.pairs([(one.anode, one.cathode) for one in ones])
        drops = volts.drops(anodes, cathodes)
        # A junction to another island carries nothing unless a second one leads back:
        # each counts with most of what lies between its end and the far probe.  Where
        # only junctions join the probes it counts with all of it.
        home = net.island[plus][None, :]
        anode_home = net.island[anodes][:, None] == home
        leaves = anode_home != (net.island[cathodes][:, None] == home)
        every = volts.high + volts.low
        base = every[minus, np.arange(len(pairs))][None, :]
        fall = np.where(anode_home, every[anodes] - base, ohms - every[cathodes] + base)
        fall = np.where(together[None, :], _CHAIN_SHARE * fall, anode_home * 1.0)
        slope = THERMAL_VOLTS * np.array([one.emission for one in ones])[:, None]
        knee = np.array([one.at(corner) for one in ones])[:, None]
        saturation = 1e-3 / np.expm1(knee / slope)
        rows = []
        for one in self._ranges:
            full = one.full_scale_ohms * one.test_amps
            across = np.minimum(
                np.where(together, ohms, math.inf) * one.test_amps, full
            )
            with np.errstate(invalid="ignore", divide="ignore"):
                scale = np.where(together & (ohms > 0), across / ohms, 0.0)
            scale = np.where(together, scale, across)
            size = np.where(leaves, fall, drops) * scale[None, :]
            size = np.where(together[None, :] | leaves, size, 0.0)
            amps = saturation * np.expm1(np.minimum(size / slope, 200.0))
            rows.append(np.abs(amps).sum(axis=0))
        self._taken = np.array(rows)

    def reading(self, k: int) -> Read:
        """Return what the meter shows on pair k."""
        if self._landed is None:
            self._landed = self._land()
        one, woken = self._landed[k]
        if woken:
            return self._shown(k, one)
        ohms = float(self._ohms[k])
        return Read(ohms if ohms <= one.full_scale_ohms else math.inf, one)

    def _land(self) -> list[tuple[OhmRange, bool]]:
        """Return the range that each pair ends in, and whether junctions decide it.

        What must be solved is solved for all pairs together.
        """
        solver = self._board.ohm_junctions(self._corner)
        drawn: list[dict[float, float]] = [{} for _ in self._pairs]
        left = list(range(len(self._pairs)))
        found: dict[int, tuple[OhmRange, bool]] = {}
        while left:
            lacking = {}
            for k in left:
                one, woken, full = self._step(k, drawn[k])
                if full is None:
                    found[k] = one, woken
                else:
                    lacking[k] = full
            solver.prepare(
                (*self._pairs[k], _PLENTY_AMPS, full) for k, full in lacking.items()
            )
            for k, full in lacking.items():
                drawn[k][full] = self._solution(k, _PLENTY_AMPS, full).amps
            left = list(lacking)
        solver.prepare(
            (*self._pairs[k], one.test_amps, self._at_pads(one))
            for k, (one, woken) in found.items()
            if woken
        )
        return [found[k] for k in range(len(self._pairs))]

    def _step(
        self, k: int, drawn: dict[float, float]
    ) -> tuple[OhmRange, bool, float | None]:
        """Return the range that pair k ends in, as far as can be told.

        The last is a voltage at which it is wanted how much the board draws.
        """
        linear = float(self._ohms[k])
        for place, one in enumerate(self._ranges):
            taken = float(self._taken[place, k])
            if taken <= _AWAKE_SHARE * one.test_amps:
                if linear <= one.full_scale_ohms:
                    return one, False, None
                continue
            full = one.full_scale_ohms * one.test_amps
            if linear > one.full_scale_ohms and full / linear + taken < one.test_amps:
                continue
            # A range is over where the board draws less than its current at full
            # scale: one solution tells it for all ranges of that voltage.
            if full not in drawn:
                return one, False, full
            if drawn[full] >= one.test_amps:
                return one, True, None
        self._ohms[k] = math.inf
        return self._ranges[-1], False, None

    def _at_pads(self, one: OhmRange) -> float:
        return one.open_volts - one.test_amps * self._leads

    def _shown(self, k: int, one: OhmRange) -> Read:
        found = self._solution(k, one.test_amps, self._at_pads(one))
        shares = np.abs(found.junction_amps) / one.test_amps
        order = np.argsort(-shares, kind="stable")
        junctions = self._board.network.junctions
        refs = (junctions[j].ref for j in order if shares[j] >= _WOKE_SHARE)
        return Read(found.volts / found.amps, one, tuple(dict.fromkeys(refs)))

    def _solution(self, k: int, amps: float, volts: float) -> Solution:
        plus, minus = self._pairs[k]
        return self._board.ohm_junctions(self._corner).solve(plus, minus, amps, volts)
