"""Flybacks with the switch inside the chip: drain pin and transformer."""

import re

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.stage_build import rails_and_sense, refs_of
from ohmtrail.netanalysis.recognise.stage_legs import coils_at, fed_end
from ohmtrail.netanalysis.recognise.stage_parts import clamp_parts, snubber_parts
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["offline_flybacks"]

#: The drain of a switch inside the chip, as makers name it (common practice).
_DRAIN = re.compile(r"^(?:D\d?|DRAIN\d?|SW\d?|HV_?DRAIN|COLLECTOR|C)$")


def offline_flybacks(scene: Scene, taken: set[str]) -> list[Stage]:
    """Return the flybacks whose transistor is in a chip.

    Parameters
    ----------
    scene : Scene
        The board.
    taken : set of str
        Switch nodes of other stages.

    Notes
    -----
    O(transformers and what hangs on their windings).
    """
    view = scene.view
    found = []
    for part in view.board.parts:
        if view.kind(part.ref) != "transformer" or not view.fitted(part.ref):
            continue
        here = [
            stage
            for net in view.nets(part.ref)
            if net not in taken and not view.is_ground(net)
            if (stage := _at(scene, part.ref, net)) is not None
        ]
        # Two switches of one chip on one transformer push and pull: no flyback.
        if len(here) == 1:
            found += here
    return found


def _at(scene: Scene, transformer: str, node: str) -> Stage | None:
    view = scene.view
    if scene.is_power(node) or node in scene.caps_to_ground:
        return None
    chip = next(
        (
            pin.ref
            for pin in view.pins(node)
            if view.kind(pin.ref) == "chip"
            and _DRAIN.match(clean_pin_name(pin.name))
            and view.role(pin.ref, pin.number) in ("", "switch", "output", "supply")
        ),
        None,
    )
    if chip is None:
        return None
    windings = [c for c in coils_at(scene, node) if c.ref == transformer]
    source = fed_end(scene, windings)
    if source is None:
        return None
    rectifier = _rectifier(scene, transformer, {node, source}, chip)
    if rectifier is None:
        return None
    output = rectifier.high
    input_rail, output_rail, sense = rails_and_sense(scene, source, output)
    snubber = (
        *clamp_parts(scene, node, source),
        *snubber_parts(scene, node, (source,)),
        *snubber_parts(scene, rectifier.low, (output,)),
    )
    return Stage(
        id="",
        kind="flyback",
        switch_nodes=(node,),
        input=source,
        output=output,
        input_rail=input_rail,
        output_rail=output_rail,
        controller=chip,
        driver=chip,
        inductors=(transformer,),
        current_sense=sense,
        snubber=tuple(dict.fromkeys(snubber)),
        because=(
            f"{transformer} from {source} to {node} of {chip}",
            f"rectifier {', '.join(refs_of((rectifier,)))}",
        ),
    )


def _rectifier(
    scene: Scene, transformer: str, primary: set[str], chip: str
) -> Element | None:
    """Rectifier of the winding with most capacitors that does not feed the chip."""
    view = scene.view
    best: list[tuple[tuple[bool, int], Element]] = []
    for net in view.nets(transformer):
        if net in primary:
            continue
        for element in scene.by_low.get(net, ()):
            made = element.high
            if element.kind == "diode" and view.parts_on(made, "capacitor"):
                feeds = chip in view.refs(made)
                best.append(
                    ((not feeds, len(view.parts_on(made, "capacitor"))), element)
                )
    return max(best, key=lambda pair: pair[0])[1] if best else None
