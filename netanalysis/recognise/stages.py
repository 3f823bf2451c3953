"""Switching stages: every family of recogniser, in a fixed order.

Legs come first (a transistor in a leg is no pass transistor), then chips with a
coil, followers, pass transistors, and chips that pass power without a coil.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.stage_bridge import bridge_stages, is_driver_pair
from ohmtrail.netanalysis.recognise.stage_caps import with_capacitors
from ohmtrail.netanalysis.recognise.stage_integrated import integrated_stages
from ohmtrail.netanalysis.recognise.stage_legs import find_legs
from ohmtrail.netanalysis.recognise.stage_linear import (
    follower_stages,
    pass_chip_stages,
)
from ohmtrail.netanalysis.recognise.stage_module import (
    manager_regulators,
    module_stages,
)
from ohmtrail.netanalysis.recognise.stage_offline import offline_flybacks
from ohmtrail.netanalysis.recognise.stage_pass import pass_stages
from ohmtrail.netanalysis.recognise.stage_pump import (
    chip_pumps,
    driven_pumps,
    pumped_leg,
)
from ohmtrail.netanalysis.recognise.stage_rectified import rectified_stages
from ohmtrail.netanalysis.recognise.stage_scene import Scene, survey

__all__ = ["find_stages"]


def find_stages(view: CircuitView) -> tuple[Stage, ...]:
    """Return the stages of a board, one entry for each phase or channel.

    Parameters
    ----------
    view : CircuitView
        With kinds, roles, ground, links and the first rails.

    Returns
    -------
    tuple of Stage
        In the order of the board's parts.  What a stage of its kind has and
        this one seems not to have stands in `Stage.missing`.

    Notes
    -----
    O(pins) plus, for each transistor, the parts within a few steps of its gate.
    """
    scene = survey(view)
    legs = find_legs(scene)
    used: set[tuple[str, int]] = set()
    stages: list[Stage] = []
    for leg in legs:
        if leg.high_switches and leg.low_switches and is_driver_pair(scene, leg):
            used |= {(e.ref, e.unit) for e in leg.switches}
    pumps = [(leg, pumped_leg(scene, leg)) for leg in legs]
    pumped = {leg.node for leg, stage in pumps if stage is not None}
    legs = tuple(leg for leg in legs if leg.node not in pumped)
    for leg, stage in (
        *pumps,
        *bridge_stages(scene, legs),
        *rectified_stages(scene, legs),
    ):
        if stage is None:
            continue
        stages.append(stage)
        used |= {(e.ref, e.unit) for e in leg.switches}
        used |= _units(scene, (*stage.high_side, *stage.low_side), stage.switch_nodes)
    taken = {node for stage in stages for node in stage.switch_nodes}
    offline = offline_flybacks(scene, taken)
    stages += offline
    taken |= {node for stage in offline for node in stage.switch_nodes}
    stages += integrated_stages(scene, taken, {ref for ref, _ in used})
    followers = follower_stages(scene, used)
    stages += followers
    used |= {
        (ref, e.unit)
        for stage in followers
        for ref in stage.high_side
        for e in scene.by_ref.get(ref, ())
    }
    made = {net for stage in stages for net in (stage.output, stage.output_rail)}
    stages += pass_stages(scene, used, made)
    chips = {ref for stage in stages for ref in (stage.controller, stage.driver) if ref}
    pumps_inside = list(chip_pumps(scene))
    chips |= {stage.controller for stage in pumps_inside if stage.controller}
    modules = module_stages(scene, chips)
    stages += modules
    chips |= {stage.controller for stage in modules if stage.controller}
    stages += manager_regulators(scene, stages)
    stages += pass_chip_stages(scene, chips)
    stages += pumps_inside
    shaken = list(driven_pumps(scene))
    stages += [stage for stage in shaken if not taken & set(stage.switch_nodes)]
    return _named(view, with_capacitors(scene, stages))


def _units(
    scene: Scene, refs: Iterable[str], nodes: tuple[str, ...]
) -> set[tuple[str, int]]:
    """Units of these parts that end on one of the nodes."""
    wanted = set(refs)
    return {
        (e.ref, e.unit) for node in nodes for e in scene.at(node) if e.ref in wanted
    }


def _named(view: CircuitView, stages: list[Stage]) -> tuple[Stage, ...]:
    """Sort by the board's order of parts and give every stage its name."""
    order = {part.ref: place for place, part in enumerate(view.board.parts)}

    def place(stage: Stage) -> int:
        refs = (
            *stage.high_side,
            *stage.low_side,
            stage.controller or stage.driver or "",
        )
        return min((order[ref] for ref in refs if ref in order), default=len(order))

    named = []
    seen: Counter[str] = Counter()
    for stage in sorted(stages, key=place):
        where = (stage.switch_nodes or (stage.output or stage.input or "?",))[0]
        name = f"{stage.kind} at {where}"
        seen[name] += 1
        if seen[name] > 1:
            name = f"{name} ({seen[name]})"
        named.append(replace(stage, id=name))
    return tuple(named)
