"""Steps of a stage whose switches are inside a chip."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import PRACTICE, rail_expect
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.checklist.points import Probe
from ohmtrail.netanalysis.circuit import Stage

__all__ = ["inside_steps"]


def _pad(bench: Bench, ref: str, net: str | None) -> Probe | None:
    if net is None:
        return None
    pins = bench.view.pins_on(ref, net)
    return bench.points.of(pins[0]) if pins else None


def inside_steps(bench: Bench, stage: Stage) -> list[Step]:
    """Read the switches inside a chip at its pins, from input to output or node.

    Nothing for stages with discrete switches.
    """
    view = bench.view
    chips = [
        ref
        for ref in dict.fromkeys((*stage.high_side, *stage.low_side))
        if view.kind(ref) == "chip"
    ]
    bare = not stage.high_side and not stage.low_side
    if not chips and stage.controller and (bare or "integrated" in stage.kind):
        # With a catch diode beside it, the chip still holds the upper switch.
        chips = [stage.controller]
    steps: list[Step] = []
    load = stage.output_rail or stage.output
    expect, source = rail_expect(bench.volts(load))
    for chip in chips:
        nodes = stage.switch_nodes or ((stage.output,) if stage.output else ())
        for number, node in enumerate(nodes):
            first = stage.input if number == 0 else stage.output
            steps += bench.reading(
                "Switch inside the chip, input to output pin",
                "resistance",
                _pad(bench, chip, first),
                _pad(bench, chip, node),
                expect=expect,
                source=source
                if expect is None
                else f"{PRACTICE}: input and output rail in series lie across it",
                why="A shorted pass or high-side switch ties input and output rail "
                "together: the load has then seen the input's voltage.",
                if_low="Near 0: the switch in the chip is shorted; judge the load.",
                if_high="Open is good here.",
                stage=stage.id,
                parts=(chip,),
                row=f"inside {number}",
            )
    return steps
