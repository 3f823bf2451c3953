"""Half-recognised stages: a controller for outer switches whose switches are not clear.

Its gate pins are in use and its switch pin has a coil, but the transistors lack
pin roles, or were not drawn.  Such a stage is reported with what is missing.
"""

from ohmtrail.netanalysis.circuit import GateChain, Stage
from ohmtrail.netanalysis.recognise.stage_control import find_controller
from ohmtrail.netanalysis.recognise.stage_legs import Coil
from ohmtrail.netanalysis.recognise.stage_parts import bootstrap_parts
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["drives_outer_switches", "half_stage"]


def drives_outer_switches(
    scene: Scene, ref: str, unit: int | None, taken: set[str]
) -> bool:
    """Whether a chip's high gate pin is in use, and not by a stage known already.

    Parameters
    ----------
    scene : Scene
        The board.
    ref : str
        The chip.
    unit : int or None
        The channel, where the chip has several.
    taken : set of str
        Refs of transistors in stages (a motor driver may hold a buck besides).
    """
    for pin in scene.view.pins_with_role(ref, "high gate", unit=unit):
        if pin.net is None or scene.view.degree(pin.net) < 2:
            continue
        known = {switch for switch, _, _ in _transistors(scene, pin.net)}
        if not known or not known <= taken:
            return True
    return False


def half_stage(
    scene: Scene, ref: str, node: str, coil: Coil, unit: int | None
) -> Stage:
    """Return the synchronous buck that a chip drives, with what is not known."""
    missing: list[str] = []
    sides: list[tuple[str, ...]] = []
    chains: list[GateChain] = []
    for role, side in (("high gate", "high"), ("low gate", "low")):
        found: dict[str, None] = {}
        for pin in scene.view.pins_with_role(ref, role, unit=unit):
            if pin.net is None:
                continue
            for switch, gate, series in _transistors(scene, pin.net):
                found[switch] = None
                chains.append(GateChain(switch, gate, pin.key, series))
        sides.append(tuple(found))
        missing += [f"drain and source of {switch}" for switch in found]
        if not found:
            missing.append(f"{side}-side switch")
    return Stage(
        id="",
        kind="synchronous buck",
        switch_nodes=(node,),
        input=None,
        output=coil.far,
        input_rail=None,
        output_rail=scene.rail_beyond(coil.far),
        controller=find_controller(scene, ref, "chip", None),
        driver=ref,
        high_side=sides[0],
        low_side=sides[1],
        inductors=(coil.ref,),
        bootstrap=bootstrap_parts(scene, node, (ref,)),
        gate_chains=tuple(chains),
        missing=(*missing, "input"),
        because=(f"{ref} drives outer switches at {node}", f"{coil.ref} on {node}"),
    )


def _transistors(scene: Scene, net: str) -> list[tuple[str, str, tuple[str, ...]]]:
    """Transistors on a gate net or beyond one resistor: ref, pin, series."""
    view = scene.view
    reach: list[tuple[str, tuple[str, ...]]] = [(net, ())]
    reach += [
        (other, (part,))
        for part, other in view.neighbours(net, "resistor", "bead")
        if not view.is_ground(other) and not scene.is_power(other)
    ]
    return [
        (pin.ref, pin.key, series)
        for here, series in reach
        for pin in view.pins(here)
        if view.kind(pin.ref) in ("mosfet", "igbt", "bipolar")
    ]
