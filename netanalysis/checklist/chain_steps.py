"""Steps of the gate chains: driver outputs, gate resistors, gates."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import (
    CLAMP,
    HIGH,
    PRACTICE,
    diode_expect,
    marked_ohms,
    pull_down_expect,
)
from ohmtrail.netanalysis.checklist.model import Expect, Step
from ohmtrail.netanalysis.checklist.points import Probe
from ohmtrail.netanalysis.checklist.switch_places import Switch
from ohmtrail.netanalysis.circuit import Stage

__all__ = ["driver_steps", "gate_resistor_steps", "gate_steps"]

_DRIVER_WHY = (
    "A driver output that is stuck or shorted kills the next switch; after a "
    "drain-to-gate failure it is suspect until measured."
)
_DRIVER_LOW = (
    "Driver output dead, or the gate that it feeds: lift the gate resistor (or the "
    "switch) and read both sides again."
)


def _driver_words(bench: Bench, stage: Stage) -> tuple[str, str]:
    """Return what a high reading means, and how its range ends."""
    if bench.sisters(stage) > 1:
        return "Open is good here; compare with the sister stage.", (
            ", equal in sister stages"
        )
    return "Open is good here.", ""


def driver_steps(
    bench: Bench, stage: Stage, switches: tuple[Switch, ...]
) -> list[Step]:
    """Read each driver output to the source of the switch that it drives."""
    steps: list[Step] = []
    seen: set[tuple[str, str | None]] = set()
    if_high, equal = _driver_words(bench, stage)
    for one in switches:
        if one.chain is None or one.chain.driver_pin is None or one.source is None:
            continue
        output = bench.points.key(one.chain.driver_pin)
        if (output.text, one.source.net) in seen:
            continue
        seen.add((output.text, one.source.net))
        own_net = one.gate is not None and output.net == one.gate.net
        parts = [output.pin.ref if output.pin is not None else "", one.ref]
        row = f"driver {one.row}"
        if not own_net or "diode" not in bench.have:
            steps += bench.reading(
                "Driver outputs to the source of their switch",
                "resistance",
                output,
                one.source,
                expect=HIGH,
                source=f"{PRACTICE}: kilo-ohms or more{equal}",
                why=_DRIVER_WHY,
                if_low=_DRIVER_LOW,
                if_high=if_high,
                stage=stage.id,
                parts=parts,
                row=row,
            )
            continue
        # No resistor between: in resistance this is the gate itself.
        steps += bench.reading(
            "Driver outputs, diode mode (red on the source)",
            "diode",
            one.source,
            output,
            expect=Expect(CLAMP.low, CLAMP.typical, "OL", "volts"),
            source=f"{PRACTICE}: a diode drop or open{equal}",
            why=_DRIVER_WHY,
            if_low="Near 0: driver output dead, or the gate that it feeds (no resistor "
            "between): one of them must come off to tell.",
            if_high=if_high,
            stage=stage.id,
            parts=parts,
            row=row,
        )
    return steps


def _ends_along(
    bench: Bench, start: str | None, refs: tuple[str, ...]
) -> list[tuple[str, Probe, Probe]]:
    """Return (ref, pin toward the start, other pin) for two-net parts in series."""
    found = []
    here = start
    for ref in refs:
        nets = bench.view.nets(ref)
        if len(nets) != 2:
            here = None
            continue
        if here not in nets:
            here = nets[0]
        other = nets[1] if nets[0] == here else nets[0]
        assert here is not None
        near = bench.points.of(bench.view.pins_on(ref, here)[0])
        far = bench.points.of(bench.view.pins_on(ref, other)[0])
        found.append((ref, near, far))
        here = other
    return found


def gate_resistor_steps(
    bench: Bench, stage: Stage, switches: tuple[Switch, ...]
) -> list[Step]:
    """Read every part between driver and gate, and each turn-off path."""
    series: list[Step] = []
    turn_off: list[Step] = []
    seen: set[str] = set()
    for one in switches:
        if one.chain is None:
            continue
        start = None
        if one.chain.driver_pin is not None:
            start = bench.points.key(one.chain.driver_pin).net
        gate_net = one.gate.net if one.gate is not None else None
        for word, steps, refs, begin in (
            ("series", series, one.chain.series, start),
            ("turn-off", turn_off, one.chain.turn_off, gate_net),
        ):
            for number, (ref, near, far) in enumerate(_ends_along(bench, begin, refs)):
                if ref in seen:
                    continue
                seen.add(ref)
                row = f"{word} {number} {one.row}"
                steps += _across(bench, stage, ref, near, far, row, one.ref)
    return series + turn_off


def _across(
    bench: Bench, stage: Stage, ref: str, near: Probe, far: Probe, row: str, switch: str
) -> list[Step]:
    if bench.view.kind(ref) == "diode":
        roles = {
            bench.view.role(ref, probe.pin.number): probe
            for probe in (near, far)
            if probe.pin
        }
        red, black = roles.get("anode", near), roles.get("cathode", far)
        forward, source = diode_expect(bench.view, ref)
        return bench.reading(
            "Turn-off diodes, forward",
            "diode",
            red,
            black,
            expect=forward,
            source=source,
            why="Shorted, it bypasses the gate resistor; open, the switch turns off "
            "too late and both sides conduct at once.",
            if_low="Near 0: shorted, or a low resistor lies across it.",
            if_high="Open, or the leads are reversed."
            if forward.low
            else "The resistor across it is open or high: read that again.",
            stage=stage.id,
            parts=(ref, switch),
            row=row,
        )
    nets = bench.view.nets(ref)
    across = bench.view.two_pin_parts_between(nets[0], nets[1], "resistor")
    expect, source = marked_ohms(bench.view, ref, across)
    return bench.reading(
        "Gate resistors",
        "resistance",
        near,
        far,
        expect=expect,
        source=source,
        why="Open or high leaves the gate floating and kills a new switch.",
        if_low="Something lies across it: a solder bridge, or a wrong part.",
        if_high="Open or drifted: replace it before any new switch; read its driver.",
        stage=stage.id,
        parts=(ref, switch),
        row=row,
    )


def _pull_downs(switches: tuple[Switch, ...], one: Switch) -> list[str]:
    """Pull-downs that a meter sees at this gate: those of its mates too."""
    found: list[str] = []
    for other in switches:
        if other.chain is None or one.chain is None:
            continue
        same_drive = (
            other.chain.driver_pin is not None
            and other.chain.driver_pin == one.chain.driver_pin
        )
        if other is one or (same_drive and other.mates == one.mates):
            found += other.chain.pull_down
    return found


def gate_steps(bench: Bench, stage: Stage, switches: tuple[Switch, ...]) -> list[Step]:
    """Read each gate to its source, then to its drain."""
    steps: list[Step] = []
    to_drain: list[Step] = []
    for one in switches:
        if one.gate is None:
            continue
        refs = _pull_downs(switches, one)
        expect, source = pull_down_expect(bench.view, refs)
        steps += bench.reading(
            "Gate to source",
            "resistance",
            one.gate,
            one.source,
            expect=expect,
            source=source,
            why="A punctured gate reads a few ohms to some hundred; 10 to 20 ohms are "
            "typical of one.",
            if_low="Gate punctured, or the driver output holds it: lift the gate "
            "resistor to tell."
            + (
                " Its mates read a little higher than the punctured one."
                if len(one.mates) > 1
                else ""
            ),
            if_high="Pull-down open: the gate floats without it."
            if refs
            else "Open is good here.",
            stage=stage.id,
            parts=(one.ref, *refs),
            row=f"gate-source {one.row}",
        )
        low = HIGH.low if not isinstance(expect.low, float) else min(expect.low, 1e3)
        to_drain += bench.reading(
            "Gate to drain",
            "resistance",
            one.gate,
            one.drain,
            expect=Expect(low, None, "OL", "ohms"),
            source=f"{PRACTICE}: high both ways, less the pull-down and the load",
            why="A drain-to-gate short puts the drain's voltage on the driver pin.",
            if_low="Drain and gate joined: replace the whole parallel set; driver, "
            "gate resistor and bootstrap are suspect until measured.",
            if_high="Open is good here.",
            stage=stage.id,
            parts=(one.ref,),
            row=f"gate-drain {one.row}",
        )
    return steps + to_drain
