"""The bench: what each action does, shows and costs; what power does to the board."""

import csv
import random
from pathlib import Path
from typing import Any

from bench.circuit import Circuit, Pad
from bench.faults import Case, break_side, draw, healthy_case
from bench.meter import Meter, text_of
from bench.model import Board
from bench.truth import Truth

__all__ = ["BenchError", "World"]

READING, LOOK, POWER, INJECT = 10.0, 10.0, 120.0, 60.0
_TWO_PIN, _SWITCH, _CHIP = 120.0, 600.0, 3600.0
_POWER_UPS = 3
#: Rails count as joined by a part, or by a fault, below this.
_LINK_OHMS = 10.0
_FAULT_OHMS = 50.0
_INJECT_AMPS = 3.0
_HOT_WATTS = 0.25

Row = dict[str, str]


class BenchError(ValueError):
    """An action that nobody could carry out."""


class World:
    """One board on one bench.

    Parameters
    ----------
    board : Board
        The board, whole.
    seed : int
        Draws its inside, its fault, its copper and the meter.
    four_wire : bool
        Whether a four-wire meter is there.
    """

    def __init__(self, board: Board, seed: int, four_wire: bool = True) -> None:
        self.board, self.four_wire = board, four_wire
        self.truth = Truth(board, seed, core_low=healthy_case(seed))
        self.case: Case = draw(self.truth, seed)
        self.circuit = Circuit(board, self.truth, seed)
        self.meter = Meter(seed)
        self._rng = random.Random(f"world/{board.name}/{seed}")
        self.log: list[Row] = []
        self.seconds = 0.0
        self.readings = 0
        self.wrong_line: int | None = None
        self.power_ups: list[str] = []
        self.replaced: list[str] = []
        self.needless: list[str] = []
        self._supply: tuple[float, Pad, Pad] | None = None

    # -- looking and probing

    def pad(self, point: str) -> Pad:
        """Return the pad that a probe point means; a net is touched anywhere.

        Raises
        ------
        BenchError
            If the board has no such pad or net.
        """
        what, _, rest = point.partition(":")
        if what in ("net", "pin") and rest:
            point = rest
        ref, _, pin = point.rpartition(".")
        part = self.board.parts.get(ref)
        if part and what != "net" and any(p == pin and n for p, _, n in part.pins):
            return ref, pin
        if what != "pin":
            nets = self.board.nets()
            if point in nets:
                return self.circuit.touch(point)
            ends = [net for net in nets if net.rsplit("/", 1)[-1] == point]
            if len(ends) == 1:
                return self.circuit.touch(ends[0])
        raise BenchError(f"no pad or net {point!r} on this board")

    def look(self, ref: str) -> str:
        """Look at a part.  A dead one may show it: half of the shorted switches."""
        self._part(ref)
        self.seconds += LOOK
        hot = any(ohms < 5 for *_, ohms, _ in self.truth.health[ref].paths)
        mosfet = self.board.parts[ref].kind == "mosfet"
        shown = random.Random(f"look/{self.board.name}/{ref}").random()
        value = "burnt" if hot and shown < (0.3 if mosfet else 0.1) else "ok"
        self._write("look", part=ref, value=value)
        return value

    def measure(
        self, mode: str, plus: str, minus: str, part: str | None = None
    ) -> float | str | None:
        """Take a reading; return it, None for open, "n/a" where it cannot be taken."""
        self.seconds += READING
        note = ""
        value: float | str | None
        if mode == "four-wire" and not self.four_wire:
            value = "n/a"
        elif part:
            if part not in self.circuit.lifted:
                raise BenchError(f"{part} is on the board, not in the hand")
            pads = [self.pad(point) for point in (plus, minus)]
            value = self.meter.read(self._in_hand(part), mode, *pads)
            note = "off the board"
        elif mode == "drop":
            value = self._drop(plus, minus)
        elif mode == "voltage":
            value = "n/a"
        else:
            value = self.meter.read(self.circuit, mode, self.pad(plus), self.pad(minus))
        if not isinstance(value, str):
            self.readings += 1
            if value is not None and self.readings == self.case.wrong_reading:
                value *= self.case.wrong_factor
                self.wrong_line = len(self.log) + 2
        if not isinstance(value, str):
            text = text_of(value, mode)
        else:
            text = value
        self._write(
            "measure", part=part or "", mode=mode, plus=plus, minus=minus, value=text,
            note=note,
        )  # fmt: skip
        return value

    def _in_hand(self, ref: str) -> Circuit:
        """Return the part alone, as a circuit of its own."""
        alone = Board(
            self.board.name, {ref: self.board.parts[ref]}, "", {}, [], "", "", ""
        )
        return Circuit(alone, self.truth, 0)

    def _drop(self, plus: str, minus: str) -> float | str:
        if not self._supply:
            return "n/a"
        amps, red, black = self._supply
        pads = [self.pad(plus), self.pad(minus)]
        self.circuit.volts(amps, red, black)
        found = self.circuit.volts(amps, red, black, pads)[2:]
        return self.meter.drop(found[0] - found[1])

    def inject(self, plus: str, minus: str, volts_max: float, amps: float) -> str:
        """Drive a current into a short; return what got hot, "" for nothing."""
        self.seconds += INJECT
        red, black = self.pad(plus), self.pad(minus)
        self._overvoltage(self.circuit.net_of(red), volts_max)
        high, low = self.circuit.volts(1e-4, red, black)[:2]
        ohms = max((high - low) / 1e-4, 1e-4)
        amps = min(volts_max / ohms, max(amps, _INJECT_AMPS))
        self._supply = (amps, red, black)
        watts = self.circuit.heat(amps, red, black)
        hottest = max(watts, key=lambda ref: watts[ref], default="")
        hot = hottest if hottest and watts[hottest] > _HOT_WATTS else ""
        value = f"{amps * ohms:.3g}V {amps:.3g}A"
        self._write("inject", part=hot, plus=plus, minus=minus, value=value)
        return hot

    def _overvoltage(self, net: str, volts: float) -> None:
        """Kill the loads of every rail that this reaches above its nominal."""
        reached = self._joined(net)
        for rail in reached & self.board.rails.keys():
            if volts > self.board.rails[rail] * 1.001:
                for ref, part in self.board.parts.items():
                    if part.kind == "chip" and part.on(rail):
                        self.truth.health[ref].dead = True

    def _joined(self, net: str) -> set[str]:
        """Return the nets that links and faults tie to this one; loads do not."""
        near: dict[str, set[str]] = {}
        for ref, part in self.board.parts.items():
            if ref in self.circuit.lifted:
                continue
            for edge in self.truth.edges(ref):
                most = _FAULT_OHMS if edge.fault else _LINK_OHMS
                if edge.kind == "R" and edge.value < most and edge.model != "load":
                    one, other = part.net(edge.one), part.net(edge.other)
                    near.setdefault(one, set()).add(other)
                    near.setdefault(other, set()).add(one)
        reached, todo = {net}, [net]
        while todo:
            here = todo.pop()
            # ground joins all of them: it ends the way
            if here == self.board.ground and here != net:
                continue
            for more in near.get(here, set()) - reached:
                reached.add(more)
                todo.append(more)
        return reached

    def shorted(self) -> str | None:
        """Return a rail that is tied to ground or to a rail of other volts."""
        rails, ground = self.board.rails, self.board.ground
        for rail, volts in rails.items():
            reached = self._joined(rail)
            if ground in reached or any(
                abs(rails[net] - volts) > 0.02 * volts for net in reached & rails.keys()
            ):
                return rail
        return None

    # -- the iron

    def _part(self, ref: str) -> Any:
        if ref not in self.board.parts:
            raise BenchError(f"no part {ref!r} on this board")
        return self.board.parts[ref]

    def cost(self, ref: str) -> float:
        """Return the seconds to lift or to fit a part."""
        part = self._part(ref)
        if len(part.pins) == 2:
            return _TWO_PIN
        return _SWITCH if part.kind in ("mosfet", "bipolar", "diode") else _CHIP

    def lift(self, ref: str) -> None:
        """Take a part off."""
        if ref in self.circuit.lifted:
            raise BenchError(f"{ref} is off already")
        self.seconds += self.cost(ref)
        self.circuit.lifted.add(ref)
        self._change("lift", ref, "")

    def fit(self, ref: str) -> None:
        """Put the same part back; the place is clean already: half the time."""
        if ref not in self.circuit.lifted:
            raise BenchError(f"{ref} is on the board")
        self.seconds += self.cost(ref) / 2
        self.circuit.lifted.discard(ref)
        self._change("fit", ref, "same")

    def replace(self, refs: list[str]) -> None:
        """Fit new healthy parts; what is on the board is taken off first."""
        for ref in refs:
            self._part(ref)
            self.seconds += self.cost(ref) / (2 if ref in self.circuit.lifted else 1)
            if ref not in self.circuit.lifted:
                self._change("lift", ref, "")
            if not self.truth.health[ref].bad:
                self.needless.append(ref)
            self.replaced.append(ref)
            self.circuit.lifted.discard(ref)
            self.truth.renew(ref)
            self._change("fit", ref, "new")

    def _change(self, action: str, ref: str, value: str) -> None:
        self._supply = None
        # a healthy capacitor is nothing to a direct current: the deck stays
        if self.truth.edges(ref):
            self.circuit.changed()
        self._write(action, part=ref, value=value)

    # -- power

    @property
    def may_power(self) -> bool:
        """Whether a power-up is left."""
        return len(self.power_ups) < _POWER_UPS

    def state(self) -> str:
        """Return what a power-up would do: limit, dead, died or runs."""
        if self.circuit.lifted:
            return "dead"
        if self.shorted():
            return "limit"
        # a pass switch that conducts for good: its controller sees it, no start
        health = self.truth.health
        if any(h.dead for h in health.values()) or self._pass_shorted():
            return "dead"
        if self._killed():
            return "died"
        return "dead" if any(h.bad for h in health.values()) else "runs"

    def _pass_shorted(self) -> bool:
        return any(
            path[3] == "drain-source short"
            for stage in self.board.stages
            for side in stage.sides
            for ref in side.switches
            for path in self.truth.health[ref].paths
        )

    def _killed(self) -> list[Any]:
        """Return the sides that would not survive full power."""
        health = self.truth.health
        return [
            side
            for stage in self.board.stages
            for side in stage.sides
            if any(health[ref].weak for ref in side.switches)
            or any(path[0] == side.output for path in health[side.driver].paths)
            or any(health[ref].open for ref in side.resistors.values())
        ]

    def power(self, note: str = "") -> str:
        """Switch on; return runs, limit, dead or died.

        Raises
        ------
        BenchError
            If no power-up is left.
        """
        if not self.may_power:
            raise BenchError("no power-up is left")
        self.seconds += POWER
        result = self.state()
        if result == "died":
            for side in self._killed():
                break_side(self.truth, side, self._rng)
            self.circuit.changed()
        self._supply = None
        self.power_ups.append(result)
        entry = self.board.entry
        self._write(
            "power", plus=entry, minus=self.board.ground, value=result, note=note
        )
        return result

    def _write(self, action: str, **cells: str) -> None:
        row = dict.fromkeys(
            ("when", "action", "part", "mode", "plus", "minus", "value", "note"), ""
        )
        self.log.append(row | {"action": action} | cells)

    def save(self, path: Path) -> None:
        """Write the bench log."""
        with path.open("w", newline="", encoding="utf-8") as file:
            names = ("when", "action", "part", "mode", "plus", "minus", "value", "note")
            writer = csv.DictWriter(file, names, lineterminator="\n")
            writer.writeheader()
            writer.writerows(self.log)
