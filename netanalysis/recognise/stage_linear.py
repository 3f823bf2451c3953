"""Chips that pass power without a coil, and discrete followers.

Linear regulators and load-switch chips look alike from their pins: input,
output, ground.  What tells them apart is what the library says, the pins that
only one of them has, and whether the output's volts differ from the input's.
"""

import re
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.regulators import fixed_volts
from ohmtrail.netanalysis.recognise.stage_build import rails_and_sense
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["follower_stages", "is_shunt_reference", "pass_chip_stages"]

_LINEAR_WORDS = re.compile(r"linear|LDO|low[- ]drop|voltage regulator", re.I)
_SWITCH_WORDS = re.compile(
    r"load[- ]switch|power[- ]switch|power distribution|high[- ]side switch|USB switch|"
    r"current[- ]limit(?:ed|ing)? (?:power|switch|load)|e-?fuse|hot[- ]?swap|"
    r"power mux|ideal diode|protection switch",
    re.I,
)
_NOT_WORDS = re.compile(
    r"op-?amp|operational|comparator|amplifier|logic|buffer|translator|level[- ]shift|"
    r"gate driver|transceiver|oscillator|sensor|optocoupler|isolat|reference|supervis|"
    r"DC[-/ ]?DC (?:module|converter)|converter module|motor driver|audio|codec|"
    r"microcontroller|memory|EEPROM|flash|shunt reg",
    re.I,
)
#: Shunt regulators of the 431 family, as many makers name them.
_SHUNT = re.compile(r"^(?:T?L[MTV]?V?|KA|AZ|NCP|SC|AP)\d{0,2}43[12]", re.I)
#: Voltage references: they make no supply.
_REFERENCE = re.compile(
    r"(?:^|[^A-Z])(?:V?REF\d*(?:$|[^A-Z])|ADR\d{2,}|LM4[01]\d\d)", re.I
)
#: Pins that only power switches have.
_SWITCH_PINS = re.compile(
    r"^(?:N?FLA?G_?[AB1-4]?|N?FA?U?LT_?[AB1-4]?|OC|OCB?|OC\d|ILIM\d?|ISET|RSET|QOD|DISCH|"
    r"SETI|R?ILIM|ICL|IS\d?|DEN|PR1|DVDT|OVLO|NFAULT|NOC\d?)$"
)
_LINEAR_PINS = re.compile(
    r"^(?:ADJ|FB|VFB|BYP|BP|NR|NRSS|NR/SS|NOISE|SET|CNR|SENSE|VADJ|VOSNS|VLDOIN)$"
)


_MARKED = re.compile(r"IN_?[1-4AB]$")


@dataclass(frozen=True, slots=True)
class _Channel:
    ref: str
    source: str
    target: str
    #: "linear" or "switch".
    sort: str
    because: str


def pass_chip_stages(scene: Scene, taken: set[str]) -> list[Stage]:
    """Return linear regulators and load-switch chips, one entry a channel.

    Parameters
    ----------
    scene : Scene
        The board.
    taken : set of str
        Chips that control or drive other stages.

    Notes
    -----
    O(pins).
    """
    found = []
    for part in scene.view.board.parts:
        ref = part.ref
        if ref in taken or not scene.view.fitted(ref):
            continue
        if (
            scene.view.kind(ref) not in ("chip", "other")
            or not 3 <= len(part.pins) <= 40
        ):
            continue
        for channel in _channels(scene, part):
            found.append(_stage(scene, channel))
    return found


