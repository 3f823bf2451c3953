"""What a chip without power is to a meter.

Clamp junctions at its pins, loads at its supplies, the body diodes of switches
inside, the pull-downs of drivers.  No file states any of it: all is common practice,
wide, and marked as assumed.
"""

import math
import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.inside_switches import inside_pairs
from ohmtrail.netanalysis.network.chip_pins import ChipPins, chip_pins
from ohmtrail.netanalysis.network.diode_models import CLAMP
from ohmtrail.netanalysis.network.elements import Junction, Resistance
from ohmtrail.netanalysis.network.likely import at_least, at_most
from ohmtrail.netanalysis.network.load_classes import UNKNOWN_LOAD
from ohmtrail.netanalysis.network.scene import (
    Element,
    Range,
    Scene,
    joined,
    junction,
    path,
)
from ohmtrail.netanalysis.network.transistor_models import BODY

__all__ = ["chip_elements"]

#: What a signal pin leaks to ground, in ohms: inputs with inner pulls at the low end.
LEAK = Range(50e3, 2e6, math.inf)
#: A driver's output to its return: its inner pull-down, if it has one; "kilo-ohms".
DRIVER = Range(2e3, 100e3, math.inf)
#: The likely ends beside a marked pull-down: that is fitted because the driver has none
#: to speak of (common practice, no source).  Of idle drivers at large one in seven
#: draws more; a range that took them in would tell nothing of a pull-down of 10k.
BLED_DRIVER = 5.8e3, math.inf
#: A regulator's output to ground: its inner divider.
DIVIDER = Range(10e3, 200e3, math.inf)
#: Clamp up to the supply: pins that stand more than the supply have none, and then
#: a meter of 3 V finds nothing.
UPPER = Range(0.35, 0.6, 5.0)
SUBSTRATE = Range(0.3, 0.5, 0.75)
_EMISSION = 1.05
_OPTO_LED = Range(0.9, 1.1, 1.3)
_OPTO = re.compile(r"opto|photo(?:coupler|transistor|triac)|isolator", re.I)
#: Roles of pins that stand more volts than the supply.
_NO_UPPER = ("sense", "enable", "gate drive", "input", "output")


def chip_elements(scene: Scene, part: Part) -> Iterator[Element]:
    """Yield all paths and junctions of a chip."""
    pins = chip_pins(scene, part)
    yield from _isolated_led(scene, part)
    yield from _switches(scene, part)
    if scene.in_hand:
        yield from _same_names(scene, part)
    if not pins.grounds:
        return
    yield from _supplies(scene, part, pins)
    yield from _floating(scene, part, pins)
    yield from _signals(scene, part, pins)


def _supplies(scene: Scene, part: Part, pins: ChipPins) -> Iterator[Element]:
    seen: set[str] = set()
    for pin in pins.supplies:
        node, ground = scene.node(pin), scene.node(pins.ground_of(pin))
        if node in seen:
            continue
        seen.add(node)
        unknown = UNKNOWN_LOAD, "load of the chip: unknown"
        load, because = scene.loads.get((part.ref, pin.net or ""), unknown)
        # A rail whose voltage nobody knows may be a core's or an input's.
        likely = None if "unknown" in because else at_most(load)
        yield from path(part, node, ground, load, because, assumed=True, likely=likely)
        yield from _clamp(part, ground, node, SUBSTRATE, "substrate below the supply")


def _signals(scene: Scene, part: Part, pins: ChipPins) -> Iterator[Element]:
    """Yield leak and clamps of every signal pin, once a node."""
    seen: set[str] = set()
    rails = scene.view.rails
    for pin in pins.signals:
        node, ground = scene.node(pin), scene.node(pins.ground_of(pin))
        if node in seen:
            continue
        seen.add(node)
        role = scene.view.role(part.ref, pin.number)
        leak, because = LEAK, "leak of a chip's pin"
        bled = pin.key in scene.bled
        if role in ("low gate", "gate drive") or pin.key in scene.drivers:
            leak, because = DRIVER, "pull-down inside the driver, if any"
            back = scene.drivers.get(pin.key)
            own = {other.net for other in part.pins} - {pin.net, None}
            if back in own and back != ground and not scene.in_hand:
                # A driver that floats on its switch: the source is its return.
                assert back is not None
                said = f"common practice: {because}"
                yield from _idle(part, node, back, DRIVER, said, bled=bled)
                leak, because = LEAK, "leak of a chip's pin"
        elif role == "output" and pin.net in rails:
            leak, because = DIVIDER, "divider inside the regulator"
        because = f"common practice: {because}"
        yield from _idle(part, node, ground, leak, because, bled=bled)
        yield from _clamp(part, ground, node, CLAMP, "clamp from ground")
        supply = pins.supply_of(pin)
        if supply is None or role in _NO_UPPER or pin.net in rails:
            continue
        yield from _clamp(part, node, scene.node(supply), UPPER, "clamp to the supply")


