"""What can be wrong with each part: fault modes as paths, with their priors.

A fault is a resistance that nobody knows, somewhere between two ends of a range,
across two nets of a part; or a part that has gone open.  Ranges and shares are
common practice unless `failure_rates` names a source; they order suspects and are
never truth.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit, GateChain
from ohmtrail.netanalysis.failure_rates import short_rate
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.own_ground import own_ground

__all__ = ["Fault", "FaultPath", "all_faults", "chain_faults"]


@dataclass(frozen=True, slots=True)
class FaultPath:
    """A resistance across two nets, log-uniform between two values in ohms."""

    a: str
    b: str
    ohms_low: float
    ohms_high: float


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that can be wrong with one part."""

    ref: str
    #: In CONTRACT's words ("drain-source short", "pin short", "open" ...).
    name: str
    paths: tuple[FaultPath, ...] = ()
    #: The part conducts nothing any more.
    open: bool = False
    #: Failures of this sort per million hours, for the order of suspects.
    weight: float = 0.0
    #: The pin that a "pin short" or a dead output is about.
    pin: str = ""
    #: Nets of the part that the fault joins or cuts.
    nets: tuple[str, ...] = ()


#: Ranges in ohms (common practice, no source; TRADE: a punctured gate reads a few
#: ohms to some hundred, a dead driver near zero).
_CHANNEL = (0.02, 12.0)
_GATE = (2.0, 120.0)
_SHORT = (0.01, 16.0)
_PIN = (0.03, 30.0)
_OUTPUT = (0.4, 80.0)
_LEAK = (16.0, 3e3)

#: A short on a signal's net makes no dead rail: how much of its weight counts.
_SIGNAL_SHARE = 0.03
#: Nor does one across a switch node and its boot pin; an open gate resistor that no
#: punched gate took along is rare.
_ACROSS_SHARE, _OPEN_ALONE = 0.15, 0.2
#: How the shorts of a switch divide (common practice: mostly all three terminals).
_ALL, _CHANNEL_ONLY, _GATE_ONLY, _LEAKY = 0.68, 0.18, 0.06, 0.08
#: What the same punch-through takes with it, given a punched gate (common practice).
DRIVER_TOO, GATE_RESISTOR_TOO = 0.22, 0.12


def _path(a: str, b: str, ends: tuple[float, float]) -> FaultPath:
    return FaultPath(a, b, *ends)


def _switch_faults(view: CircuitView, ref: str, weight: float) -> Iterable[Fault]:
    ends: tuple[str, str, str] = ("collector", "emitter", "base")
    if view.kind(ref) == "mosfet":
        ends = ("drain", "source", "gate")
    elif view.kind(ref) == "igbt":
        ends = ("collector", "emitter", "gate")
    units = view.units(ref)
    for unit in units:
        far, near, gate = (view.net_with_role(ref, end, unit) for end in ends)
        if far is None or near is None or far == near:
            continue
        share = weight / max(1, len(units))
        channel = _path(far, near, _CHANNEL)
        pin = ""
        if len(units) > 1:
            pins = view.pins_with_role(ref, ends[1], unit=unit)
            pin = pins[0].number if pins else ""
        nets: tuple[str, ...] = (far, near)
        yield Fault(
            ref,
            "drain-source short",
            (channel,),
            False,
            share * _CHANNEL_ONLY,
            pin,
            nets,
        )
        yield Fault(
            ref,
            "leaky",
            (_path(far, near, _LEAK),),
            False,
            share * _LEAKY,
            pin,
            nets,
        )
        if gate is not None and gate not in (far, near):
            punched = _path(gate, near, _GATE)
            nets = (far, near, gate)
            yield Fault(
                ref, "all shorted", (channel, punched), False, share * _ALL, pin, nets
            )
            yield Fault(
                ref, "gate short", (punched,), False, share * _GATE_ONLY, pin, nets
            )


def _two_net_faults(view: CircuitView, ref: str, weight: float) -> Iterable[Fault]:
    nets = view.nets(ref)
    if len(nets) != 2:
        return
    yield Fault(ref, "short", (_path(*nets, _SHORT),), False, weight * 0.92, "", nets)
    if view.kind(ref) != "resistor":
        leak = (_path(*nets, _LEAK),)
        yield Fault(ref, "leaky", leak, False, weight * 0.08, "", nets)


def _chip_faults(
    view: CircuitView, ref: str, weight: float, asked: frozenset[str]
) -> Iterable[Fault]:
    grounds = [net for net in view.nets(ref) if view.is_ground(net)]
    ground = grounds[0] if grounds else (view.ground[0] if view.ground else None)
    if ground is None:
        return
    found: dict[str, str] = {}
    for pin in view.part(ref).pins:
        if pin.net is None or view.is_ground(pin.net):
            continue
        role = view.role(ref, pin.number)
        supplied = role in ("supply", "input", "output", "switch", "boot")
        if supplied or pin.net in view.rails or pin.net in asked:
            found.setdefault(pin.net, pin.number)
    rails = sum(1 for net in found if net in view.rails) or 1
    for net, number in found.items():
        if len(grounds) > 1:
            own = own_ground(view, net)
            ground = own if own in grounds else grounds[0]
        share = weight / rails if net in view.rails else weight * 0.05
        yield Fault(
            ref,
            "pin short",
            (_path(net, ground, _PIN),),
            False,
            share,
            number,
            (net, ground),
        )