def _channels(scene: Scene, part: Part) -> list[_Channel]:
    view = scene.view
    ref = part.ref
    if view.pins_with_role(
        ref, "switch", "boot", "high gate", "low gate", "gate drive"
    ):
        return []
    text = f"{part.library} {part.description} {part.keywords}"
    linear_words, switch_words = _LINEAR_WORDS.search(text), _SWITCH_WORDS.search(text)
    if _NOT_WORDS.search(text) and not linear_words and not switch_words:
        return []
    if not linear_words and _REFERENCE.search(part.value):
        return []
    if any(link.kind == "other" for link in view.links_of(ref)):
        return []
    names = [clean_pin_name(pin.name) for pin in part.pins]
    ports = bool(switch_words) or any(map(_SWITCH_PINS.match, names))
    inputs = _power_pins(scene, ref, "input") or _power_pins(scene, ref, "supply")
    own = [
        pin.net
        for pin in part.pins
        if pin.net in inputs and clean_pin_name(pin.name) == "VLDOIN"
    ]
    inputs = [net for net in own if net is not None] or inputs
    outputs = [
        net
        for net in _power_pins(scene, ref, "output", loose=True, ports=ports)
        if net not in inputs
    ]
    if not any(pin.name for pin in part.pins):
        return _nameless(scene, part)
    if not inputs or not outputs:
        return []
    if not view.net_with_role(ref, "ground") and not view.pins_with_role(
        ref, "feedback"
    ):
        return []
    channels = []
    for place, target in enumerate(dict.fromkeys(outputs)):
        source = (
            inputs[min(place, len(inputs) - 1)]
            if len(inputs) == len(outputs)
            else inputs[0]
        )
        if not linear_words and _REFERENCE.search(target.rsplit("/", 1)[-1]):
            continue
        sort, why = _sort(scene, part, names, source, target)
        if sort == "switch" and len(outputs) == 1:
            # A power mux: each of its inputs is a way to the one output.
            ways = [net for net in _marked_inputs(scene, ref) if net != target]
            if len(ways) > 1:
                return [_Channel(ref, net, target, sort, why) for net in ways]
        if sort:
            channels.append(_Channel(ref, source, target, sort, why))
    if len(channels) > 1 and len(part.pins) > 16 and not (linear_words or switch_words):
        return []
    return channels


def _marked_inputs(scene: Scene, ref: str) -> list[str]:
    """Power nets of input pins with a channel mark (IN1, IN2, VINA)."""
    nets = [
        pin.net
        for pin in scene.view.pins_with_role(ref, "input")
        if pin.net and scene.is_power(pin.net) and _MARKED.search(pin.name.upper())
    ]
    return list(dict.fromkeys(nets))


def _nameless(scene: Scene, part: Part) -> list[_Channel]:
    """Regulator without pin names: its part number states volts, two nets carry power.

    The input is the supply that something else makes or that has the more volts.
    """
    view = scene.view
    stated = fixed_volts(part)
    if (
        stated is None
        or re.search(r"\dA\b", part.value)
        or view.kind(part.ref) != "chip"
        or len(part.pins) > 8
    ):
        return []
    nets = view.nets(part.ref)
    wide = [net for net in nets if len(view.pins_on(part.ref, net)) > 1]
    if len([net for net in wide if not view.is_ground(net)]) > 1:
        return []  # a current sensor: its conductor has pins in pairs
    caps = scene.caps_to_ground
    power = [net for net in nets if net in caps and view.degree(net) > 2]
    strong = [net for net in power if scene.is_power(net)]
    power = strong if len(strong) == 2 else power
    if len(power) != 2 or not any(view.is_ground(net) for net in nets):
        return []
    volts = [view.rails[net].volts if net in view.rails else None for net in power]
    near = 0.05 * abs(stated[0])
    close = [v is not None and abs(v - stated[0]) < near for v in volts]
    if close[0] == close[1]:
        pins = [len(view.pins_on(part.ref, net)) for net in power]
        if pins[0] == pins[1]:
            return []
        target = power[pins.index(min(pins))]
    else:
        target = power[close.index(True)]
    source = power[1 - power.index(target)]
    return [_Channel(part.ref, source, target, "linear", stated[1])]


def _power_pins(
    scene: Scene, ref: str, role: str, *, loose: bool = False, ports: bool = False
) -> list[str]:
    """Nets of pins with a role that carry power, each once."""
    view = scene.view
    found: dict[str, None] = {}
    for pin in view.pins_with_role(ref, role):
        net = pin.net
        if net is None or view.is_ground(net) or view.degree(net) < 2:
            continue
        if scene.is_power(net) or (
            loose
            and (
                pin.electrical == "power_out"
                or net in scene.caps_to_ground
                or any(scene.is_power(other) for other in view.linked_nets(net))
                or view.parts_on(net, "bead", "fuse", "inductor")
                or (ports and scene.has_port(net))
            )
        ):
            found[net] = None
    return list(found)


