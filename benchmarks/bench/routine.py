"""A skilled technician's routine, without the tool: the yardstick.

Reads every rail; reads drain-source and gate-source of all switches of the low
rail's stages; lifts the odd ones out, lowest first, reads the rail after each and
refits what changed nothing; then the holders of the rail, lowest four-wire first
(without four-wire one by one, chips last); replaces mates too; measures gates
again with the new switches in place and replaces a driver that holds one down;
after a failed power-up looks at every rail.
"""

from bench.model import Side, Stage
from bench.truth import class_of
from bench.world import World

__all__ = ["Routine"]

_PUNCHED_OHMS = 150.0
_LOW_DRAIN_OHMS = 8.0
#: Switches in the way of the current: no rail tells of a short in them.
_PASS = ("back-to-back pass", "load switch", "ideal diode")
#: A rail reading that rose by this went with the lifted part.
_ROSE = 1.5
#: A working day of eight hours: then the board is given back.
_MOST_SECONDS = 28_800.0


class Routine:
    """Plays one bench.

    Parameters
    ----------
    world : World
        The bench.
    whole_sets : bool
        False: replace only what cleared the short, and look at nothing else.
    """

    def __init__(self, world: World, whole_sets: bool = True) -> None:
        self.world, self.board = world, world.board
        self.whole_sets = whole_sets
        self.four = world.four_wire
        #: Parts that were lifted in vain: not lifted a second time.
        self.tried: set[str] = set()
        self.replaced: set[str] = set()

    def play(self) -> None:
        """Work until the board runs, or there is nothing left to try."""
        world = self.world
        failed = False
        while world.may_power and world.seconds < _MOST_SECONDS:
            for _ in range(4):
                low = self._low_rails()
                if low:
                    done = self._hunt(low[0])
                else:
                    done = self._odd_gates(failed)
                if not done:
                    break
            result = world.power()
            if result == "runs":
                return
            failed = True
            self.tried.clear()

    # -- reading

    def _ohms(self, plus: str, minus: str, mode: str = "resistance") -> float:
        found = self.world.measure(mode, plus, minus)
        return float("inf") if found is None or isinstance(found, str) else found

    def _rail(self, net: str) -> float:
        return max(self._ohms(f"net:{net}", f"net:{self.board.ground}"), 0.05)

    def _low_rails(self) -> list[str]:
        """Return the rails below what their class explains, worst first."""
        found = []
        for net, volts in self.board.rails.items():
            ratio = self._rail(net) / class_of(volts)[1]
            if ratio < 0.7:
                found.append((ratio, net))
        return [net for _, net in sorted(found)]

    def _switches(self, rail: str) -> list[tuple[Stage, Side, str]]:
        return [
            (stage, side, ref)
            for stage in self.board.stages
            if rail in (stage.rail, stage.source)
            for side in stage.sides
            for ref in side.switches
        ]

    def _pins(self, ref: str) -> tuple[str, str, str]:
        part = self.board.parts[ref]
        drain, gate, source = (part.named(name) for name in ("D", "G", "S"))
        return f"{ref}.{drain}", f"{ref}.{gate}", f"{ref}.{source}"

    def _survey(self, rail: str) -> list[tuple[float, str, float]]:
        """Read all switches; return the odd ones: rank, ref, gate ohms."""
        odd = []
        for _, _, ref in self._switches(rail):
            drain, gate, source = self._pins(ref)
            across = self._ohms(
                drain, source, "four-wire" if self.four else "resistance"
            )
            grid = self._ohms(gate, source)
            if across < _LOW_DRAIN_OHMS:
                odd.append((across, ref, grid))
        punched = [row for row in odd if row[2] < _PUNCHED_OHMS]
        # a gate that reads low tells more than a drain that its sisters share
        rest = [row for row in odd if row not in punched]
        return sorted(punched, key=lambda row: row[::2]) + sorted(rest)[:4]

    # -- hunting

    def _hunt(self, rail: str) -> bool:
        """Find and replace what holds a rail; return whether anything was done."""
        before = self._rail(rail)
        for _, ref, _ in self._survey(rail):
            before, gone = self._try(ref, rail, before)
            if gone:
                return self._renew()
        for ref in self._holders(rail):
            if self.world.seconds > _MOST_SECONDS:
                break
            before, gone = self._try(ref, rail, before)
            if gone:
                return self._renew()
        return self._renew()

    def _try(self, ref: str, rail: str, before: float) -> tuple[float, bool]:
        """Lift a part; return the rail's reading now, and whether the short went."""
        if (
            ref in self.tried
            or ref in self.replaced
            or ref in self.world.circuit.lifted
        ):
            return before, False
        self.world.lift(ref)
        now = self._rail(rail)
        if now > before * _ROSE and now > before + 0.15:
            low = class_of(self.board.rails[rail])[1]
            return now, now >= 0.7 * low
        self.tried.add(ref)
        self.world.fit(ref)
        return before, False

    def _holders(self, rail: str) -> list[str]:
        """Return what else can hold the rail, in the order of lifting."""
        ground, parts = self.board.ground, self.board.parts
        reach = {rail}
        for part in parts.values():
            nets = {net for _, _, net in part.pins}
            if part.kind in ("inductor", "bead", "fuse") and rail in nets:
                reach |= nets
        found = []
        for part in parts.values():
            net = next((n for _, _, n in part.pins if n in reach), None)
            if net is None or part.on(ground) is None:
                continue
            if part.kind in ("capacitor", "tvs", "diode", "zener", "chip"):
                found.append((part.kind == "chip", part.ref, part.on(net)))
        if not self.four:
            return [ref for _, ref, _ in sorted(found, key=lambda row: row[0])]
        read = [
            (self._ohms(f"{ref}.{pin}", f"{ref}.{parts[ref].on(ground)}", "four-wire"),
             chip, ref)
            for chip, ref, pin in found
        ]  # fmt: skip
        return [ref for _, _, ref in sorted(read)]

    def _renew(self) -> bool:
        """Replace what is off and, for switches, the mates; check the gates."""
        off = sorted(self.world.circuit.lifted)
        if not off:
            return False
        refs = list(off)
        if self.whole_sets:
            for ref in off:
                for side in self.board.sides_of(ref):
                    refs += [mate for mate in side.switches if mate not in refs]
        self.world.replace(refs)
        # a load that was replaced once is not lifted again for the same low rail
        self.replaced |= {ref for ref in refs if self.board.parts[ref].kind == "chip"}
        if self.whole_sets:
            self._gates(refs)
        return True

    def _gates(self, refs: list[str]) -> None:
        """Read the gates of new switches; replace a driver that holds one down."""
        for ref in refs:
            for side in self.board.sides_of(ref):
                _, gate, source = self._pins(ref)
                if self._ohms(gate, source) < _PUNCHED_OHMS:
                    self.world.replace([side.driver])

    def _odd_gates(self, failed: bool) -> bool:
        """No rail is low: read the core's switches; after a failure, all of them."""
        rails = list(self.board.rails) if failed else [self.board.core]
        refs: list[str] = []
        lowest = (float("inf"), "")
        for rail in rails:
            for stage, side, ref in self._switches(rail):
                if ref in refs:
                    continue
                drain, gate, source = self._pins(ref)
                ohms = self._ohms(gate, source)
                low = ohms < _PUNCHED_OHMS
                passes = failed and stage.kind in _PASS
                if low or (passes and self._ohms(drain, source) < _LOW_DRAIN_OHMS):
                    refs += [s for s in side.switches if s not in refs]
                    lowest = min(lowest, (ohms, ref))
        if refs:
            refs = refs if self.whole_sets else [lowest[1]]
            self.world.replace(refs)
            if self.whole_sets:
                self._gates(refs)
            return True
        if failed and self.world.power_ups[-1] == "limit":
            return self._hunt(self.board.core)
        return False
