"""Which capacitors of a rail belong to which stage.

A netlist only says that forty capacitors stand on a rail.  Those drawn on the
stage's own sheet count; capacitors of decoupling size beside chips that live on
the rail do not; what several stages on one sheet share is divided: by place
where positions are known, else big ones to the converter that makes the rail and
the others by designator, since designers number by place (common practice, no
source).
"""

import math
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["with_capacitors"]

#: Up to this a capacitor beside a chip's supply pin is decoupling (CP).
_DECOUPLING_FARADS = 0.33e-6
#: A converter's own output capacitors are at least this part of the largest.
_LARGE_SHARE = 0.2
#: Stages on one rail and sheet beyond which nobody could tell (CP).
_CROWD = 16
#: A resistor this small in series damps a capacitor; more makes a filter (CP).
_DAMPING_MAX_OHMS = 10.0
_PASS = ("load switch", "back-to-back pass", "ideal diode")
_CONVERTERS = ("buck", "boost", "flyback")


@dataclass(frozen=True, slots=True)
class _Claim:
    """One end of a stage that wants capacitors of a net."""

    stage: int
    #: "input" or "output".
    end: str
    sheets: frozenset[str]
    #: Capacitors that the stage could have here, in the file's order.
    pool: tuple[str, ...]
    own: tuple[str, ...]


def with_capacitors(scene: Scene, stages: list[Stage]) -> list[Stage]:
    """Return the stages with their input and output capacitors filled in.

    Notes
    -----
    O(capacitors) times the stages that share a rail on one sheet.
    """
    crowd = _crowded(scene, stages)
    claims = [
        claim
        for place, stage in enumerate(stages)
        for claim in _claims(scene, place, stage, crowd)
    ]
    known: dict[tuple[int, str], tuple[str, ...]] = {}
    shared: list[tuple[_Claim, list[_Claim]]] = []
    wanting: dict[str, list[_Claim]] = {}
    for claim in claims:
        for ref in claim.pool:
            wanting.setdefault(ref, []).append(claim)
    for claim in claims:
        near = {id(c): c for ref in claim.pool for c in wanting[ref]}
        rivals = [other for other in near.values() if other is not claim]
        sisters = [r for r in rivals if _sisters(stages, claim, r)]
        if sisters:
            rivals = [rival for rival in rivals if rival not in sisters]
            if "bridge" in stages[claim.stage].kind:
                # The bus belongs to no leg; a leg's own loop capacitors do.
                common = {ref for sister in sisters for ref in sister.pool}
                pool = tuple(ref for ref in claim.pool if ref not in common)
                known[claim.stage, claim.end] = pool
                continue
        if _only_taps(stages, claim):
            if rivals:
                continue
        else:
            rivals = [r for r in rivals if not _only_taps(stages, r)]
        if rivals:
            shared.append((claim, rivals))
        else:
            known[claim.stage, claim.end] = claim.pool
    for _ in range(2):  # the second time every stage's other end is known
        known |= {
            (claim.stage, claim.end): _share(scene, stages, claim, rivals, known)
            for claim, rivals in shared
        }
    return [
        replace(
            stage,
            input_caps=known.get((place, "input"), ()),
            output_caps=known.get((place, "output"), ()),
            missing=(*stage.missing, *_lacking(scene, stage)),
        )
        for place, stage in enumerate(stages)
    ]


def _lacking(scene: Scene, stage: Stage) -> Iterable[str]:
    """Name the capacitors that a converter needs and nobody drew."""
    if not _makes(stage):
        return
    for end, nets in (
        ("input", (stage.input, stage.input_rail)),
        ("output", (stage.output, stage.output_rail)),
    ):
        drawn = any(
            net in scene.caps_to_ground
            or _stacked(scene, net)
            or scene.view.is_ground(net)
            for net in nets
            if net is not None
        )
        if nets[0] is not None and not drawn:
            yield f"{end} capacitors"


