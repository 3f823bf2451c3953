"""What is really inside the parts of one board: drawn once, then changed by events."""

import math
import random
import re
from dataclasses import dataclass, field

from bench.model import Board, Part

__all__ = ["CLASSES", "Edge", "Health", "Truth", "class_of", "number_of"]

#: Highest nominal volts of a class, its name, ohms of a healthy rail to ground.
#: Common practice, no source.
CLASSES = (
    (1.35, "core", 0.3, 30.0),
    (2.6, "memory and IO", 10.0, 500.0),
    (5.5, "logic", 50.0, 5e3),
    (11.0, "intermediate", 200.0, 20e3),
    (math.inf, "input", 1e3, 200e3),
)

_SUPPLY = re.compile(
    r"(VIN|VCC|VDD|VCORE|VOUT|OUT|IN|PVIN|AVIN|VBAT|VSUP|VS|V\+)\w*", re.I
)
_GROUND = re.compile(r"(A|P|D)?(GND|VSS)\w*|EP|PAD", re.I)
_UNITS = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}


def class_of(volts: float) -> tuple[str, float, float]:
    """Return name, least and most ohms of a healthy rail of this voltage."""
    return next((name, a, b) for top, name, a, b in CLASSES if volts <= top)


def number_of(text: str) -> float | None:
    """Return the ohms that a drawn resistor value means, None if unreadable."""
    word = re.split(r"[\s/,]", text.strip())[0].replace("Ω", "").replace("Ohm", "")
    word = word.replace("\u00b5", "u").rstrip("%")
    if match := re.fullmatch(r"(\d*)([RrLkKmMuE])(\d*)", word):
        whole, unit, rest = match.groups()
        if not whole and not rest:
            return None
        scale = {"R": 1.0, "r": 1.0, "E": 1.0, "L": 1e-3, "K": 1e3}.get(unit)
        scale = _UNITS[unit] if scale is None else scale
        return float(f"{whole or 0}.{rest or 0}") * scale
    if match := re.fullmatch(r"(\d+(?:\.\d+)?)([kKmMuR]?)", word):
        return float(match[1]) * {"": 1.0, "K": 1e3, "R": 1.0, **_UNITS}[match[2]]
    return None


@dataclass(slots=True)
class Health:
    """Faults of one part; all of them survive lifting, none survives replacing."""

    #: Extra paths: pin, pin, ohms, what it is.
    paths: list[tuple[str, str, float, str]] = field(default_factory=list)
    open: bool = False
    weak: bool = False
    #: Killed by a voltage above its own: never works again, reads healthy.
    dead: bool = False

    @property
    def bad(self) -> bool:
        """Whether the part must be replaced for the board to last."""
        return bool(self.paths) or self.open or self.weak or self.dead


@dataclass(frozen=True, slots=True)
class Edge:
    """An element of a part: "R" between two pins, or "D" from anode to cathode."""

    kind: str
    one: str
    other: str
    value: float
    model: str = ""
    fault: str = ""


