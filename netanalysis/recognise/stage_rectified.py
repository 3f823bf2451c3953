"""Legs with one transistor and a rectifier: buck, boost, inverting, SEPIC, flyback."""

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_build import (
    Command,
    command,
    refs_of,
    switching_stage,
)
from ohmtrail.netanalysis.recognise.stage_control import feedback_targets
from ohmtrail.netanalysis.recognise.stage_elements import beside
from ohmtrail.netanalysis.recognise.stage_flyback import flyback, rectifies
from ohmtrail.netanalysis.recognise.stage_legs import Coil, Leg, coils_at
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["rectified_stages"]


def rectified_stages(scene: Scene, legs: tuple[Leg, ...]) -> list[tuple[Leg, Stage]]:
    """Return stages of the legs with transistors on one side only.

    Notes
    -----
    O(legs) plus the walks of their gate chains.
    """
    found: list[tuple[Leg, Stage]] = []
    for leg in legs:
        stage = None
        if leg.high_switches and not leg.low_switches:
            stage = _high_switch(scene, leg)
        elif leg.low_switches and not leg.high_switches:
            stage = _low_switch(scene, leg)
        if stage is not None:
            found.append((leg, stage))
    # Flybacks on one transformer are compared: one may be the other's rectifier.
    on: dict[tuple[str, ...], list[Stage]] = {}
    for _, stage in found:
        if stage.kind == "flyback":
            on.setdefault(stage.inductors, []).append(stage)
    return [
        (leg, stage)
        for leg, stage in found
        if stage.kind != "flyback"
        or not any(rectifies(scene, stage, other) for other in on[stage.inductors])
    ]


def _high_switch(scene: Scene, leg: Leg) -> Stage | None:
    """Transistor above: buck, or inverting where the coil goes to ground."""
    bus = leg.high_switches[0].high
    if scene.view.is_ground(bus):
        return None
    plain = [coil for coil in leg.coils if not coil.transformer]
    if not plain:
        return None
    grounded = [coil for coil in plain if scene.to_ground(coil.far) is not None]
    freewheel = [d for d in leg.low_diodes if scene.to_ground(d.low) is not None]
    negative = [d for d in leg.low_diodes if scene.to_ground(d.low) is None]
    if grounded and negative:
        return _stage(
            scene, leg, "buck-boost", bus, negative[0].low, grounded, (negative[0],), ()
        )
    loaded = [coil for coil in plain if scene.smoothed(coil.far)]
    if not loaded or grounded:
        return None
    if _filter_only(scene, leg, loaded):
        return None
    told = command(scene, leg.switches)
    if freewheel:
        low = beside(freewheel)
        return _stage(scene, leg, "buck", bus, loaded[0].far, loaded, low, (), told)
    if not _switched_hard(scene, told):
        return None
    kind = "synchronous buck" if _drives_low(scene, told) else "buck"
    return _stage(
        scene,
        leg,
        kind,
        bus,
        loaded[0].far,
        loaded,
        (),
        ("low-side switch or diode",),
        told,
    )


def _filter_only(scene: Scene, leg: Leg, coils: list[Coil]) -> bool:
    """Whether a pass transistor is merely followed by a bead-like filter coil."""
    return not leg.low_diodes and leg.node in scene.caps_to_ground


def _switched_hard(scene: Scene, told: Command) -> bool:
    """Whether the driver is made for switching at the pace of a converter."""
    view = scene.view
    ref = told.driver
    if ref is None:
        return False
    return bool(
        view.pins_with_role(ref, "high gate", "low gate", "boot", "switch")
        or (told.controller and view.pins_with_role(told.controller, "feedback"))
    )


def _drives_low(scene: Scene, told: Command) -> bool:
    ref = told.driver
    return ref is not None and bool(scene.view.pins_with_role(ref, "low gate"))


def _drives_high(scene: Scene, told: Command) -> bool:
    ref = told.driver
    return ref is not None and bool(scene.view.pins_with_role(ref, "high gate"))


