"""Legs with two transistors: synchronous converters and bridges."""

import re
from collections.abc import Mapping

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_build import (
    Command,
    command,
    refs_of,
    switching_stage,
)
from ohmtrail.netanalysis.recognise.stage_control import feedback_targets
from ohmtrail.netanalysis.recognise.stage_legs import Coil, Leg
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["bridge_stages", "is_driver_pair"]

_SOURCE_NAME = re.compile(
    r"(?:^|[_/+])(?:V_?)?(?:IN|DC_?IN|SUPPLY|PV|SOLAR)(?![A-Z])", re.I
)
_NEGATIVE = re.compile(r"^-\d|-$|_N$|NEG|VSS|VEE", re.I)
_RESULT_NAME = re.compile(r"(?:^|[_/+])(?:V_?)?(?:OUT|BOOST|CORE)", re.I)


def bridge_stages(scene: Scene, legs: tuple[Leg, ...]) -> list[tuple[Leg, Stage]]:
    """Return stages of the legs with a transistor above and one below.

    Notes
    -----
    O(legs) plus the walks of their gate chains.
    """
    pairs = {
        leg.node: leg
        for leg in legs
        if leg.high_switches
        and leg.low_switches
        and _powered(scene, leg)
        and _grounded(scene, leg)
        and not is_driver_pair(scene, leg)
    }
    found: list[tuple[Leg, Stage]] = []
    done: set[str] = set()
    for node, leg in pairs.items():
        if node in done:
            continue
        mate = _joined(leg, pairs)
        if mate is not None and _bus(mate) != _bus(leg):
            done |= {node, mate.node}
            stage = _four_switch(scene, leg, mate)
            found += [(leg, stage)]
            continue
        told = command(scene, leg.switches)
        if not _switched(scene, leg, told):
            continue
        found.append((leg, _one_leg(scene, leg, pairs, told)))
    return found


def _switched(scene: Scene, leg: Leg, told: Command) -> bool:
    """Whether a leg switches: complementary sources on a node are a follower.

    Without any driver to be seen there must at least be a load on the node.
    """
    if {element.p_type for element in leg.switches} == {False, True} and all(
        element.source == leg.node for element in leg.switches
    ):
        return False
    if told.driver is not None:
        return True
    if leg.switches[0].kind == "bipolar":
        return False
    return bool(leg.coils or scene.view.parts_on(leg.node, "connector"))


def _bus(leg: Leg) -> str:
    return leg.high_switches[0].high


def _powered(scene: Scene, leg: Leg) -> bool:
    """Whether the leg stands on a supply, or its node on a driver's switch pin."""
    view = scene.view
    if scene.is_power(leg.node):
        return False
    bus = _bus(leg)
    if scene.carries(bus) or scene.is_power(scene.rail_beyond(bus)):
        return True
    return any(
        view.role(pin.ref, pin.number) == "switch" and view.kind(pin.ref) == "chip"
        for pin in view.pins(leg.node)
    )


def _grounded(scene: Scene, leg: Leg) -> bool:
    low = leg.low_switches[0].low
    if scene.to_ground(low) is not None:
        return True
    # A bridge between a positive and a negative supply.
    return low != _bus(leg) and _negative(low)


def _negative(net: str) -> bool:
    """Whether a net's name is that of a negative supply."""
    return bool(_NEGATIVE.search(net.rsplit("/", 1)[-1]))


def is_driver_pair(scene: Scene, leg: Leg) -> bool:
    """Whether a leg is a pair of followers or a small inverter that drives a gate.

    Its node leads to the gate of another transistor, over a small resistor,
    a bead or a diode at most, and to no coil.
    """
    if leg.coils or scene.is_power(leg.node):
        return False
    gates = {element.gate for element in leg.switches}
    if len(gates) > 1 and _drives_itself(leg):
        return False
    view = scene.view
    own = {element.ref for element in leg.switches}
    nets = [leg.node]
    nets += [
        other
        for ref, other in view.neighbours(leg.node, "resistor", "bead", "diode")
        if not view.is_ground(other) and not scene.is_power(other)
    ]
    return any(
        element.ref not in own for net in nets for element in scene.by_gate.get(net, ())
    )


def _drives_itself(leg: Leg) -> bool:
    """Whether both switches are of one channel: then each needs its own drive."""
    return len({element.p_type for element in leg.switches}) == 1


def _joined(leg: Leg, pairs: Mapping[str, Leg]) -> Leg | None:
    """Leg at the other end of one of this leg's inductors."""
    for coil in leg.coils:
        if not coil.transformer and coil.far in pairs and coil.far != leg.node:
            return pairs[coil.far]
    return None