def _sort(
    scene: Scene, part: Part, names: list[str], source: str, target: str
) -> tuple[str, str]:
    """Tell a linear regulator from a power switch; ("", "") if it is neither."""
    view = scene.view
    text = f"{part.library} {part.description} {part.keywords}"
    volts = [
        view.rails[net].volts if net in view.rails else None for net in (source, target)
    ]
    if _SWITCH_WORDS.search(text):
        return "switch", "the library calls it a switch"
    if _LINEAR_WORDS.search(text):
        return "linear", "the library calls it a regulator"
    switch = [name for name in names if _SWITCH_PINS.match(name)]
    linear = [name for name in names if _LINEAR_PINS.match(name)]
    if switch and not linear:
        return "switch", f"pin {switch[0]}"
    if part.ref in scene.fixed_regulators:
        return "linear", "the part number states volts"
    both = volts[0] is not None and volts[1] is not None
    if both and abs(volts[1] or 0.0) < 0.97 * abs(volts[0] or 0.0):
        return "linear", f"{volts[0]:g} V in, {volts[1]:g} V out"
    if linear:
        return "linear", f"pin {linear[0]}"
    if volts[0] is not None and volts[0] == volts[1]:
        return "switch", "the same volts on both sides"
    if len(part.pins) <= 5 and "GND" in names:
        return "linear", "input, output and ground"
    return "", ""


def _stage(scene: Scene, channel: _Channel) -> Stage:
    kind = "linear regulator" if channel.sort == "linear" else "load switch"
    rails = rails_and_sense(scene, channel.source, channel.target)
    return Stage(
        id="",
        kind=kind,
        switch_nodes=(),
        input=channel.source,
        output=channel.target,
        input_rail=rails[0],
        output_rail=rails[1],
        controller=channel.ref,
        driver=channel.ref,
        current_sense=rails[2],
        because=(
            f"{channel.ref} from {channel.source} to {channel.target}",
            channel.because,
        ),
    )


def follower_stages(scene: Scene, used: set[tuple[str, int]]) -> list[Stage]:
    """Return discrete regulators: a follower whose base or gate sits on a zener."""
    found = []
    for element in scene.elements:
        if not element.switch or element.p_type or (element.ref, element.unit) in used:
            continue
        reference = _reference(scene, element)
        if reference is None:
            continue
        if not scene.is_power(element.low) and element.low not in scene.caps_to_ground:
            continue
        found.append(_follower(scene, element, reference))
    return found


def _reference(scene: Scene, element: Element) -> str | None:
    """Zener (or shunt reference) from the control net to ground."""
    view = scene.view
    gate = element.gate or ""
    if view.is_ground(element.low) or scene.is_power(gate):
        return None
    if not scene.is_power(element.high):
        return None
    nets = [gate]
    nets += [
        other
        for ref, other in view.neighbours(gate, "resistor")
        if (view.ohms(ref) or 0.0) <= 1e3
        and other not in (element.high, element.low)
        and not view.is_ground(other)
    ]
    fed = any(
        other == element.high or scene.is_power(other)
        for net in nets
        for _, other in view.neighbours(net, "resistor")
    )
    if not fed:
        return None
    for net in nets:
        for ref in view.parts_on(net, "zener", "chip", "other"):
            if view.kind(ref) != "zener" and not _SHUNT.search(view.part(ref).value):
                continue
            if any(view.is_ground(n) for n in view.nets(ref)):
                return ref
    return None


def is_shunt_reference(scene: Scene, ref: str | None) -> bool:
    """Whether a part is a shunt regulator of the 431 family."""
    return ref is not None and bool(_SHUNT.search(scene.view.part(ref).value))


def _follower(scene: Scene, element: Element, reference: str) -> Stage:
    from ohmtrail.netanalysis.recognise.stage_build import command

    told = command(scene, (element,))
    return Stage(
        id="",
        kind="linear regulator",
        switch_nodes=(),
        input=element.high,
        output=element.low,
        input_rail=scene.rail_beyond(element.high),
        output_rail=scene.rail_beyond(element.low),
        controller=None,
        driver=told.driver,
        high_side=(element.ref,),
        gate_chains=told.chains if element.kind != "bipolar" else (),
        because=(f"{element.ref} follows {reference} on its control pin",),
    )