def _low_switch(scene: Scene, leg: Leg) -> Stage | None:
    """Transistor below: boost, SEPIC or flyback."""
    if scene.to_ground(leg.low_switches[0].low) is None:
        return None
    windings = [coil for coil in leg.coils if coil.transformer]
    if windings:
        return flyback(scene, leg, windings)
    coils = [
        coil
        for coil in leg.coils
        if scene.to_ground(coil.far) is None and not scene.view.is_ground(coil.far)
    ]
    if not coils:
        return None
    source = coils[0].far
    diodes = [
        d
        for d in leg.high_diodes
        if d.high != source and scene.rail_beyond(d.high) != scene.rail_beyond(source)
    ]
    smoothed = [d for d in diodes if scene.smoothed(d.high)]
    if smoothed and _hangs(scene, leg, source, smoothed[0].high):
        return _hanging_load(scene, leg, coils, list(beside(smoothed)))
    if smoothed:
        first = smoothed[0]
        output = tuple(d for d in smoothed if d.high == first.high)
        return _boost(scene, leg, coils, output)
    told = command(scene, leg.switches)
    if _drives_high(scene, told) and scene.smoothed(source):
        return switching_stage(
            scene,
            "synchronous buck",
            nodes=(leg.node,),
            input=None,
            output=source,
            high=(),
            low=leg.low_switches,
            inductors=tuple(dict.fromkeys(coil.ref for coil in coils)),
            because=(f"{told.driver} has a gate pin for a high side at {leg.node}",),
            missing=("high-side switch", "input"),
            told=told,
        )
    if any(d.high == source for d in leg.high_diodes):
        # The diode lies across the coil: a relay, a motor or a solenoid.
        return None
    return _sepic(scene, leg, coils)


def _hangs(scene: Scene, leg: Leg, net: str, rail: str) -> bool:
    """Whether a load lies between a supply and a coil's far end.

    A rectifier into the net would make it a source, as in front of a boost; a
    rail that is regulated is an output.
    """
    view = scene.view
    if scene.carries(net) or not scene.is_power(rail):
        return False
    if any(element.kind == "diode" for element in scene.by_high.get(net, ())):
        return False
    told = command(scene, leg.low_switches)
    chips = [ref for ref in (told.controller, told.driver) if ref]
    if any(rail in feedback_targets(scene, ref) for ref in chips):
        return False
    ends = set(view.linked_nets(rail))
    return any(
        ends.intersection(view.nets(ref))
        for ref in view.parts_on(net, "connector", "led", "capacitor", "other")
    )


def _hanging_load(
    scene: Scene, leg: Leg, coils: list[Coil], diodes: list[Element]
) -> Stage:
    """Buck with the switch below: load and coil hang from the supply (LED strings)."""
    return switching_stage(
        scene,
        "buck",
        nodes=(leg.node,),
        input=diodes[0].high,
        output=coils[0].far,
        high=tuple(diodes),
        low=leg.low_switches,
        inductors=tuple(dict.fromkeys(coil.ref for coil in coils)),
        because=(
            f"{diodes[0].ref} from {leg.node} back to the supply {diodes[0].high}",
            f"{coils[0].ref} from the load at {coils[0].far} to {leg.node}",
        ),
    )


def _boost(
    scene: Scene, leg: Leg, coils: list[Coil], diodes: tuple[Element, ...]
) -> Stage:
    return switching_stage(
        scene,
        "boost",
        nodes=(leg.node,),
        input=coils[0].far,
        output=diodes[0].high,
        high=diodes,
        low=leg.low_switches,
        inductors=tuple(dict.fromkeys(coil.ref for coil in coils)),
        because=(
            f"{coils[0].ref} from {coils[0].far} to {leg.node}",
            f"{diodes[0].ref} from {leg.node} to {diodes[0].high}",
        ),
    )


def _sepic(scene: Scene, leg: Leg, coils: list[Coil]) -> Stage | None:
    """Coil, transistor and a capacitor to a second node with coil and diode."""
    view = scene.view
    for cap, second in view.neighbours(leg.node, "capacitor"):
        if view.is_ground(second) or scene.is_power(second):
            continue
        back = [
            coil
            for coil in coils_at(scene, second)
            if scene.to_ground(coil.far) is not None
        ]
        diodes = [d for d in scene.by_low.get(second, ()) if scene.smoothed(d.high)]
        if back and diodes:
            refs = (*(c.ref for c in coils), *(c.ref for c in back))
            return switching_stage(
                scene,
                "buck-boost",
                nodes=(leg.node, second),
                input=coils[0].far,
                output=diodes[0].high,
                high=(diodes[0],),
                low=leg.low_switches,
                inductors=tuple(dict.fromkeys(refs)),
                because=(f"SEPIC: {cap} couples {leg.node} to {second}",),
            )
    return None


def _stage(
    scene: Scene,
    leg: Leg,
    kind: str,
    bus: str,
    output: str,
    coils: list[Coil],
    low: tuple[Element, ...],
    missing: tuple[str, ...],
    told: Command | None = None,
) -> Stage:
    return switching_stage(
        scene,
        kind,
        nodes=(leg.node,),
        input=bus,
        output=output,
        high=leg.high_switches,
        low=low,
        inductors=tuple(dict.fromkeys(coil.ref for coil in coils)),
        because=(
            f"{', '.join(refs_of(leg.high_switches))} from {bus} to {leg.node}",
            f"{coils[0].ref} from {leg.node} to {coils[0].far}",
        ),
        missing=missing,
        told=told,
    )