def _sisters(stages: list[Stage], one: _Claim, other: _Claim) -> bool:
    """Whether two claims are those of phases side by side: they share the bank."""
    a, b = stages[one.stage], stages[other.stage]
    return one.end == other.end and (a.kind, a.input, a.output_rail) == (
        b.kind,
        b.input,
        b.output_rail if "bridge" not in a.kind else a.output_rail,
    )


def _only_taps(stages: list[Stage], claim: _Claim) -> bool:
    """Whether a claim is the input of a pass transistor: it needs no capacitor."""
    stage = stages[claim.stage]
    outer = bool(stage.high_side or stage.low_side)
    return claim.end == "input" and stage.kind in _PASS and outer


def _own_parts(stage: Stage) -> tuple[str, ...]:
    """Parts of a stage by which its sheet and its place are told."""
    switches = (*stage.high_side, *stage.low_side)
    if switches:
        return tuple(dict.fromkeys((*switches, *stage.inductors)))
    return tuple(ref for ref in (stage.controller, *stage.inductors) if ref)


def _crowded(scene: Scene, stages: list[Stage]) -> set[str]:
    """Nets that too many stages of one sheet share for a division to mean much."""
    counts: Counter[tuple[str, str]] = Counter()
    for stage in stages:
        sheets = {scene.view.part(ref).sheet for ref in _own_parts(stage)}
        nets = {stage.input, stage.input_rail, stage.output, stage.output_rail}
        counts.update((net, sheet) for net in nets if net for sheet in sheets)
    return {net for (net, _), count in counts.items() if count > _CROWD}


def _claims(
    scene: Scene, place: int, stage: Stage, crowd: set[str]
) -> Iterable[_Claim]:
    view = scene.view
    own = _own_parts(stage)
    sheets = frozenset(view.part(ref).sheet for ref in own)
    tops = {
        e.low
        for node in stage.switch_nodes
        for e in scene.by_high.get(node, ())
        if e.ref in stage.low_side and not view.is_ground(e.low)
    }
    for end, nets in (
        ("input", (stage.input, stage.input_rail)),
        ("output", (stage.output, stage.output_rail)),
    ):
        if any(net in stage.switch_nodes for net in nets):
            continue
        pool: dict[str, None] = {}
        for net in dict.fromkeys(nets):
            if net is None or view.is_ground(net) or net in crowd:
                continue
            caps = [*scene.caps_to_ground.get(net, ()), *_stacked(scene, net)]
            for top in tops:
                caps += view.two_pin_parts_between(net, top, "capacitor")
            caps = [ref for ref in caps if view.part(ref).sheet in sheets]
            pool.update(dict.fromkeys(_undecoupled(scene, net, caps, own)))
        yield _Claim(place, end, sheets, tuple(pool), own)


def _stacked(scene: Scene, net: str) -> list[str]:
    """Capacitors in series, or over a switch in the return, from net to ground."""
    view = scene.view
    found: list[str] = []
    for _, middle in view.neighbours(net, "capacitor"):
        if view.is_ground(middle) or middle in view.rails:
            continue
        others = {ref for ref in view.refs(middle)}
        if any(view.kind(r) in ("inductor", "transformer", "chip") for r in others):
            continue
        ends = view.two_pin_parts_between(net, middle, "capacitor")
        down = [
            ref
            for ref, far in view.neighbours(middle, "capacitor")
            if view.is_ground(far)
        ]
        switched = any(
            e.switch and scene.to_ground(e.low) is not None
            for e in scene.by_high.get(middle, ())
        )
        damped = len(others) == 2 and any(
            view.is_ground(far) and (view.ohms(ref) or 0.0) <= _DAMPING_MAX_OHMS
            for ref, far in view.neighbours(middle, "resistor")
        )
        if down or switched or damped:
            found += [*ends, *down]
    return list(dict.fromkeys(found))


def _undecoupled(
    scene: Scene, net: str, caps: list[str], own: tuple[str, ...]
) -> list[str]:
    """Leave out decoupling where chips other than the stage's own are fed."""
    if not scene.fed_chips(net) - set(own):
        return caps
    large = [ref for ref in caps if (scene.farads(ref) or 1.0) > _DECOUPLING_FARADS]
    return large or caps


