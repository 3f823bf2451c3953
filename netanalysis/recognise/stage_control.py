"""Who commands a stage: from the driver's inputs back to a controller."""

import re
from collections import Counter

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["feedback_targets", "find_controller", "is_controller"]

#: Command inputs of gate drivers, by maker's usual names (common practice).
_COMMAND = re.compile(
    r"^(?:IN[HL]?[ABC123]?|INP|INN|IN[+-]|[HL]IN[ABCUVW123]?|IN[HL]_?[ABC123]|PWM\d?|"
    r"PWM_?[ABCHLUVW]+\d?|[HL]I|H[SD]?IN|IN_?[HL][ABC]?|IN_?[ABC12]|[ABC]_?IN|"
    r"[UL]IN|DRV_?IN|IN[PN]?_?[AB12]|VI[AB]|VIN?[AB]|ANODE|CATHODE|AN|CA|A|K|C)\d?$"
)
_PWM = re.compile(r"^PWM_?\w?\d?$")
_MAX_NETS = 60
_MANY_PINS = 16
#: A motor driver without pin names takes at least so many commands from a chip of
#: at least so many pins, over nets of hardly more than the two (CP).
_MANY_WIRES = 4
_LARGE_PINS = 24
_PRIVATE_PINS = 3


def is_controller(scene: Scene, ref: str) -> bool:
    """Whether a driver decides by itself: it has no command inputs."""
    return not command_pins(scene, ref)


def command_pins(scene: Scene, ref: str) -> tuple[Pin, ...]:
    """Input pins through which a driver is told when to switch."""
    view = scene.view
    part = view.part(ref)
    regulates = bool(view.pins_with_role(ref, "feedback"))
    named = tuple(
        pin
        for pin in part.pins
        if pin.net is not None
        and not (regulates and _commands_another(scene, pin))
        and _COMMAND.match(clean_pin_name(pin.name))
        and not view.is_ground(pin.net)
        and not scene.is_power(pin.net)
    )
    if named or any(pin.name for pin in part.pins):
        return named
    # No pin names: of a small chip, every pin that is no supply.
    if len(part.pins) > 8:
        return ()
    return tuple(
        pin
        for pin in part.pins
        if pin.net is not None
        and not view.is_ground(pin.net)
        and not scene.is_power(pin.net)
    )


def _commands_another(scene: Scene, pin: Pin) -> bool:
    """Whether a PWM pin is an output: it ends on a driver that regulates nothing.

    A controller of three phases may hold two drivers and command the third.
    """
    view = scene.view
    if not _PWM.match(clean_pin_name(pin.name)):
        return False
    return any(
        other.ref != pin.ref
        and view.kind(other.ref) == "chip"
        and _PWM.match(clean_pin_name(other.name))
        and not view.pins_with_role(other.ref, "feedback")
        and bool(view.pins_with_role(other.ref, "high gate", "switch"))
        for other in view.pins(pin.net)
    )


def find_controller(
    scene: Scene, driver: str | None, sort: str, driver_pin: str | None
) -> str | None:
    """Return the chip that commands a driver; the driver itself if it decides.

    Parameters
    ----------
    scene : Scene
        The board.
    driver : str or None
        Ref of the driver.
    sort : str
        What the driver is, as `Drive.sort` says.
    driver_pin : str or None
        Probe point of its output.

    Notes
    -----
    O(parts within a few steps of the driver's inputs); supplies are not crossed.
    """
    if driver is None or sort not in ("chip", "transistor"):
        return None
    view = scene.view
    if sort == "chip":
        nameless = not any(pin.name for pin in view.part(driver).pins)
        if nameless and (master := _many_wires(scene, driver)):
            return master
        if is_controller(scene, driver) and len(view.part(driver).pins) > 4:
            return driver
        pins = command_pins(scene, driver)
        output = driver_pin.rpartition(".")[2] if driver_pin else ""
        starts = [pin.net for pin in pins if pin.number != output and pin.net]
    else:
        number = driver_pin.rpartition(".")[2] if driver_pin else ""
        starts = _controls(scene, driver, view.net_of(driver, number))
    return _upstream(scene, starts, {driver}) or (driver if sort == "chip" else None)


def _many_wires(scene: Scene, ref: str) -> str | None:
    """Large chip that a nameless driver is joined to by many private wires."""
    view = scene.view
    wires: Counter[str] = Counter()
    for net in view.nets(ref):
        if view.degree(net) <= _PRIVATE_PINS and _signal(scene, net):
            wires.update(
                {
                    other
                    for other in view.parts_on(net, "chip")
                    if other != ref and len(view.part(other).pins) >= _LARGE_PINS
                }
            )
    best = max(wires, key=lambda other: wires[other], default=None)
    return best if best is not None and wires[best] >= _MANY_WIRES else None


def _controls(scene: Scene, ref: str, output: str | None) -> list[str]:
    """Control nets of the transistors of a package that end on a net."""
    return [
        element.gate
        for element in scene.by_ref.get(ref, ())
        if element.gate is not None
        and (output is None or output in (element.high, element.low))
    ]


def _upstream(scene: Scene, starts: list[str], seen_refs: set[str]) -> str | None:
    """First chip with a pin on the nets, over resistors, diodes and transistors."""
    view = scene.view
    seen: dict[str, None] = {}
    queue = [net for net in starts if net]
    chips: list[tuple[int, int, str]] = []
    for place, net in enumerate(queue):
        if net in seen or len(seen) > _MAX_NETS or view.degree(net) > _MAX_NETS:
            continue
        seen[net] = None
        for pin in view.pins(net):
            kind = view.kind(pin.ref)
            if pin.ref in seen_refs and kind == "chip":
                continue
            if kind in ("chip", "other") and len(view.part(pin.ref).pins) > 2:
                size = len(view.part(pin.ref).pins)
                small = 0 if size >= _MANY_PINS else 1
                if pin.electrical == "input" and size < _MANY_PINS:
                    small += 1
                chips.append((small, place, pin.ref))
                if small and size <= 8:
                    queue.extend(
                        other.net
                        for other in view.part(pin.ref).pins
                        if other.net is not None and _signal(scene, other.net)
                    )
            elif kind in ("resistor", "diode", "bead", "jumper", "led"):
                queue.extend(n for n in view.nets(pin.ref) if _signal(scene, n))
            elif kind in ("bipolar", "mosfet"):
                for element in scene.at(net):
                    if element.ref == pin.ref and element.gate:
                        queue.append(element.gate)
                        far = element.low if element.high == net else element.high
                        if _signal(scene, far):
                            queue.append(far)
    return min(chips)[2] if chips else None


def _signal(scene: Scene, net: str) -> bool:
    return not scene.view.is_ground(net) and not scene.is_power(net)


def feedback_targets(scene: Scene, ref: str) -> tuple[str, ...]:
    """Nets that a chip regulates: those its feedback pins are divided down from.

    A feedback pin straight on an output names that output.
    """
    view = scene.view
    found: dict[str, None] = {}
    for pin in view.pins_with_role(ref, "feedback"):
        net = pin.net
        if net is None or view.is_ground(net):
            continue
        if scene.is_power(net) or net in scene.caps_to_ground:
            found[net] = None
            if scene.is_power(net):
                continue
        queue, seen = [(net, 0)], {net}
        for here, depth in queue:
            if depth >= 3:
                continue
            for _, other in view.neighbours(here, "resistor"):
                if other in seen or view.is_ground(other):
                    continue
                seen.add(other)
                if scene.is_power(other):
                    found[other] = None
                else:
                    queue.append((other, depth + 1))
    return tuple(found)
