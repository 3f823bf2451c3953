"""Steps of a stage: driver, gate resistor, gate, switch, node, inductor, output."""

from ohmtrail.netanalysis.checklist.aux_steps import aux_steps, control_steps
from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.chain_steps import (
    driver_steps,
    gate_resistor_steps,
    gate_steps,
)
from ohmtrail.netanalysis.checklist.expectations import (
    BODY_DIODE,
    COIL,
    HIGH,
    PRACTICE,
    SCHOTTKY,
    marked_ohms,
    rail_expect,
)
from ohmtrail.netanalysis.checklist.inside_steps import inside_steps
from ohmtrail.netanalysis.checklist.model import COLD, Expect, Step
from ohmtrail.netanalysis.checklist.switch_places import Switch, switches_of
from ohmtrail.netanalysis.circuit import Stage

__all__ = ["stage_steps"]


def _load_net(stage: Stage) -> str | None:
    return stage.output_rail or stage.output


def _across_switch(
    bench: Bench, stage: Stage, one: Switch
) -> tuple[Expect | None, str]:
    """Drain to source of a healthy switch: what lies across it in circuit."""
    if stage.switch_nodes and not stage.inductors:
        return HIGH, f"{PRACTICE}: high, with the load unplugged"
    expect, source = rail_expect(bench.volts(_load_net(stage)))
    if expect is None:
        return None, "unknown: the output rail's voltage is not known"
    if one.side == "low side":
        return expect, f"{source}, through the inductor"
    return expect, f"{PRACTICE}: input and output rail in series lie across it"


def _shorted_words(bench: Bench, stage: Stage, one: Switch) -> str:
    words = "Near 0: shorted, or a low load lies across it"
    if bench.sisters(stage) > 1:
        words += ": same in all sister stages is the load, one odd stage is the switch"
    if len(one.mates) > 1:
        words += ". The lowest at its own pads (four wires) is the likeliest"
    elif one.side == "low side" and stage.inductors:
        words += "; lift the inductor to read the switch alone"
    elif bench.sisters(stage) == 1:
        words += ": read the output to ground; if that is high, it is the switch"
    return f"{words}."


def _switch_steps(
    bench: Bench, stage: Stage, switches: tuple[Switch, ...]
) -> list[Step]:
    steps: list[Step] = []
    for one in switches:
        expect, source = _across_switch(bench, stage, one)
        # Against the body diode.
        red, black = one.drain, one.source
        if one.p_channel:
            red, black = black, red
        steps += bench.reading(
            f"Switches, drain to source, {one.side}",
            "resistance",
            red,
            black,
            expect=expect,
            source=source,
            why="When one of a parallel set is shorted, all of it reads shorted."
            if len(one.mates) > 1
            else "A shorted switch is a link: what lies beyond it then reads low too.",
            if_low=_shorted_words(bench, stage, one),
            if_high="Open is good here.",
            stage=stage.id,
            parts=(one.ref, *one.mates),
            row=f"drain-source {one.row}",
        )
    seen: set[tuple[str, tuple[str, ...]]] = set()
    for one in switches:
        # Mates share their diodes; two sides of one package do not.
        if not one.has_body_diode or (one.side, one.mates) in seen:
            continue
        if len(one.mates) > 1:
            seen.add((one.side, one.mates))
        expect, source = BODY_DIODE, f"{PRACTICE}; parallel body diodes read lower"
        load = bench.volts(_load_net(stage))
        if one.side == "low side" and stage.inductors and (load is None or load < 2.0):
            # The load lies across it and may be a few ohms: then it reads that.
            expect = Expect(0.0, None, 0.7, "volts")
            source = f"{PRACTICE}; the load lies across it and may read lower"
        channel = (
            "P-channel, red on the drain" if one.p_channel else "red on the source"
        )
        red, black = one.source, one.drain
        if one.p_channel:
            red, black = black, red
        steps += bench.reading(
            f"Body diodes, {one.side} ({channel})",
            "diode",
            red,
            black,
            expect=expect,
            source=source,
            why="Shows the switch's own diode where the load is high enough.",
            if_low="0.00x: shorted, or the load: see drain to source.",
            if_high="OL: switch or its solder open, or leads reversed.",
            stage=stage.id,
            parts=(one.ref, *one.mates),
            row=f"body diode {one.row}",
        )
    for mates in dict.fromkeys(one.mates for one in switches if len(one.mates) > 1):
        side = next(one.side for one in switches if one.mates == mates)
        steps.append(
            bench.note(
                "Parallel switches: replace the whole set",
                COLD,
                "If removing one clears the short, the short went with it; that proves "
                "nothing of its mates' health: they shared the fault and may fail at "
                "power-up. Measure each removed part in the hand; replace all, same "
                "part, same lot.",
                parts=mates,
                stage=stage.id,
                source="engineering practice; same lot: makers' notes on paralleling",
                row=f"set {side}",
            )
        )
    return steps


def _diode_switches(bench: Bench, stage: Stage) -> list[Step]:
    steps: list[Step] = []
    for ref in dict.fromkeys((*stage.high_side, *stage.low_side)):
        if bench.view.kind(ref) != "diode":
            continue
        red = bench.view.pins_with_role(ref, "anode")
        black = bench.view.pins_with_role(ref, "cathode")
        if not red or not black:
            continue
        steps += bench.reading(
            "Rectifier diode, forward",
            "diode",
            bench.points.of(red[0]),
            bench.points.of(black[0]),
            expect=Expect(SCHOTTKY.low, None, 0.7, "volts"),
            source=f"{PRACTICE}: Schottky 0.12 to 0.45 V, silicon to 0.7 V",
            why="It stands in a switch's place: shorted, it ties the switch node.",
            if_low="Near 0: shorted, or the load lies across it: reverse the leads; a "
            "short reads the same both ways.",
            if_high="Open, or leads reversed.",
            stage=stage.id,
            parts=(ref,),
            row="rectifier",
        )
    return steps


