"""Putting a stage together: chains, driver, controller, parts around it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.circuit import GateChain, Stage
from ohmtrail.netanalysis.recognise.gate_chain import Drive, find_drive
from ohmtrail.netanalysis.recognise.stage_control import find_controller
from ohmtrail.netanalysis.recognise.stage_parts import (
    bootstrap_parts,
    sense_parts,
    snubber_parts,
    winding_sense,
)
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["Command", "command", "rails_and_sense", "refs_of", "switching_stage"]


_OUTPUTS = ("output", "high gate", "low gate", "gate drive")


@dataclass(frozen=True, slots=True)
class Command:
    """Gate chains of a set of switches, with who drives and who decides."""

    chains: tuple[GateChain, ...]
    driver: str | None
    controller: str | None
    #: What was not found, in words.
    missing: tuple[str, ...]


def refs_of(elements: Iterable[Element]) -> tuple[str, ...]:
    """Refs of elements, each once, in order."""
    return tuple(dict.fromkeys(element.ref for element in elements))


def command(scene: Scene, switches: tuple[Element, ...]) -> Command:
    """Find the gate chains, the driver and the controller of some switches."""
    drives: list[Drive] = [
        find_drive(scene, element, switches) for element in switches if element.switch
    ]
    drivers = [drive for drive in drives if drive.driver is not None]
    chips = [drive for drive in drivers if drive.sort == "chip"]
    transistors = [drive for drive in drivers if drive.sort == "transistor"]
    first = next(iter(chips or transistors), None)
    controller = None
    if first is None and (drives_by := _over_transformer(scene, drives)):
        first = drives_by
    if first is not None:
        controller = find_controller(
            scene, first.driver, first.sort, first.chain.driver_pin
        )
    missing = tuple(
        f"driver of {drive.chain.switch} ({drive.chain.gate})"
        for drive in drives
        if drive.chain.driver_pin is None
    )
    return Command(
        tuple(drive.chain for drive in drives),
        first.driver if first is not None else None,
        controller,
        missing,
    )


def _over_transformer(scene: Scene, drives: list[Drive]) -> Drive | None:
    """Chip on the primary of a transformer that drives gates, as the driver."""
    view = scene.view
    for drive in drives:
        pin = drive.chain.driver_pin
        if drive.sort != "transformer" or pin is None:
            continue
        transformer = pin.rpartition(".")[0]
        for net in view.nets(transformer):
            if view.is_ground(net) or scene.is_power(net):
                continue
            for there in view.pins(net):
                role = view.role(there.ref, there.number)
                if view.kind(there.ref) == "chip" and role in _OUTPUTS:
                    chain = replace(drive.chain, driver_pin=there.key)
                    return Drive(chain, there.ref, "chip")
    return None


def switching_stage(
    scene: Scene,
    kind: str,
    *,
    nodes: tuple[str, ...],
    input: str | None,
    output: str | None,
    high: tuple[Element, ...],
    low: tuple[Element, ...],
    inductors: tuple[str, ...],
    because: tuple[str, ...],
    missing: tuple[str, ...] = (),
    told: Command | None = None,
) -> Stage:
    """Build a stage with discrete switches.

    ``high`` and ``low`` may hold rectifiers; only transistors get gate chains.
    """
    told = told or command(scene, (*high, *low))
    chips = _floating_chips(scene, nodes, told)
    bootstrap: dict[str, None] = {}
    snubber: dict[str, None] = {}
    sense: dict[str, None] = {}
    tops = tuple(dict.fromkeys(e.low for e in low if not scene.view.is_ground(e.low)))
    for node in nodes:
        bootstrap.update(dict.fromkeys(bootstrap_parts(scene, node, chips)))
        snubber.update(
            dict.fromkeys(snubber_parts(scene, node, (input, output, *tops)))
        )
    for element in low:
        for ref in scene.to_ground(element.low) or ():
            if scene.view.kind(ref) == "resistor":
                sense[ref] = None
    input_rail = _entry(scene, input) if nodes else scene.rail_beyond(input)
    output_rail = output if output in nodes else scene.rail_beyond(output)
    for net, rail in ((input, input_rail), (output, output_rail)):
        if net is not None and net not in nodes and rail != net:
            sense.update(dict.fromkeys(between(scene, net, rail)))
    for node in nodes:
        sense.update(dict.fromkeys(sense_parts(scene, node)))
        sense.update(dict.fromkeys(winding_sense(scene, node, (output,))))
    return Stage(
        id="",
        kind=kind,
        switch_nodes=nodes,
        input=input,
        output=output,
        input_rail=input_rail,
        output_rail=output_rail,
        controller=told.controller,
        driver=told.driver,
        high_side=refs_of(high),
        low_side=refs_of(low),
        inductors=inductors,
        bootstrap=tuple(bootstrap),
        current_sense=with_parallel(scene, sense),
        snubber=tuple(ref for ref in snubber if ref not in bootstrap),
        gate_chains=told.chains,
        missing=(*told.missing, *missing),
        because=because,
    )


def _entry(scene: Scene, net: str | None) -> str | None:
    """Net beyond shunts where power comes in: at a connector, else the larger."""
    if net is not None and not scene.has_port(net):
        for other in scene.view.linked_nets(net):
            smoothed = other in scene.caps_to_ground
            if smoothed and scene.has_port(other) and scene.is_power(other):
                return other
    return scene.rail_beyond(net)


def with_parallel(scene: Scene, shunts: Iterable[str]) -> tuple[str, ...]:
    """Return shunts with those beside them: two of 1 milliohm carry as one."""
    view = scene.view
    found: dict[str, None] = {}
    for ref in shunts:
        found[ref] = None
        if view.kind(ref) != "resistor" or len(view.nets(ref)) != 2:
            continue
        if any(link.ohms for link in view.links_of(ref)):
            for other in view.two_pin_parts_between(*view.nets(ref), "resistor"):
                if any(link.ohms for link in view.links_of(other)):
                    found[other] = None
    return tuple(found)


def between(scene: Scene, net: str, rail: str | None) -> tuple[str, ...]:
    """Sense parts on the way from a stage's net to its rail."""
    if rail is None:
        return ()
    view = scene.view
    way = view.linked_nets(net).get(rail, ())
    found = []
    for ref in way:
        links = view.links_of(ref)
        shunt = any(link.ohms is not None and link.ohms > 0.0 for link in links)
        if (
            view.kind(ref) in ("chip", "other")
            or shunt
            or (view.kind(ref) == "resistor" and len(view.part(ref).pins) == 4)
        ):
            found.append(ref)
    return tuple(dict.fromkeys(found))


def rails_and_sense(
    scene: Scene, source: str | None, target: str | None
) -> tuple[str | None, str | None, tuple[str, ...]]:
    """Return the rails beyond a stage's input and output, and the shunts on the way."""
    rails = scene.rail_beyond(source), scene.rail_beyond(target)
    sense = [
        ref
        for net, rail in ((source, rails[0]), (target, rails[1]))
        if net is not None and rail != net
        for ref in between(scene, net, rail)
    ]
    return (*rails, tuple(dict.fromkeys(sense)))


def _floating_chips(
    scene: Scene, nodes: tuple[str, ...], told: Command
) -> tuple[str, ...]:
    """Chips that may hold the boot pin: the driver, and chips of all chains."""
    view = scene.view
    chips = [told.driver] if told.driver else []
    chips += [
        chain.driver_pin.rpartition(".")[0] for chain in told.chains if chain.driver_pin
    ]
    return tuple(
        ref for ref in dict.fromkeys(chips) if view.kind(ref) in ("chip", "other")
    )
