"""Which parts a suggestion means: "the gate resistors", "the load on VCORE"."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ohmtrail.netanalysis.circuit import Circuit, GateChain, Stage
from ohmtrail.netanalysis.diagnosis.claim_loads import loads_on, processors
from ohmtrail.netanalysis.diagnosis.claim_words import ClaimError
from ohmtrail.netanalysis.diagnosis.epochs import timeline
from ohmtrail.netanalysis.diagnosis.log import Log
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.memberships import parallel_mates, stage_refs

__all__ = ["Focus", "Wanted", "focus_of", "parts_meant", "phase_stages"]

SWITCHES = ("mosfet", "igbt", "bipolar")
_KINDS = {
    "switch": SWITCHES,
    "capacitor": ("capacitor",),
    "resistor": ("resistor",),
    "shunt": ("resistor",),
    "inductor": ("inductor",),
    "diode": ("diode", "zener", "tvs"),
    "fuse": ("fuse",),
    "bead": ("bead",),
    "chip": ("chip",),
    "processor": ("chip",),
    "regulator": ("chip",),
    "connector": ("connector",),
    "led": ("led",),
    "crystal": ("crystal",),
    "relay": ("relay",),
    "transformer": ("transformer",),
}
#: A bare kind ("a capacitor") that stands for more parts than this names nobody.
_MOST = 64


@dataclass(frozen=True, slots=True)
class Focus:
    """What the log is about: parts in the order of how much it turns on them."""

    levels: tuple[tuple[str, tuple[str, ...]], ...] = ()
    #: Nets read to ground, in the order of the log.
    nets: tuple[str, ...] = ()


@dataclass(slots=True)
class Wanted:
    """One noun of a suggestion with what stands around it."""

    head: str = ""
    adjectives: set[str] = field(default_factory=set)
    plural: bool = False
    #: Refs that the noun belongs to ("the gate resistor of Q501").
    owners: list[str] = field(default_factory=list)
    nets: list[str] = field(default_factory=list)
    stages: list[Stage] | None = None
    notes: list[str] = field(default_factory=list)

    @property
    def named(self) -> bool:
        """Whether anything was asked for."""
        return bool(self.head or self.adjectives)


def focus_of(circuit: Circuit, view: CircuitView, log: Log) -> Focus:
    """Return what a log turns on, for nouns that do not say whose they are."""
    moved: dict[str, None] = {}
    looked: dict[str, None] = {}
    probed: dict[str, None] = {}
    nets: dict[str, None] = {}
    for placed in timeline(log.events).placed:
        event = placed.event
        if event.part is not None:
            bad = event.action == "inject" or event.word in ("burnt", "cracked", "wet")
            if event.action in ("lift", "fit") or event.off_the_board:
                moved[event.part] = None
            elif bad:
                looked[event.part] = None
        for point in (event.plus, event.minus):
            if point is not None and point.pin is not None:
                probed[point.pin.ref] = None
        ends = [net for net in event.nets if net is not None]
        if (
            event.action == "measure"
            and len(ends) == 2
            and any(view.is_ground(net) for net in ends)
        ):
            nets.update(dict.fromkeys(net for net in ends if not view.is_ground(net)))
    levels = (
        ("which was lifted or fitted", tuple(moved)),
        ("which looks bad or got hot", tuple(looked)),
        ("which was measured", tuple(probed)),
    )
    return Focus(tuple((why, refs) for why, refs in levels if refs), tuple(nets))


def phase_stages(circuit: Circuit, label: str) -> list[Stage]:
    """Return the stages called phase A, 2, ..., by their names, else by their order.

    Raises
    ------
    ClaimError
        If there is no such phase.
    """
    wanted = re.compile(rf"(?:phase|channel|leg|ph)[\s_-]*{re.escape(label)}\b", re.I)
    named = [
        one
        for one in circuit.stages
        if any(wanted.search(text) for text in (one.id, *one.switch_nodes))
    ]
    if named:
        return named
    number = int(label) - 1 if label.isdigit() else ord(label.casefold()) - ord("a")
    groups: dict[tuple[str, str | None], list[Stage]] = {}
    for one in circuit.stages:
        groups.setdefault((one.kind, one.output_rail or one.output), []).append(one)
    several = [group for group in groups.values() if len(group) > 1]
    found = [group[number] for group in several if 0 <= number < len(group)]
    if not found:
        count = max((len(group) for group in several), default=0)
        raise ClaimError(
            f"found phase {label} in the suggestion, expected one of {count} phases"
            if count
            else f"found phase {label} in the suggestion; no rail has several phases",
            (f"phase {label}",),
        )
    return found


def parts_meant(
    circuit: Circuit, view: CircuitView, wanted: Wanted, focus: Focus
) -> tuple[tuple[str, ...], str]:
    """Return the parts that a noun means, and in words how it was narrowed.

    Parameters
    ----------
    circuit : Circuit
    view : CircuitView
    wanted : Wanted
    focus : Focus
        A noun that belongs to stages and says not to which is first taken to be
        about what the log moved, then about what it found bad or measured.

    Raises
    ------
    ClaimError
        If nothing on the board is meant, or a bare kind could be anything.
    """
    named = _all(circuit, view, wanted, wanted.owners)
    every = tuple(ref for ref in dict.fromkeys(named) if view.fitted(ref))
    told = wanted.owners or wanted.nets or wanted.stages is not None
    if told or len(every) == 1:
        if not every:
            raise ClaimError(
                f"the suggestion means {_say(wanted)}; the board has none there",
                (_say(wanted),),
            )
        return _sized(view, wanted, every), ""
    for why, refs in focus.levels:
        owners = list(refs)
        if wanted.plural or wanted.head == "pair":
            owners += [mate for ref in refs for mate in parallel_mates(circuit, ref)]
        mine = tuple(
            ref
            for ref in dict.fromkeys(_all(circuit, view, wanted, owners))
            if view.fitted(ref)
        )
        if mine:
            near = [ref for ref in refs if _all(circuit, view, wanted, [ref])]
            words = f"{_say(wanted)} taken as that of {', '.join(near[:4])}, {why}"
            return _sized(view, wanted, mine), words
    if not every:
        raise ClaimError(
            f"the suggestion means {_say(wanted)}; nothing on the board is one",
            (_say(wanted),),
        )
    if len(every) > _MOST:
        raise ClaimError(
            f"{_say(wanted)} can be any of {len(every)} parts; say of which rail, "
            "stage or part",
            (_say(wanted),),
            every[:4],
        )
    return _sized(view, wanted, every), ""


def _say(wanted: Wanted) -> str:
    names = {"pulldown": "pull-down", "high": "high side", "low": "low side"}
    words = [names.get(one, one) for one in sorted(wanted.adjectives)]
    return " ".join((*words, wanted.head)).strip()


def _sized(view: CircuitView, wanted: Wanted, refs: Sequence[str]) -> tuple[str, ...]:
    """Keep the biggest, or the smallest, by pins; all of those that tie."""
    size = {ref: len(view.part(ref).pins) for ref in refs}
    if "big" in wanted.adjectives and wanted.head in ("chip", "load", "regulator"):
        return tuple(ref for ref in refs if size[ref] == max(size.values()))
    if "small" in wanted.adjectives and wanted.head in ("chip", "load", "regulator"):
        return tuple(ref for ref in refs if size[ref] == min(size.values()))
    return tuple(refs)


def _all(
    circuit: Circuit, view: CircuitView, wanted: Wanted, owners: Sequence[str]
) -> list[str]:
    """Return every part that the noun can mean, of these owners if there are any."""
    adj, head = wanted.adjectives, wanted.head
    if head == "mate" or "other" in adj:
        found = [mate for ref in owners for mate in parallel_mates(circuit, ref)]
        return [ref for ref in found if ref not in owners]
    if head == "pair":
        return _pairs(circuit, view, wanted, owners)
    stages = _stages(circuit, wanted, owners)
    if adj & {"gate", "pulldown"} and head in ("resistor", "bead", "diode", ""):
        return _gate_parts(view, wanted, stages, owners)
    if adj & {"boot", "sense"} or head in ("shunt", "snubber"):
        return _stage_group(view, wanted, stages)
    if adj & {"high", "low"} and head in ("switch", "") and "gate" not in adj:
        return _sides(view, wanted, stages)
    if adj & {"input", "output"} and head == "capacitor":
        return _caps(view, wanted, stages, owners)
    if head == "driver" or (adj == {"output"} and not head):
        return [one.driver for one in stages if one.driver is not None]
    if head == "controller":
        return [one.controller for one in stages if one.controller is not None]
    if head == "processor":
        return processors(circuit, view)
    if head == "load":
        return _loads(circuit, view, wanted, owners)
    return _kind(circuit, view, wanted, owners)


def _stages(circuit: Circuit, wanted: Wanted, owners: Sequence[str]) -> list[Stage]:
    stages = wanted.stages if wanted.stages is not None else list(circuit.stages)
    if wanted.nets:
        nets = set(wanted.nets)
        stages = [
            one
            for one in stages
            if nets & {one.input, one.output, one.input_rail, one.output_rail}
            | (nets & set(one.switch_nodes))
        ]
    if owners:
        stages = [one for one in stages if stage_refs(one) & set(owners)]
    return stages


def _pairs(
    circuit: Circuit, view: CircuitView, wanted: Wanted, owners: Sequence[str]
) -> list[str]:
    stages = wanted.stages
    mine = {ref for one in stages or () for ref in stage_refs(one)}
    found: list[str] = []
    for one in circuit.parallel_sets:
        if one.kind not in SWITCHES and "switch" not in wanted.adjectives:
            continue
        if owners and not set(owners) & set(one.parts):
            continue
        if stages is not None and not mine & set(one.parts):
            continue
        if wanted.nets and not any(
            net in wanted.nets for ref in one.parts for net in view.nets(ref)
        ):
            continue
        if not _on_side(circuit, wanted, one.parts):
            continue
        found += one.parts
    return found


def _on_side(circuit: Circuit, wanted: Wanted, refs: Iterable[str]) -> bool:
    sides = wanted.adjectives & {"high", "low"}
    if not sides:
        return True
    return any(
        set(refs) & set(one.high_side if "high" in sides else one.low_side)
        for one in circuit.stages
    )


def _chains(
    wanted: Wanted, stages: Iterable[Stage], owners: Sequence[str]
) -> list[GateChain]:
    made = []
    for stage in stages:
        sides: set[str] = set()
        if "high" in wanted.adjectives:
            sides.update(stage.high_side)
        if "low" in wanted.adjectives:
            sides.update(stage.low_side)
        chains = [
            one
            for one in stage.gate_chains
            if not wanted.adjectives & {"high", "low"} or one.switch in sides
        ]
        own = [one for one in chains if one.switch in owners]
        made += own or chains
    return made


def _gate_parts(
    view: CircuitView, wanted: Wanted, stages: Iterable[Stage], owners: Sequence[str]
) -> list[str]:
    found: list[str] = []
    for chain in _chains(wanted, stages, owners):
        if "pulldown" in wanted.adjectives:
            found += chain.pull_down
        else:
            found += (*chain.series, *chain.turn_off)
    kinds = _KINDS.get(wanted.head or "resistor", ())
    return [ref for ref in found if view.kind(ref) in kinds]


def _stage_group(
    view: CircuitView, wanted: Wanted, stages: Iterable[Stage]
) -> list[str]:
    found: list[str] = []
    for stage in stages:
        if "boot" in wanted.adjectives:
            found += stage.bootstrap
        elif "sense" in wanted.adjectives or wanted.head == "shunt":
            found += stage.current_sense
        else:
            found += stage.snubber
    kinds = _KINDS.get(wanted.head)
    return [ref for ref in found if kinds is None or view.kind(ref) in kinds]


def _sides(view: CircuitView, wanted: Wanted, stages: Iterable[Stage]) -> list[str]:
    found: list[str] = []
    for stage in stages:
        if "high" in wanted.adjectives:
            found += stage.high_side
        if "low" in wanted.adjectives:
            found += stage.low_side
    return [ref for ref in found if view.kind(ref) in SWITCHES]


def _caps(
    view: CircuitView, wanted: Wanted, stages: Iterable[Stage], owners: Sequence[str]
) -> list[str]:
    found: list[str] = []
    for stage in stages:
        if "input" in wanted.adjectives:
            found += stage.input_caps
        if "output" in wanted.adjectives:
            found += stage.output_caps
    if not found and not owners:
        for net in wanted.nets:
            found += view.parts_on(net, "capacitor")
    return found


def _loads(
    circuit: Circuit, view: CircuitView, wanted: Wanted, owners: Sequence[str]
) -> list[str]:
    """Return what lives on a rail; of a switch, on the rail that its stage makes."""
    nets = list(wanted.nets)
    if not nets:
        for stage in _stages(circuit, wanted, owners):
            output = stage.output_rail or stage.output
            nets += [output] if output else []
    return loads_on(circuit, view, nets)


def _kind(
    circuit: Circuit, view: CircuitView, wanted: Wanted, owners: Sequence[str]
) -> list[str]:
    kinds = _KINDS.get(wanted.head, ())
    if wanted.head == "regulator":
        nets = set(wanted.nets)
        chips = [rail.source for rail in circuit.rails if not nets or rail.net in nets]
        if owners or wanted.stages is not None:
            chips = [one.controller for one in _stages(circuit, wanted, owners)]
        return [ref for ref in chips if ref is not None and view.kind(ref) in kinds]
    if wanted.head == "switch" and any(view.kind(ref) in kinds for ref in owners):
        mine = [ref for ref in owners if view.kind(ref) in kinds]
        mates = [mate for ref in mine for mate in parallel_mates(circuit, ref)]
        return [*mine, *mates] if wanted.plural else mine
    if wanted.nets:
        there = [ref for net in wanted.nets for ref in view.parts_on(net, *kinds)]
        # A chip that lives on a rail, rather than one that only senses it.
        live = _loads(circuit, view, wanted, owners) if wanted.head == "chip" else []
        return [ref for ref in live if view.kind(ref) in kinds] or there
    if wanted.stages is not None or owners:
        stages = _stages(circuit, wanted, owners)
        inside = {ref for one in stages for ref in stage_refs(one)}
        return [
            part.ref
            for part in circuit.board.parts
            if part.ref in inside and view.kind(part.ref) in kinds
        ]
    return [part.ref for part in circuit.board.parts if view.kind(part.ref) in kinds]