def chain_faults(circuit: Circuit, view: CircuitView) -> dict[str, tuple[Fault, ...]]:
    """Return, by switch, what a punched gate can have taken along.

    The driver's output (to the switch's own source side, as it drives against it)
    and every series part of the gate chain gone open.
    """
    made: dict[str, list[Fault]] = {}
    open_alone = _OPEN_ALONE * 0.0012 * 0.59
    for stage in circuit.stages:
        for chain in stage.gate_chains:
            faults = made.setdefault(chain.switch, [])
            dead = _driver_dead(view, chain)
            if dead is not None:
                faults.append(dead)
            for ref in (*chain.series, *chain.turn_off):
                if view.kind(ref) in ("resistor", "bead", "inductor", "jumper"):
                    faults.append(
                        Fault(ref, "open", (), True, open_alone, "", view.nets(ref))
                    )
    return {switch: tuple(dict.fromkeys(found)) for switch, found in made.items()}


def _driver_dead(view: CircuitView, chain: GateChain) -> Fault | None:
    if chain.driver_pin is None:
        return None
    ref, _, number = chain.driver_pin.rpartition(".")
    gate_ref, _, gate_number = chain.gate.rpartition(".")
    if ref not in view.board.part_by_ref or gate_ref not in view.board.part_by_ref:
        return None
    output = view.net_of(ref, number)
    unit = view.unit(gate_ref, gate_number)
    source = view.net_with_role(gate_ref, "source", unit) or view.net_with_role(
        gate_ref, "emitter", unit
    )
    if output is None or source is None or output == source:
        return None
    return Fault(
        ref,
        "driver output dead",
        (_path(output, source, _OUTPUT),),
        False,
        0.002,
        number,
        (output, source),
    )


def all_faults(
    circuit: Circuit, view: CircuitView, asked: Iterable[str] = ()
) -> tuple[Fault, ...]:
    """Return every fault mode of every fitted part that direct current can tell.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    view : CircuitView
        Its questions.
    asked : iterable of str
        Nets that have been read: any chip pin on them may be the fault.

    Notes
    -----
    O(pins).  Rates from `ohmtrail.netanalysis.failure_rates`.
    """
    nets = frozenset(asked)
    found: dict[tuple[str, str, tuple[FaultPath, ...], bool], Fault] = {}
    made: list[Fault] = []
    power = _power_nets(circuit, view)
    for part in circuit.board.parts:
        ref = part.ref
        if not view.fitted(ref):
            continue
        kind = view.kind(ref)
        known = circuit.kinds.get(ref)
        if known is None or kind in ("testpoint", "connector", "battery"):
            continue
        weight = short_rate(part, known).weight
        if kind in ("mosfet", "igbt", "bipolar"):
            made += _switch_faults(view, ref, weight)
        elif kind == "chip":
            made += _chip_faults(view, ref, weight, nets)
        elif kind in ("capacitor", "diode", "zener", "tvs", "led"):
            mine = {net for net in view.nets(ref) if not view.is_ground(net)}
            if not mine & (power | nets):
                weight *= _SIGNAL_SHARE
            elif len(mine) == 2 and not mine <= view.rails.keys():
                weight *= _ACROSS_SHARE
            made += _two_net_faults(view, ref, weight)
    made += _inner_switches(circuit, view)
    for faults in chain_faults(circuit, view).values():
        made += faults
    for fault in made:
        key = (fault.ref, fault.name, fault.paths, fault.open)
        if key not in found:
            found[key] = fault
    return tuple(found.values())


def _power_nets(circuit: Circuit, view: CircuitView) -> set[str]:
    """Return rails, what links join to them, and the nodes of the stages."""
    found = {rail.net for rail in circuit.rails}
    for link in circuit.links:
        if link.net_a in found or link.net_b in found:
            found.update((link.net_a, link.net_b))
    for stage in circuit.stages:
        found.update(stage.switch_nodes)
        found.update(net for net in (stage.input, stage.output) if net)
        for ref in (*stage.high_side, *stage.low_side, *stage.bootstrap):
            if ref in view.board.part_by_ref:
                found.update(view.nets(ref))
    return {net for net in found if not view.is_ground(net)}


def _inner_switches(circuit: Circuit, view: CircuitView) -> Iterable[Fault]:
    """Shorts of the switches inside chips: input to switch pin, input to output."""
    from ohmtrail.netanalysis.switch_paths import switch_paths

    for path in switch_paths(circuit, view):
        if view.kind(path.ref) == "chip":
            nets = (path.net_a, path.net_b)
            yield Fault(
                path.ref,
                "pin short",
                (_path(*nets, _CHANNEL),),
                False,
                0.003,
                _pin_on(view, path.ref, path.net_a),
                nets,
            )


def _pin_on(view: CircuitView, ref: str, net: str) -> str:
    pins = view.pins_on(ref, net)
    return pins[0].number if pins else ""


def by_ref(faults: Iterable[Fault]) -> Mapping[str, tuple[Fault, ...]]:
    """Group faults by their part."""
    made: dict[str, list[Fault]] = {}
    for fault in faults:
        made.setdefault(fault.ref, []).append(fault)
    return {ref: tuple(found) for ref, found in made.items()}