class Truth:
    """Elements of every part of a board, healthy or not.

    Parameters
    ----------
    board : Board
        The board.
    seed : int
        Draws tolerances, windings, loads and idle impedances.
    core_low : bool
        Whether the core's load is at the low end of its class.
    """

    def __init__(self, board: Board, seed: int, core_low: bool = False) -> None:
        self.board = board
        self.rng = random.Random(f"truth/{board.name}/{seed}")
        self.health: dict[str, Health] = {ref: Health() for ref in board.parts}
        self.load_ohms: dict[str, float] = {}
        self._loads: dict[str, list[tuple[str, str, float]]] = {}
        self._draw_loads(core_low)
        self.own: dict[str, list[Edge]] = {
            ref: self._elements(part) for ref, part in board.parts.items()
        }

    def edges(self, ref: str) -> list[Edge]:
        """Return the elements of a part in its present health."""
        health = self.health[ref]
        own = [] if health.open else self.own[ref]
        return own + [Edge("R", a, b, r, "", what) for a, b, r, what in health.paths]

    def renew(self, ref: str) -> None:
        """Put a new part: healthy, with its own tolerances; loads stay in class."""
        self.health[ref] = Health()
        self.own[ref] = self._elements(self.board.parts[ref])

    def _log(self, low: float, high: float) -> float:
        return math.exp(self.rng.uniform(math.log(low), math.log(high)))

    def _draw_loads(self, core_low: bool) -> None:
        """Draw each rail's load, and spread it over the chips that live on it."""
        board = self.board
        for rail, volts in board.rails.items():
            _, low, high = class_of(volts)
            if rail == board.core and core_low:
                high = 1.0
            total = self._log(low, high)
            users = []
            for part in board.parts.values():
                if part.kind != "chip" or not (pin := part.on(rail)):
                    continue
                name = next(n for p, n, _ in part.pins if p == pin)
                if _SUPPLY.fullmatch(name) and self._ground_pin(part):
                    share = sum(net == rail for _, _, net in part.pins) ** 1.5
                    users.append((part.ref, pin, share * self._log(0.3, 3.0)))
            if not users:
                continue
            self.load_ohms[rail] = total
            whole = sum(share for _, _, share in users)
            for ref, pin, share in users:
                row = (
                    pin,
                    self._ground_pin(board.parts[ref]) or "",
                    total * whole / share,
                )
                self._loads.setdefault(ref, []).append(row)

    def _ground_pin(self, part: Part) -> str | None:
        return part.on(self.board.ground)

    def _elements(self, part: Part) -> list[Edge]:
        pins = [number for number, _, net in part.pins if net]
        kind, rng = part.kind, self.rng
        if kind in ("mosfet", "bipolar") and len(pins) >= 3:
            return self._switch(part)
        if kind == "chip":
            return self._chip(part)
        if kind in ("diode", "zener", "tvs", "led") and len(pins) == 2:
            cathode = part.named("K", "C") or pins[0]
            anode = part.named("A") or next(p for p in pins if p != cathode)
            model = part.model or {"led": "led", "tvs": "tvs"}.get(kind, "diode")
            return [Edge("D", anode, cathode, self._log(0.5, 2.0), model)]
        if len(pins) != 2:
            return []
        one, other = pins
        if kind == "resistor":
            ohms = part.ohms if part.ohms is not None else number_of(part.value)
            if ohms is None:
                return []
            if ohms < 0.5e-3:
                ohms = rng.uniform(1e-3, 20e-3)
            return [Edge("R", one, other, ohms * (1 + rng.uniform(-0.01, 0.01)))]
        if kind in ("inductor", "bead", "fuse"):
            ohms = part.ohms or self._log(5e-3, 0.1)
            return [Edge("R", one, other, ohms * rng.uniform(0.9, 1.1))]
        return []

    def _switch(self, part: Part) -> list[Edge]:
        drain, source = part.named("D", "C"), part.named("S", "E")
        if drain is None or source is None:
            return []
        if part.model == "pfet":
            drain, source = source, drain
        return [Edge("D", source, drain, self._log(0.4, 2.5), "body")]

    def _chip(self, part: Part) -> list[Edge]:
        """Return loads of supply pins, clamps of others, idle driver outputs."""
        edges = [
            Edge("R", pin, ground, ohms, "load")
            for pin, ground, ohms in self._loads.get(part.ref, ())
        ]
        ground = self._ground_pin(part)
        rails = self.board.rails
        outputs = {
            (side.output, side.back)
            for stage in self.board.stages
            for side in stage.sides
            if side.driver == part.ref
        }
        for output, back in sorted(outputs):
            edges.append(Edge("D", back, output, self._log(0.4, 2.5), "body"))
            if self.rng.random() < 0.7:
                edges.append(Edge("R", output, back, self._log(2e3, 100e3)))
        own = {
            stage.kind: stage for stage in self.board.stages if stage.chip == part.ref
        }
        for kind, stage in own.items():
            edges += self._inside(part, kind, stage.source, ground)
        supply = next((p for p, _, net in part.pins if net in rails), None)
        for pin, name, net in part.pins:
            if not net or net in rails or net == self.board.ground or not ground:
                continue
            if any(pin in pair for pair in outputs) or name in ("SW", "BOOT"):
                continue
            edges.append(Edge("D", ground, pin, self._log(0.3, 3.0), "clamp"))
            if supply and self.rng.random() < 0.5:
                edges.append(Edge("D", pin, supply, self._log(0.3, 3.0), "clamp"))
        return edges

    def _inside(
        self, part: Part, kind: str, source: str, ground: str | None
    ) -> list[Edge]:
        """Body diodes of the switches inside a chip."""
        into, node = part.on(source), part.named("SW", "LX")
        out = part.named("VOUT", "OUT")
        if kind == "integrated buck" and into and node and ground:
            return [
                Edge("D", node, into, self._log(0.4, 2.5), "body"),
                Edge("D", ground, node, self._log(0.4, 2.5), "body"),
            ]
        if kind in ("linear regulator", "load switch") and into and out:
            return [Edge("D", out, into, self._log(0.4, 2.5), "body")]
        return []
