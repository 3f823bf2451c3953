"""Switch nodes of chips: where a converter inside a chip meets its inductor."""

import re

from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.stage_legs import Coil, coils_at
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["switch_nodes_of"]

#: Switch-node names of chips that no role table needs to know: outputs of
#: converters that are called after the coil.
_COIL_PIN = re.compile(
    r"^(?:L|L[12]|LX?\d|SW_?OUT|VL|LIN|LOUT|"
    r"V?LX_?\w{0,2}|(?:BUCK|DCDC|DC|BST|BB|BK|B)_?\w?_?(?:LX|SW|PH|L)_?\w?|"
    r"(?:SW|LX|PH)_?(?:BUCK|DCDC|DC|BST|BB|BK|B)_?\w{0,6})$"
)

#: A switch node has few parts on it; supplies have many.
_MANY_PINS = 64


def switch_nodes_of(scene: Scene, ref: str) -> list[str]:
    """Nets of a chip that have a coil and are made to swing."""
    view = scene.view
    nodes: dict[str, None] = {}
    named = any(pin.name for pin in view.part(ref).pins)
    for pin in view.part(ref).pins:
        net = pin.net
        if net is None or view.is_ground(net):
            continue
        role = view.role(ref, pin.number)
        if view.degree(net) > _MANY_PINS or not (
            not named
            or role in ("switch", "output")
            or _COIL_PIN.match(clean_pin_name(pin.name))
        ):
            continue
        coils = [c for c in coils_at(scene, net) if not c.transformer]
        if not coils:
            continue
        if role == "switch":
            if not _bulky(scene, net):
                nodes[net] = None
        elif _COIL_PIN.match(clean_pin_name(pin.name)) and not _bulky(scene, net):
            nodes[net] = None
        elif role == "output" and _freewheels(scene, net) and not _bulky(scene, net):
            nodes[net] = None
        elif not named and _looks_switched(scene, ref, net, coils):
            nodes[net] = None
    return list(nodes)


def _bulky(scene: Scene, net: str) -> bool:
    total = sum(scene.farads(ref) or 0.0 for ref in scene.caps_to_ground.get(net, ()))
    return total > 50e-9


def _freewheels(scene: Scene, net: str) -> bool:
    return any(
        e.kind == "diode" and scene.view.is_ground(e.low)
        for e in scene.by_high.get(net, ())
    )


def _looks_switched(scene: Scene, ref: str, net: str, coils: list[Coil]) -> bool:
    """Without pin names: a coil, and a diode or a bootstrap capacitor with it."""
    view = scene.view
    if net in scene.caps_to_ground or len(coils) != 1:
        return False
    if any(view.kind(other) == "connector" for other in view.refs(net)):
        return False
    if _freewheels(scene, net):
        return True
    if any(
        e.kind == "diode" and scene.is_power(e.high) and e.high != coils[0].far
        for e in scene.by_low.get(net, ())
    ):
        return True
    mine = set(view.nets(ref))
    boot = [
        other
        for _, other in view.neighbours(net, "capacitor")
        if other in mine and view.degree(other) <= 3
    ]
    if boot:
        return True
    # Nothing but the chip and the coil, between two smoothed supplies.
    others = {other for other in view.refs(net)} - {ref, coils[0].ref}
    return (
        not others
        and len(view.pins_on(ref, net)) >= 1
        and coils[0].far in scene.power_nets
        and coils[0].far in scene.caps_to_ground
        and any(view.is_ground(n) for n in mine)
    )