def _node_why(bench: Bench, stage: Stage) -> str:
    if bench.sisters(stage) > 1:
        return (
            "All nodes of one rail are tied together through their inductors and read "
            "the same: that is no evidence against any one phase."
        )
    return "Reads the output rail through the inductor, with what hangs on the node."


def _node_steps(bench: Bench, stage: Stage) -> list[Step]:
    steps: list[Step] = []
    expect, source = rail_expect(bench.volts(_load_net(stage)))
    if stage.inductors:
        source += ", through the inductor"
    inside = (stage.controller,) if stage.controller and not stage.low_side else ()
    tied = bool(stage.inductors)
    for number, node in enumerate(stage.switch_nodes):
        probe = bench.points.net(node)
        steps += bench.reading(
            "Switch node to ground",
            "resistance",
            probe,
            bench.points.ground(probe),
            expect=expect if tied else HIGH,
            source=source if tied else f"{PRACTICE}: high, with the load unplugged",
            why=_node_why(bench, stage)
            if tied
            else "Unplug the load: its windings tie the nodes together and make all "
            "of them read the same.",
            if_low="Low side, snubber, or the output rail itself: lift the inductor to "
            "read the node alone."
            if tied
            else "Low side, snubber, or what is still connected.",
            if_high="Inductor or its solder open." if tied else "Open is good here.",
            stage=stage.id,
            parts=(*stage.low_side, *stage.snubber, *inside),
            row=f"node {number}",
        )
    return steps


def _path_steps(bench: Bench, stage: Stage) -> list[Step]:
    """Inductors, sense shunts and the output, along the current."""
    view, points = bench.view, bench.points
    steps: list[Step] = []
    for number, ref in enumerate(stage.inductors):
        for link in view.links_of(ref):
            first, second = link.pin_a, link.pin_b
            if (
                link.net_b in stage.switch_nodes
                and link.net_a not in stage.switch_nodes
            ):
                first, second = second, first
            steps += bench.reading(
                "Inductor",
                bench.low_ohm_mode(),
                points.pad(ref, first),
                points.pad(ref, second),
                expect=COIL,
                source=f"{PRACTICE}: a power winding reads under an ohm",
                why="The current's way from switch node to output.",
                if_low="",
                if_high="Cracked joint or open winding: the path is broken.",
                stage=stage.id,
                parts=(ref,),
                row=f"inductor {number} {len(steps)}",
            )
    for number, ref in enumerate(stage.current_sense):
        if view.kind(ref) != "resistor" or len(view.nets(ref)) != 2:
            continue
        a, b = view.nets(ref)
        mates = view.two_pin_parts_between(a, b, "resistor", "inductor")
        shunts = [one for one in mates if view.kind(one) == "resistor"]
        if any(view.kind(one) == "inductor" for one in mates):
            continue
        low_ohms = (view.ohms(ref) or 0.0) < 1.0
        mode = bench.low_ohm_mode() if low_ohms else "resistance"
        expect, source = marked_ohms(view, ref, shunts, mode)
        steps += bench.reading(
            "Current sense",
            mode,
            points.of(view.pins_on(ref, a)[0]),
            points.of(view.pins_on(ref, b)[0]),
            expect=expect,
            source=source,
            why="A burnt shunt opens the path or misleads the controller.",
            if_low="Bridged: the controller no longer sees the current.",
            if_high="Open or burnt: find what overloaded it.",
            stage=stage.id,
            parts=(ref, *shunts),
            row=f"sense {number}",
        )
    out = _load_net(stage)
    if out is not None and not view.is_ground(out) and out not in stage.switch_nodes:
        probe = points.net(out)
        expect, source = rail_expect(bench.volts(out))
        steps += bench.reading(
            "Output to ground",
            "resistance",
            probe,
            points.ground(probe),
            expect=expect,
            source=source,
            why="The load. If a high-side switch shorted while powered, the load took "
            "the input's voltage: judge it before ordering switches.",
            if_low="The load or an output capacitor is down: run 'short' on this net.",
            if_high="No load is connected, or the path to it is open.",
            stage=stage.id,
            parts=stage.output_caps,
            row="output",
        )
    return steps


def stage_steps(bench: Bench, stage: Stage) -> list[Step]:
    """Return a stage's cold readings in the order that current and drive take.

    Driver outputs, gate resistors and turn-off paths, gates, switches, switch node
    with bootstrap and snubber, inductor, sense, output, then what the controller
    needs.  Each step's ``row`` is the same in sister stages.
    """
    switches = switches_of(bench, stage)
    return [
        *driver_steps(bench, stage, switches),
        *gate_resistor_steps(bench, stage, switches),
        *gate_steps(bench, stage, switches),
        *_switch_steps(bench, stage, switches),
        *inside_steps(bench, stage),
        *_diode_switches(bench, stage),
        *_node_steps(bench, stage),
        *aux_steps(bench, stage),
        *_path_steps(bench, stage),
        *control_steps(bench, stage),
    ]