def _floating(scene: Scene, part: Part, pins: ChipPins) -> Iterator[Element]:
    """Yield the high-side driver that floats between switch node and boot pin."""
    seen: set[tuple[str, str]] = set()
    for pin in pins.floating:
        node, ground = scene.node(pin), scene.node(pins.ground_of(pin))
        role = scene.view.role(part.ref, pin.number)
        if (ground, node) not in seen:
            seen.add((ground, node))
            because = "common practice: leak of a chip's pin"
            yield from _idle(part, node, ground, LEAK, because)
            yield from _clamp(part, ground, node, CLAMP, "clamp from ground")
        switch = pins.mate(scene, pin, "switch")
        if role not in ("high gate", "boot") or switch is None:
            continue
        low = scene.node(switch)
        if role == "high gate":
            because = "common practice: pull-down inside the driver, if any"
            bled = pin.key in scene.bled
            yield from _idle(part, node, low, DRIVER, because, bled=bled)
            boot = pins.mate(scene, pin, "boot")
            if boot is not None:
                top = scene.node(boot)
                yield from _clamp(part, node, top, UPPER, "driver output to boot")
        yield from _clamp(part, low, node, SUBSTRATE, "high-side driver")


def _switches(scene: Scene, part: Part) -> Iterator[Junction]:
    """Yield the body diodes of switches inside the chip, by the stages it makes."""
    nets: dict[str, Pin] = {}
    for pin in part.pins:
        if pin.net is not None:
            nets.setdefault(pin.net, pin)
    ground = next((p for n, p in nets.items() if scene.view.is_ground(n)), None)
    seen: set[tuple[str, str]] = set()
    for stage in scene.stages.get(part.ref, ()):
        if stage.kind == "charge pump":
            continue
        for low, high in inside_pairs(stage, part.ref):
            anode = ground if low is None else nets.get(low)
            cathode = nets.get(high)
            if anode is None or cathode is None:
                continue
            ends = scene.node(anode), scene.node(cathode)
            if ends in seen:
                continue
            seen.add(ends)
            because = f"body diode of a switch inside: {stage.kind} (common practice)"
            yield from junction(
                part, *ends, BODY, "body", because, emission=_EMISSION, assumed=True
            )


def _isolated_led(scene: Scene, part: Part) -> Iterator[Junction]:
    """Yield the LED of an optocoupler."""
    if not _OPTO.search(f"{part.library} {part.description}"):
        return
    names = {pin.name.upper(): pin for pin in part.pins}
    anode = names.get("A") or names.get("ANODE") or names.get("AN")
    cathode = names.get("K") or names.get("CATHODE") or names.get("CA")
    if cathode is None and "E" not in names:
        cathode = names.get("C")
    if anode is None or cathode is None:
        return
    ends = scene.node(anode), scene.node(cathode)
    because = "LED of an optocoupler (common practice)"
    yield from junction(part, *ends, _OPTO_LED, "led", because, emission=1.8)


def _same_names(scene: Scene, part: Part) -> Iterator[Resistance]:
    """Yield what joins pins of one name inside a chip in the hand."""
    by_name: dict[str, list[Pin]] = {}
    for pin in part.pins:
        role = scene.view.role(part.ref, pin.number)
        if pin.name and role in ("ground", "supply", "switch", "input", "output"):
            by_name.setdefault(pin.name, []).append(pin)
    for pins in by_name.values():
        yield from joined(scene, part, pins)


def _idle(
    part: Part, a: str, b: str, ohms: Range, because: str, *, bled: bool = False
) -> Iterator[Resistance]:
    """Yield a path inside a chip that may be there or not."""
    likely = BLED_DRIVER if bled and ohms is DRIVER else at_least(ohms)
    yield from path(part, a, b, ohms, because, assumed=True, likely=likely)


def _clamp(
    part: Part, anode: str, cathode: str, volts: Range, what: str
) -> Iterator[Junction]:
    because = f"common practice: {what}"
    yield from junction(
        part,
        anode,
        cathode,
        volts,
        "clamp",
        because,
        emission=_EMISSION,
        assumed=True,
    )
