"""Steps of what a stage needs beside its power path."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import (
    PRACTICE,
    capacitor_expect,
    diode_expect,
    marked_ohms,
)
from ohmtrail.netanalysis.checklist.model import Expect, Step
from ohmtrail.netanalysis.circuit import Stage

__all__ = ["across_part", "aux_steps", "control_steps"]


def across_part(
    bench: Bench,
    ref: str,
    *,
    title: str,
    why: str,
    stage: str | None = None,
    row: str = "",
) -> list[Step]:
    """Read one two-net part by its kind: resistor, capacitor or diode."""
    view, points = bench.view, bench.points
    nets = view.nets(ref)
    if len(nets) != 2 or not view.fitted(ref):
        return []
    red = points.of(view.pins_on(ref, nets[0])[0])
    black = points.of(view.pins_on(ref, nets[1])[0])
    kind = view.kind(ref)
    if view.is_ground(nets[0]):
        red, black = black, red
    if kind == "resistor":
        mates = view.two_pin_parts_between(nets[0], nets[1], "resistor")
        expect, source = marked_ohms(view, ref, mates)
        return bench.reading(
            title,
            "resistance",
            red,
            black,
            expect=expect,
            source=source,
            why=why,
            if_low="Another path lies across it; lift one end to be sure.",
            if_high="Open or drifted.",
            stage=stage,
            parts=(ref,),
            row=row,
        )
    if kind in ("diode", "zener", "led", "tvs"):
        for pin in view.part(ref).pins:
            role = view.role(ref, pin.number)
            if role == "anode":
                red = points.of(pin)
            elif role == "cathode":
                black = points.of(pin)
        expect, source = diode_expect(view, ref)
        return bench.reading(
            title,
            "diode",
            red,
            black,
            expect=expect,
            source=source,
            why=why,
            if_low="Near 0: shorted, or a low path across it: reverse the leads, a "
            "short reads the same both ways.",
            if_high="Open, or leads reversed."
            if expect.low
            else "The resistor across it is open or high: read that again.",
            stage=stage,
            parts=(ref,),
            row=row,
        )
    if kind == "capacitor":
        expect, source = capacitor_expect(view, ref)
        return bench.reading(
            title,
            "resistance",
            red,
            black,
            expect=expect,
            source=source,
            why=why,
            if_low="Shorted or leaky, or what lies across it: lift one end.",
            if_high="Open is good here.",
            stage=stage,
            parts=(ref,),
            row=row,
        )
    return []


def aux_steps(bench: Bench, stage: Stage) -> list[Step]:
    """Read bootstrap and snubber parts."""
    steps: list[Step] = []
    by_kind = sorted(stage.bootstrap, key=bench.view.kind)
    for number, ref in enumerate(by_kind):
        steps += across_part(
            bench,
            ref,
            title="Bootstrap parts",
            why="Shorted or open, the high-side gate gets no drive, or a half one.",
            stage=stage.id,
            row=f"bootstrap {number}",
        )
    for number, ref in enumerate(stage.snubber):
        steps += across_part(
            bench,
            ref,
            title="Snubber parts",
            why="A shorted capacitor here loads the switch node through its resistor.",
            stage=stage.id,
            row=f"snubber {number}",
        )
    return steps


def control_steps(bench: Bench, stage: Stage) -> list[Step]:
    """Read supply and enable pins of driver and controller to ground."""
    view, points = bench.view, bench.points
    steps: list[Step] = []
    for ref in dict.fromkeys((stage.driver, stage.controller)):
        if ref is None or view.kind(ref) != "chip":
            continue
        seen: set[str] = set()
        number = 0
        for role, title, why in (
            ("supply", "Supply of driver and controller", "No supply, no drive."),
            ("enable", "Enable lines", "Held down, the stage never starts."),
        ):
            for pin in view.pins_with_role(ref, role):
                if pin.net is None or pin.net in seen or view.is_ground(pin.net):
                    continue
                if pin.net in (stage.input, stage.output, stage.input_rail):
                    continue
                seen.add(pin.net)
                pad = points.of(pin)
                steps += bench.reading(
                    title,
                    "resistance",
                    pad,
                    points.ground(pad),
                    expect=Expect(200.0, None, "OL", "ohms"),
                    source=PRACTICE,
                    why=why,
                    if_low="Chip or its supply capacitor down.",
                    if_high="Open is good here.",
                    stage=stage.id,
                    parts=(ref,),
                    row=f"control {role} {number}",
                )
                number += 1
    return steps
