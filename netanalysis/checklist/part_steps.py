"""Steps of one part, for ``--part``."""

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.checklist.aux_steps import across_part
from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import (
    BODY_DIODE,
    CLAMP,
    COIL,
    HIGH,
    PRACTICE,
)
from ohmtrail.netanalysis.checklist.model import Expect, Step
from ohmtrail.netanalysis.polarity import is_p_type
from ohmtrail.netanalysis.recognise._natural import natural

__all__ = ["part_steps"]

#: Test current of diode mode, in amps.
_SURVEY_AMPS = 1e-3


def _links(bench: Bench, ref: str) -> list[Step]:
    steps: list[Step] = []
    for link in bench.view.links_of(ref):
        expect = COIL
        source = f"{PRACTICE}: conducts direct current"
        if link.ohms is not None:
            high = link.ohms * 1.05 + 0.1
            expect = Expect(link.ohms * 0.95, link.ohms, high, "ohms")
            source = f"marked {bench.view.part(ref).value}, 5 % assumed"
        if not link.always:
            expect, source = Expect(0.0, None, "OL", "ohms"), "may be open or closed"
        steps += bench.reading(
            f"Through {ref}",
            bench.low_ohm_mode(),
            bench.points.pad(ref, link.pin_a),
            bench.points.pad(ref, link.pin_b),
            expect=expect,
            source=source,
            why="A link: both of its nets read as one while it conducts.",
            if_low="",
            if_high="Open: the path is broken.",
            parts=(ref,),
            row=f"link {len(steps)}",
        )
    return steps


def _transistor(bench: Bench, ref: str) -> list[Step]:
    view, points = bench.view, bench.points
    steps: list[Step] = []
    names = ("gate", "source", "drain")
    if view.kind(ref) != "mosfet":
        names = (
            "gate" if view.kind(ref) == "igbt" else "base",
            "emitter",
            "collector",
        )
    for unit in view.units(ref):
        pads = {}
        for role in names:
            for pin in view.pins_with_role(ref, role, unit=unit):
                if pin.net is not None:
                    pads[role] = points.of(pin)
                    break
        gate, source, drain = (pads.get(role) for role in names)
        for title, red, black in (
            (f"{names[0]} to {names[1]}", gate, source),
            (f"{names[0]} to {names[2]}", gate, drain),
            (f"{names[2]} to {names[1]}", drain, source),
        ):
            steps += bench.reading(
                f"{ref}: {title}",
                "resistance",
                red,
                black,
                expect=HIGH if view.kind(ref) != "bipolar" else None,
                source=f"{PRACTICE}: high, less what lies across it in circuit",
                why="The part's own junctions and oxide.",
                if_low="Shorted, or a low path across it.",
                if_high="Open is good here.",
                parts=(ref,),
                row=f"{title} {unit}",
            )
        if view.kind(ref) == "mosfet":
            p_channel = is_p_type(view, ref, unit)
            where = "red on the drain" if p_channel else "red on the source"
            red, black = (drain, source) if p_channel else (source, drain)
            steps += bench.reading(
                f"{ref}: body diode ({where})",
                "diode",
                red,
                black,
                expect=BODY_DIODE,
                source=f"{PRACTICE}; a load across it reads lower",
                why="Shows the switch's own diode.",
                if_low="0.00x: shorted, or a load across it.",
                if_high="OL: open, or leads reversed.",
                parts=(ref,),
                row=f"body diode {unit}",
            )
    return steps


def _pin_expect(bench: Bench, ref: str, pin: Pin) -> tuple[Expect | None, str]:
    """Return what a pin reads in the survey, with what else ties its net down."""
    view = bench.view
    assert pin.net is not None
    if view.role(ref, pin.number) in ("supply", "output", "input", "switch"):
        return None, "a power pin reads its rail: compare with the rail's own step"
    if pin.net in bench.ground_like:
        return Expect(0.0, 0.0, 0.01, "volts"), "tied to ground by a shunt or bead"
    drops = [
        ohms * _SURVEY_AMPS
        for other, net in view.neighbours(pin.net, "resistor")
        if net in bench.ground_like and (ohms := view.ohms(other)) is not None
    ]
    if drops and min(drops) < 0.3:
        drop = min(drops)
        expect = Expect(drop * 0.5, drop, drop * 1.2 + 0.005, "volts")
        return expect, "1 mA over the resistor to ground on this net"
    if view.links_at(pin.net):
        return None, "a link leads on: compare with a good board"
    expect = Expect(CLAMP.low, CLAMP.typical, "OL", "volts")
    return expect, f"{PRACTICE}: 0.3 to 0.7 V over a clamp diode, or open"


def _pins(bench: Bench, ref: str) -> list[Step]:
    """Survey the pins of a chip in diode mode, red on ground, each net once."""
    view, points = bench.view, bench.points
    steps: list[Step] = []
    seen: set[str] = set()
    for pin in sorted(view.part(ref).pins, key=lambda pin: natural(pin.number)):
        if pin.net is None or view.is_ground(pin.net) or pin.net in seen:
            continue
        seen.add(pin.net)
        pad = points.of(pin)
        expect, source = _pin_expect(bench, ref, pin)
        steps += bench.reading(
            f"{ref}: pin survey, diode mode, red on ground",
            "diode",
            points.ground(pad),
            pad,
            expect=expect,
            source=source,
            why="Compare with a good board, or with like pins.",
            if_low="0.00x where more is expected: shorted, here or on the net.",
            if_high="OL: no clamp here, or the pin is off its pad.",
            parts=(ref,),
            row=f"pin {pin.number}",
        )
    return steps


def part_steps(bench: Bench, ref: str) -> list[Step]:
    """Return the readings of one part by its kind, in circuit."""
    view = bench.view
    kind = view.kind(ref)
    if not view.fitted(ref):
        return []
    if kind in ("mosfet", "igbt", "bipolar"):
        return _transistor(bench, ref)
    if view.links_of(ref):
        return _links(bench, ref)
    if len(view.nets(ref)) == 2:
        found = across_part(
            bench, ref, title=f"Across {ref}", why="The part itself.", row="across"
        )
        if found:
            return found
    return _pins(bench, ref)
