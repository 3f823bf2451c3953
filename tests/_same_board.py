"""Two files of one board: what is recognised on both, put side by side.

Nets are paired by their pins, since formats name (and cut off) them differently.
"""

from collections import Counter
from dataclasses import dataclass, field

from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.short import find_short

__all__ = ["BOARDS", "Likeness", "compare", "paired_nets"]

#: Boards of the corpus with a layout of the same revision as the schematic.
BOARDS = (
    "bitaxe-supra",
    "bitaxe-ultra",
    "bms-c1",
    "cheap-focer-2",
    "mjpower-ss",
    "moteus-c1",
    "mppt-1210-hus",
    "mppt-2420-hc",
    "mppt-2420-lc",
    "mppt-2420-rc",
    "reform1-motherboard",
    "vesc4",
)


def paired_nets(first: Board, second: Board) -> dict[str, str]:
    """Return each net of the second board with the net of the first it is."""
    there = {(p.ref, p.number): p.net for part in first.parts for p in part.pins}
    counts = Counter(
        (pin.net, there[key])
        for part in second.parts
        for pin in part.pins
        if (key := (pin.ref, pin.number)) in there and pin.net and there[key]
    )
    paired: dict[str, str] = {}
    for (theirs, ours), _ in counts.most_common():
        paired.setdefault(theirs, ours)
    return paired


@dataclass
class Likeness:
    """How far a second file gives what the first gives."""

    sets: tuple[int, int, int]
    stages: tuple[int, int, int]
    chains: tuple[int, int]
    suspects: tuple[int, int]
    notes: list[str] = field(default_factory=list)

    def line(self) -> str:
        """Return the figures in words."""
        return (
            f"sets {self.sets[0]} of {self.sets[1]} and {self.sets[2]} more, "
            f"stages {self.stages[0]} of {self.stages[1]} and {self.stages[2]} more, "
            f"gate chains {self.chains[0]} of {self.chains[1]}, "
            f"rails with the same suspects {self.suspects[0]} of {self.suspects[1]}"
        )


def _key(stage: Stage, name) -> tuple:
    switches = frozenset((*stage.high_side, *stage.low_side))
    if switches:
        return stage.kind, frozenset(stage.high_side), frozenset(stage.low_side)
    return stage.kind, stage.controller, name(stage.output)


def _chains(stage: Stage) -> set:
    return {(c.gate, c.driver_pin, c.series) for c in stage.gate_chains}


def compare(first: Circuit, second: Circuit) -> Likeness:
    """Return what the second circuit has of the first: sets, stages, chains, suspects.

    A stage is the same when kind and switches are, or, without switches, kind, chip
    and output.  Suspects of a rail are the same when all refs are; parts that the
    second file does not have count neither way.
    """
    paired = paired_nets(first.board, second.board)
    sets = [
        {(s.kind, frozenset(s.parts), s.gates) for s in one.parallel_sets}
        for one in (first, second)
    ]
    ours = {_key(s, lambda n: n): s for s in first.stages}
    theirs = {_key(s, lambda n: paired.get(n, n)): s for s in second.stages}
    both = ours.keys() & theirs.keys()
    chains = [len(_chains(ours[key]) & _chains(theirs[key])) for key in both]
    wanted = sum(len(s.gate_chains) for s in first.stages)
    notes = [f"set lacks: {sorted(s[1])}" for s in sets[0] - sets[1]]
    notes += [f"set more: {sorted(s[1])}" for s in sets[1] - sets[0]]
    notes += [f"stage lacks: {ours[key].id}" for key in ours.keys() - theirs.keys()]
    notes += [f"stage more: {theirs[key].id}" for key in theirs.keys() - ours.keys()]
    known = {part.ref for part in second.board.parts}
    back = {net: other for other, net in paired.items()}
    same = asked = 0
    for rail in first.rails:
        if rail.net in first.ground or rail.net not in back:
            continue
        if back[rail.net] in second.ground:
            continue
        asked += 1
        here = {one.ref for one in find_short(first, rail.net).parts} & known
        there = {one.ref for one in find_short(second, back[rail.net]).parts}
        same += here == there
        if here != there:
            notes.append(
                f"suspects of {rail.net}: {len(here - there)} lack, "
                f"{len(there - here)} more"
            )
    return Likeness(
        sets=(len(sets[0] & sets[1]), len(sets[0]), len(sets[1] - sets[0])),
        stages=(len(both), len(ours), len(theirs.keys() - both)),
        chains=(sum(chains), wanted),
        suspects=(same, asked),
        notes=notes,
    )