def _one_leg(scene: Scene, leg: Leg, pairs: Mapping[str, Leg], told: Command) -> Stage:
    bus = _bus(leg)
    coils = _output_coils(scene, leg)
    reasons = [
        f"{', '.join(refs_of(leg.high_switches))} from {bus} to {leg.node}",
        f"{', '.join(refs_of(leg.low_switches))} from {leg.node} to "
        f"{leg.low_switches[0].low}",
    ]
    if not coils and _fed_at_node(scene, leg, told):
        return switching_stage(
            scene,
            "ideal diode",
            nodes=(),
            input=leg.node,
            output=bus,
            high=leg.high_switches,
            low=leg.low_switches,
            inductors=(),
            because=(*reasons, f"{told.driver} watches {leg.node}: a rectifier"),
            told=told,
        )
    if (inner := _chip_leg(scene, leg, told)) is not None:
        coil, output = inner
        return switching_stage(
            scene,
            "buck-boost",
            nodes=(leg.node, coil.far),
            input=bus,
            output=output,
            high=leg.high_switches,
            low=leg.low_switches,
            inductors=(coil.ref,),
            because=(*reasons, f"{coil.ref} to the switches inside {told.driver}"),
            told=told,
        )
    split = scene.to_ground(leg.low_switches[0].low) is None
    if not coils or split or _joined(leg, pairs) is not None:
        kind = "full bridge leg" if _full_bridge(scene, leg, pairs) else "half bridge"
        return switching_stage(
            scene,
            kind,
            nodes=(leg.node,),
            input=bus,
            output=leg.node,
            high=leg.high_switches,
            low=leg.low_switches,
            inductors=tuple(c.ref for c in leg.coils if not c.transformer),
            because=(*reasons, "no inductor to a supply"),
            told=told,
        )
    far = coils[0].far
    reasons.append(f"{coils[0].ref} from {leg.node} to {far}")
    down, why = _steps_down(scene, bus, far, told)
    reasons.append(why)
    return switching_stage(
        scene,
        "synchronous buck" if down else "synchronous boost",
        nodes=(leg.node,),
        input=bus if down else far,
        output=far if down else bus,
        high=leg.high_switches,
        low=leg.low_switches,
        inductors=tuple(dict.fromkeys(coil.ref for coil in coils)),
        because=tuple(reasons),
        told=told,
    )


def _chip_leg(scene: Scene, leg: Leg, told: Command) -> tuple[Coil, str] | None:
    """Coil to a switch pin of the driver that holds the other leg, and its output."""
    view, chip = scene.view, told.driver
    if chip is None or view.kind(chip) != "chip":
        return None
    for coil in leg.coils:
        pins = view.pins_on(chip, coil.far)
        if coil.transformer or scene.at(coil.far) or scene.is_power(coil.far):
            continue
        if not any(view.role(chip, pin.number) == "switch" for pin in pins):
            continue
        outputs = [pin.net for pin in view.pins_with_role(chip, "output")]
        for net in (*outputs, *feedback_targets(scene, chip)):
            if net is not None and scene.is_power(net) and net != _bus(leg):
                return coil, net
    return None


def _fed_at_node(scene: Scene, leg: Leg, told: Command) -> bool:
    """Whether the driver takes its input from the node: an active rectifier bridge."""
    view = scene.view
    return any(
        pin.ref == told.driver and view.role(pin.ref, pin.number) == "input"
        for pin in view.pins(leg.node)
    ) and bool(view.parts_on(leg.node, "connector", "transformer"))


def _output_coils(scene: Scene, leg: Leg) -> tuple[Coil, ...]:
    """Inductors whose far end carries capacitors or is a supply."""
    found = []
    for coil in leg.coils:
        if coil.transformer or scene.view.is_ground(coil.far):
            continue
        rail = scene.rail_beyond(coil.far)
        if (
            scene.is_power(rail)
            or coil.far in scene.caps_to_ground
            or (rail or "") in scene.caps_to_ground
        ):
            found.append(coil)
    return tuple(found)


def _full_bridge(scene: Scene, leg: Leg, pairs: Mapping[str, Leg]) -> bool:
    """Whether two legs on one bus, and no third, share the load."""
    view = scene.view
    loads = ("transformer", "inductor", "other", "capacitor", "connector")
    mates: set[str] = set()
    for net in _load_nets(scene, leg):
        for ref in view.parts_on(net, *loads):
            for there in view.nets(ref):
                if there == net or view.is_ground(there):
                    continue
                for node in (there, *_beyond_load(scene, there)):
                    other = pairs.get(node)
                    if other is not None and node != leg.node:
                        if _bus(other) == _bus(leg):
                            mates.add(node)
    return len(mates) == 1


