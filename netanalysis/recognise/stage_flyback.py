"""Flybacks with a transistor: primary switch, rectifier of either sort, clamp."""

from dataclasses import replace

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_back_to_back import upstream
from ohmtrail.netanalysis.recognise.stage_build import command, switching_stage
from ohmtrail.netanalysis.recognise.stage_control import feedback_targets
from ohmtrail.netanalysis.recognise.stage_legs import Coil, Leg, coils_at, fed_end
from ohmtrail.netanalysis.recognise.stage_parts import clamp_parts, snubber_parts
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["flyback", "rectifies"]


def flyback(scene: Scene, leg: Leg, windings: list[Coil]) -> Stage | None:
    """Winding from a supply to the transistor, rectifier at another winding."""
    view = scene.view
    transformer = windings[0].ref
    source = fed_end(scene, windings)
    if source is None:
        return None
    outputs: list[tuple[int, Element]] = []
    for net in view.nets(transformer):
        if net in (leg.node, source):
            continue
        for element in scene.by_low.get(net, ()):
            if element.kind == "diode" and scene.smoothed(element.high):
                size = len(scene.caps_to_ground.get(element.high, ()))
                aux = _feeds(scene, leg, element.high)
                outputs.append((size - (100 if aux else 0), element))
    rectifier = max(outputs, key=lambda pair: pair[0])[1] if outputs else None
    output = rectifier.high if rectifier is not None else None
    if rectifier is None and (found := _switched_rectifier(scene, transformer, leg)):
        rectifier, output = found
    missing = () if rectifier is not None else ("rectifier of the secondary",)
    snubber = clamp_parts(scene, leg.node, source)
    if rectifier is not None:
        for end in (rectifier.low, rectifier.high):
            if end != output and not scene.view.is_ground(end):
                snubber += snubber_parts(scene, end, (output,))
    second = (rectifier,) if rectifier is not None and rectifier.switch else ()
    stage = switching_stage(
        scene,
        "flyback",
        nodes=(leg.node,),
        input=source,
        output=output,
        high=second,
        low=leg.low_switches,
        inductors=(transformer,),
        because=(
            f"{transformer} from {source} to {leg.node}",
            f"rectifier {rectifier.ref}" if rectifier is not None else "no rectifier",
        ),
        missing=missing,
        told=command(scene, (*leg.low_switches, *second)),
    )
    return replace(stage, snubber=tuple(dict.fromkeys((*snubber, *stage.snubber))))


def _switched_rectifier(
    scene: Scene, transformer: str, leg: Leg
) -> tuple[Element, str] | None:
    """Return the transistor that rectifies another winding, and the output.

    It stands in the winding's positive end (source at the winding) or in its
    return (drain at the winding, the other end being the output).
    """
    view = scene.view
    for coil_net in view.nets(transformer):
        if coil_net == leg.node or view.is_ground(coil_net):
            continue
        for element in scene.by_low.get(coil_net, ()):
            if element.switch and scene.smoothed(element.high):
                return element, element.high
        for element in scene.by_high.get(coil_net, ()):
            if not element.switch or element in leg.low_switches:
                continue
            for coil in coils_at(scene, coil_net):
                far = coil.far
                if coil.ref == transformer and far not in (element.low, leg.node):
                    if _winding_smoothed(scene, far, element.low):
                        return element, far
    return None


def _winding_smoothed(scene: Scene, net: str, ground: str) -> bool:
    """Whether capacitors join an output to ground, or to its own return."""
    return net in scene.caps_to_ground or bool(
        scene.view.two_pin_parts_between(net, ground, "capacitor")
    )


def _feeds(scene: Scene, leg: Leg, net: str) -> bool:
    """Whether a winding's output supplies the controller on the primary side."""
    view = scene.view
    refs = {
        other
        for element in leg.low_switches
        for other in view.refs(element.gate)
        if view.kind(other) == "chip"
    }
    return any(ref in refs for ref in view.refs(net))


def rectifies(scene: Scene, stage: Stage, other: Stage) -> bool:
    """Whether a flyback's switch is in truth the rectifier of another flyback.

    Seen from the secondary the primary's switch looks like a rectifier too; the
    primary is where the output is regulated, else where power comes in.
    """
    if stage.kind != "flyback" or not set(stage.low_side) & set(other.high_side):
        return False
    if not set(other.low_side) & set(stage.high_side):
        return True

    def primary(one: Stage) -> tuple[bool, int]:
        chips = [ref for ref in (one.controller, one.driver) if ref]
        regulated = {net for ref in chips for net in feedback_targets(scene, ref)}
        into, out = one.input or "", one.output or ""
        nothing: frozenset[str | None] = frozenset()
        flow = upstream(scene, into, nothing) - upstream(scene, out, nothing)
        return out in regulated and into not in regulated, flow

    return primary(stage) < primary(other)