def _share(
    scene: Scene,
    stages: list[Stage],
    claim: _Claim,
    rivals: list[_Claim],
    known: dict[tuple[int, str], tuple[str, ...]],
) -> tuple[str, ...]:
    """Take this claim's part of capacitors that several stages want."""
    everybody = sorted((claim, *rivals), key=lambda c: (c.stage, c.end))
    if (placed := _by_place(scene, claim, rivals)) is not None:
        return placed
    wanted = {ref for rival in rivals for ref in rival.pool}
    mine = [ref for ref in claim.pool if ref not in wanted]
    pool = tuple(ref for ref in claim.pool if ref in wanted)
    part = _divide(scene, stages, claim, everybody, pool, known)
    return tuple(ref for ref in claim.pool if ref in mine or ref in part)


def _divide(
    scene: Scene,
    stages: list[Stage],
    claim: _Claim,
    everybody: list[_Claim],
    pool: tuple[str, ...],
    known: dict[tuple[int, str], tuple[str, ...]],
) -> tuple[str, ...]:
    makers = [c for c in everybody if c.end == "output"]
    if any(_makes(stages[c.stage]) for c in makers):
        makers = [c for c in makers if _makes(stages[c.stage])]
    takers = [c for c in everybody if c not in makers]
    if makers and takers:
        most = max((scene.farads(ref) or 0.0 for ref in pool), default=0.0)
        large = [r for r in pool if (scene.farads(r) or 0.0) >= _LARGE_SHARE * most]
        rest = [ref for ref in pool if ref not in large]
        if rest:
            pool = tuple(large if claim in makers else rest)
            everybody = makers if claim in makers else takers
    if len(everybody) == 1:
        return pool
    anchors = {id(c): _anchor(stages, c, known) for c in everybody}
    if not all(anchors.values()):
        return pool
    ranked = sorted(everybody, key=lambda c: min(anchors[id(c)]))
    if len(pool) == len(ranked):
        ordered = sorted(pool, key=_number)
        return (ordered[ranked.index(claim)],)
    return tuple(
        ref
        for ref in pool
        if all(
            _away(ref, anchors[id(claim)]) <= _away(ref, anchors[id(c)])
            for c in everybody
        )
    )


def _makes(stage: Stage) -> bool:
    """Whether a stage is a converter: its output needs large capacitors."""
    return any(word in stage.kind for word in _CONVERTERS)


def _anchor(
    stages: list[Stage], claim: _Claim, known: dict[tuple[int, str], tuple[str, ...]]
) -> tuple[int, ...]:
    """Numbers of the stage's capacitors elsewhere."""
    other = "output" if claim.end == "input" else "input"
    stage = stages[claim.stage]
    refs = [
        *known.get((claim.stage, other), ()),
        *(ref for ref in stage.bootstrap if re.match(r"C\d", ref)),
    ]
    return tuple(map(_number, refs))


def _away(ref: str, numbers: tuple[int, ...]) -> int:
    return min(abs(_number(ref) - number) for number in numbers)


def _number(ref: str) -> int:
    match = re.search(r"(\d+)\D*$", ref)
    return int(match[1]) if match else 0


def _by_place(
    scene: Scene, claim: _Claim, rivals: list[_Claim]
) -> tuple[str, ...] | None:
    """Capacitors nearer to this stage than to a rival; None without positions."""
    mine = _places(scene, claim.own)
    theirs = [place for rival in rivals for place in _places(scene, rival.own)]
    if not mine or not theirs:
        return None
    found = []
    for ref in claim.pool:
        here = _places(scene, (ref,))
        if not here:
            return None
        if _nearest(here[0], mine) <= _nearest(here[0], theirs):
            found.append(ref)
    return tuple(found)


def _places(scene: Scene, refs: Iterable[str]) -> list[tuple[float, float]]:
    found = []
    for ref in refs:
        part = scene.view.part(ref)
        if part.x_mm is not None and part.y_mm is not None:
            found.append((part.x_mm, part.y_mm))
    return found


def _nearest(here: tuple[float, float], places: list[tuple[float, float]]) -> float:
    return min(math.dist(here, place) for place in places)
