"""Put parts on an invented board: references, packages, places."""

import math
import random

from bench.model import Board, Part, Side, Stage

__all__ = ["Maker"]

#: Pads of the packages: number -> offset in mm.
_TWO = {"1": (-0.8, 0.0), "2": (0.8, 0.0)}
_BIG_TWO = {"1": (-2.6, 0.0), "2": (2.6, 0.0)}
_POWER8 = {str(n): (-2.6, -1.9 + 1.27 * (n - 1)) for n in range(1, 5)} | {
    str(n): (2.6, 1.9 - 1.27 * (n - 5)) for n in range(5, 9)
}
_LETTERS = {
    "resistor": "R",
    "capacitor": "C",
    "inductor": "L",
    "bead": "FB",
    "fuse": "F",
    "diode": "D",
    "zener": "D",
    "tvs": "D",
    "led": "D",
    "mosfet": "Q",
    "chip": "U",
    "connector": "J",
}


class Maker:
    """Collects the parts of one board on a sheet of ``size`` mm."""

    def __init__(self, name: str, seed: int, size: tuple[float, float]) -> None:
        self.name = name
        self.rng = random.Random(f"{name}/{seed}")
        self.size = size
        #: Small boards have fewer capacitors, large ones more.
        self.scale = 1.0
        self.parts: dict[str, Part] = {}
        self.rails: dict[str, float] = {}
        self.stages: list[Stage] = []
        self._count: dict[str, int] = {}
        self._taken: set[tuple[str, int, int]] = set()

    def _spot(
        self, at: tuple[float, float], side: str, need: int
    ) -> tuple[float, float]:
        """Return the nearest free place, on cells of 2.5 mm."""
        cx, cy = (int(at[0] / 2.5), int(at[1] / 2.5))
        for ring in range(120):
            spots = [
                (cx + dx, cy + dy)
                for dx in range(-ring, ring + 1)
                for dy in range(-ring, ring + 1)
                if max(abs(dx), abs(dy)) == ring
            ]
            for x, y in sorted(spots, key=lambda p: math.dist(p, (cx, cy))):
                cells = {(side, x + i, y + j) for i in range(need) for j in range(need)}
                inside = x >= 0 and y >= 0 and (x + need) * 2.5 <= self.size[0]
                if inside and not cells & self._taken:
                    self._taken |= cells
                    middle = need * 1.25
                    return round(x * 2.5 + middle, 2), round(y * 2.5 + middle, 2)
        raise RuntimeError("the board is full")

    def add(
        self,
        kind: str,
        value: str,
        pins: list[tuple[str, str, str]],
        at: tuple[float, float],
        side: str = "top",
        model: str = "",
        ohms: float | None = None,
    ) -> str:
        """Place a part near ``at``; return its reference."""
        letter = _LETTERS[kind]
        self._count[letter] = self._count.get(letter, 0) + 1
        ref = f"{letter}{self._count[letter]}"
        need, pads = 1, dict(_TWO)
        if kind == "mosfet" and len(pins) == 8:
            need, pads = 3, dict(_POWER8)
        elif kind == "mosfet":
            need, pads = 2, {"1": (-1.0, 0.95), "2": (1.0, 0.95), "3": (0.0, -0.95)}
        elif kind in ("inductor", "fuse"):
            need, pads = (3 if ohms and ohms < 0.05 else 2), dict(_BIG_TWO)
        elif kind == "connector":
            need = max(2, math.ceil(len(pins) / 2))
            pads = {n: (2.0 * i, 0.0) for i, (n, _, _) in enumerate(pins)}
        elif kind == "chip":
            row = math.ceil(len(pins) / 4)
            need = max(2, math.ceil((row * 0.65 + 2) / 2.5))
            pads = {}
            half = need * 1.25 - 0.8
            for i, (number, _, _) in enumerate(pins):
                edge, step = divmod(i, row)
                along = -half + 2 * half * (step + 0.5) / row
                pads[number] = [
                    (-half, along),
                    (along, half),
                    (half, -along),
                    (-along, -half),
                ][edge]
        x, y = self._spot(at, side, need)
        body = {8: "POWER8", 3: "SOT3"}.get(len(pins), "") if kind == "mosfet" else ""
        body = body or {"chip": f"QFN{len(pins)}", "connector": f"CON{len(pins)}"}.get(
            kind, "0805" if need == 1 else "BIG2"
        )
        self.parts[ref] = Part(
            ref, kind, value, tuple(pins), x, y, side, model, ohms, body, pads
        )
        return ref

    def two(
        self,
        kind: str,
        value: str,
        one: str,
        other: str,
        at: tuple[float, float],
        **more: object,
    ) -> str:
        """Place a two-pin part; diodes are drawn anode first."""
        names = ("", "")
        if kind in ("diode", "zener", "tvs", "led"):
            # pin 1 is the cathode on every diode of these boards
            return self.add(
                kind, value, [("1", "K", other), ("2", "A", one)], at, **more
            )
        return self.add(
            kind, value, [("1", names[0], one), ("2", names[1], other)], at, **more
        )

    def switch(
        self, value: str, drain: str, gate: str, source: str, at: tuple[float, float]
    ) -> str:
        """Place an N-channel switch in an eight-pad power package."""
        pins = [(str(n), "S", source) for n in (1, 2, 3)] + [("4", "G", gate)]
        pins += [(str(n), "D", drain) for n in (5, 6, 7, 8)]
        return self.add("mosfet", value, pins, at, model="nfet")

    def caps(
        self, rail: str, count: int, value: str, at: tuple[float, float], spread: float
    ) -> None:
        """Place a bank of capacitors from a rail to ground."""
        for _ in range(max(1, round(count * self.scale))):
            where = (
                min(self.size[0] - 4, max(0, self.rng.gauss(at[0], spread))),
                max(0, self.rng.gauss(at[1], spread)),
            )
            side = "bottom" if self.rng.random() < 0.35 else "top"
            self.two("capacitor", value, rail, "GND", where, side=side)

    def chip(
        self, value: str, pins: dict[str, str], at: tuple[float, float]
    ) -> tuple[str, dict[str, str]]:
        """Place a chip; return its reference and pin numbers by name.

        A name may carry a suffix after ``*`` so that it can occur twice.
        """
        rows = [
            (str(i), name.split("*")[0], net)
            for i, (name, net) in enumerate(pins.items(), 1)
        ]
        ref = self.add("chip", value, rows, at, model="chip")
        return ref, {name: str(i) for i, name in enumerate(pins, 1)}

    def board(self, core: str, main: str, entry: str) -> Board:
        """Return what was made."""
        return Board(
            self.name,
            self.parts,
            "GND",
            dict(self.rails),
            list(self.stages),
            core,
            main,
            entry,
        )

    def side(
        self,
        switches: list[str],
        resistors: dict[str, str],
        driver: tuple[str, str, str],
    ) -> Side:
        """Return a side of a stage."""
        return Side(switches, resistors, *driver)