def _beyond_load(scene: Scene, net: str) -> tuple[str, ...]:
    """Nets joined to a load's far end by a shunt or a coil."""
    if scene.is_power(net):
        return ()
    return tuple(
        scene.view.linked_nets(net, ("resistor", "other", "inductor"), limit=8)
    )


def _load_nets(scene: Scene, leg: Leg) -> set[str]:
    """Return the node and what lies beyond its shunts and coils."""
    nets = set(scene.view.linked_nets(leg.node))
    for coil in leg.coils:
        if not scene.view.is_ground(coil.far):
            nets.add(coil.far)
    return nets


def _steps_down(scene: Scene, bus: str, far: str, told: Command) -> tuple[bool, str]:
    """Decide which way power flows: bus to far is a buck."""
    view = scene.view
    # In a fixed order: the reasons are printed.
    top = dict.fromkeys((bus, scene.rail_beyond(bus) or bus)).keys()
    bottom = dict.fromkeys((far, scene.rail_beyond(far) or far)).keys()
    score, reasons = 0, []

    def add(points: int, reason: str) -> None:
        nonlocal score
        score += points
        reasons.append(reason)

    for ref in dict.fromkeys((told.controller, told.driver)):
        if ref is None:
            continue
        for net in feedback_targets(scene, ref):
            if net in bottom:
                add(4, f"{ref} regulates {net}")
            elif net in top:
                add(-4, f"{ref} regulates {net}")
        supplies = {p.net for p in view.pins_with_role(ref, "input")}
        if supplies & top and not supplies & bottom:
            add(2, f"{ref} is fed from {bus}")
        elif supplies & bottom and not supplies & top:
            add(-2, f"{ref} is fed from {far}")
    sources = [_comes_in(scene, net) for net in (bus, far)]
    if sources[0] != sources[1]:
        add(1 if sources[0] else -1, "where the connector is")
    for side, sign in ((top, 1), (bottom, -1)):
        for net in side:
            name = net.rsplit("/", 1)[-1]
            if _SOURCE_NAME.search(name):
                add(sign, f"the name {name}")
            if _RESULT_NAME.search(name):
                add(-sign, f"the name {name}")
    volts = [
        next((view.rails[n].volts for n in side if n in view.rails), None)
        for side in (top, bottom)
    ]
    if volts[0] is None and volts[1] is not None and not reasons:
        add(1, f"{far} has a nominal voltage")
    # A boost must show itself: without evidence the usual case is taken.
    down = score > -2
    way = f"{bus} to {far}" if down else f"{far} to {bus}"
    return down, f"power flows {way}: " + (", ".join(reasons) or "the usual case")


def _comes_in(scene: Scene, net: str) -> bool:
    """Whether a connector or battery is on a net or behind fuses, chokes, shunts."""
    view = scene.view
    kinds = ("resistor", "jumper", "other", "fuse", "bead", "inductor")
    return any(
        scene.has_port(there) for there in view.linked_nets(net, kinds, limit=12)
    )


def _four_switch(scene: Scene, leg: Leg, mate: Leg) -> Stage:
    """Two legs with one inductor between them and two supplies."""
    told = command(scene, (*leg.switches, *mate.switches))
    first, second = leg, mate
    regulated = (
        set(feedback_targets(scene, told.controller or told.driver or ""))
        if (told.controller or told.driver)
        else set()
    )
    tops = {_bus(leg), scene.rail_beyond(_bus(leg))}
    name = _bus(leg).rsplit("/", 1)[-1]
    if tops & regulated or (
        not regulated
        and (
            _RESULT_NAME.search(name)
            or _SOURCE_NAME.search(_bus(mate).rsplit("/", 1)[-1])
        )
    ):
        first, second = mate, leg
    shared = tuple(c.ref for c in leg.coils if c.far == mate.node)
    return switching_stage(
        scene,
        "buck-boost",
        nodes=(first.node, second.node),
        input=_bus(first),
        output=_bus(second),
        high=(*first.high_switches, *second.high_switches),
        low=(*first.low_switches, *second.low_switches),
        inductors=shared,
        because=(
            f"{', '.join(shared)} between {first.node} and {second.node}",
            f"legs on {_bus(first)} and {_bus(second)}",
        ),
        told=told,
    )
