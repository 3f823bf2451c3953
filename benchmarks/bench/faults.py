"""What is wrong with a board before the technician sees it.

The shares between families are ours, no source; ranges and follow-ups are the
brief of the bench: see README.md.
"""

import math
import random
from dataclasses import dataclass, field

from bench.model import Board, Side
from bench.truth import Truth

__all__ = ["Case", "break_side", "draw"]

_SWITCH, _CAP, _CHIP = 0.55, 0.25, 0.20
_PUNCHED, _DRIVER, _RESISTOR_OPEN, _MATES = 0.8, 0.25, 0.15, 0.7


@dataclass(slots=True)
class Case:
    """One bench: a fault, or none."""

    seed: int
    kind: str = ""
    #: Parts that broke first, one for each independent fault.
    culprits: list[str] = field(default_factory=list)
    #: All that must be replaced: culprits, weak mates, what they took along.
    bad: set[str] = field(default_factory=set)
    healthy: bool = False
    #: Number of the reading that goes wrong by ten, None in most runs.
    wrong_reading: int | None = None
    wrong_factor: float = 1.0


#: Share of benches with one wrong reading.
_WRONG_READING = 0.10


def _log(rng: random.Random, low: float, high: float) -> float:
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def _pins(board: Board, ref: str) -> tuple[str, str, str]:
    part = board.parts[ref]
    drain, gate, source = (part.named(n) for n in ("D", "G", "S"))
    if not drain or not gate or not source:
        raise ValueError(f"found {ref} without drain, gate, source pins")
    return drain, gate, source


def short_switch(truth: Truth, ref: str, rng: random.Random) -> bool:
    """Short a switch drain to source; return whether its gate is punched too."""
    drain, gate, source = _pins(truth.board, ref)
    health = truth.health[ref]
    health.paths = [(drain, source, _log(rng, 0.05, 5.0), "drain-source short")]
    punched = rng.random() < _PUNCHED
    if punched:
        health.paths.append((gate, source, _log(rng, 5.0, 30.0), "gate short"))
    return punched


def break_side(truth: Truth, side: Side, rng: random.Random) -> None:
    """Kill all switches of a side, as a failed power-up does."""
    for ref in side.switches:
        short_switch(truth, ref, rng)


def _switch(truth: Truth, rng: random.Random, avoid: set[str]) -> str | None:
    """Short one switch of a stage, with what follows from it."""
    board = truth.board
    sides = [
        (3.0 if stage.rail == board.core else 1.0, side)
        for stage in board.stages
        for side in stage.sides
        if not avoid & set(side.switches)
    ]
    if not sides:
        return None
    side = rng.choices([s for _, s in sides], [w for w, _ in sides])[0]
    ref = rng.choice(side.switches)
    if short_switch(truth, ref, rng):
        if rng.random() < _DRIVER:
            truth.health[side.driver].paths.append(
                (side.output, side.back, _log(rng, 1.0, 40.0), "driver output dead")
            )
        if ref in side.resistors and rng.random() < _RESISTOR_OPEN:
            truth.health[side.resistors[ref]].open = True
    if rng.random() < _MATES:
        for mate in side.switches:
            if mate != ref:
                truth.health[mate].weak = True
    return ref


def _cap(truth: Truth, rng: random.Random, avoid: set[str]) -> str | None:
    """Short a capacitor or a clamp from a rail to ground."""
    board = truth.board
    found = []
    for part in board.parts.values():
        if part.kind not in ("capacitor", "tvs") or part.ref in avoid:
            continue
        nets = {net for _, _, net in part.pins}
        if board.ground in nets and nets & board.rails.keys():
            found.append(part)
    if not found:
        return None
    part = rng.choices(found, [5.0 if p.kind == "tvs" else 1.0 for p in found])[0]
    one, other = (pin for pin, _, _ in part.pins)
    truth.health[part.ref].paths.append((one, other, _log(rng, 0.03, 8.0), "short"))
    return part.ref


def _chip(truth: Truth, rng: random.Random, avoid: set[str]) -> str | None:
    """Short a supply pin of a chip to ground."""
    board = truth.board
    found = []
    for part in board.parts.values():
        ground = part.on(board.ground)
        if part.kind == "chip" and ground and part.ref not in avoid:
            rails = {
                net: pin for pin, _, net in reversed(part.pins) if net in board.rails
            }
            found += [(part.ref, pin, ground) for pin in rails.values()]
    if not found:
        return None
    ref, pin, ground = rng.choice(found)
    truth.health[ref].paths.append((pin, ground, _log(rng, 0.1, 15.0), "pin short"))
    return ref


def healthy_case(seed: int) -> bool:
    """Return whether the bench of this seed holds a healthy board."""
    return random.Random(f"healthy/{seed}").random() < 0.10


def wrong_case(name: str, seed: int) -> bool:
    """Return whether one reading is wrong on the bench of this board and seed."""
    return random.Random(f"fault/{name}/{seed}").random() < _WRONG_READING


def draw(truth: Truth, seed: int) -> Case:
    """Break the board of ``truth`` in place; return what was done."""
    rng = random.Random(f"fault/{truth.board.name}/{seed}")
    case = Case(seed)
    if rng.random() < _WRONG_READING:
        case.wrong_reading = rng.randint(1, 12)
        case.wrong_factor = rng.choice((10.0, 0.1))
    if healthy_case(seed):
        case.healthy, case.kind = True, "healthy, low core"
        return case
    count = 2 if rng.random() < 0.10 else 1
    names = []
    while len(case.culprits) < count:
        roll = rng.random()
        family, make = (
            ("switch", _switch)
            if roll < _SWITCH
            else ("capacitor or clamp", _cap)
            if roll < _SWITCH + _CAP
            else ("chip pin", _chip)
        )
        touched = {ref for ref, health in truth.health.items() if health.bad}
        ref = make(truth, rng, touched)
        if ref:
            case.culprits.append(ref)
            names.append(family)
    case.kind = " and ".join(names)
    case.bad = {ref for ref, health in truth.health.items() if health.bad}
    return case
