"""Steps of a stage whose switches are inside a chip."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import PRACTICE, rail_expect
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.checklist.points import Probe
from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.inside_switches import chips_inside, inside_pairs

__all__ = ["inside_steps"]


def _pad(bench: Bench, ref: str, net: str | None) -> Probe | None:
    if net is None:
        return None
    pins = bench.view.pins_on(ref, net)
    return bench.points.of(pins[0]) if pins else None


def inside_steps(bench: Bench, stage: Stage) -> list[Step]:
    """Read the switches inside a chip at its pins, from input to output or node.

    Of a boost converter the upper switch leads from node to output; from input to
    node lies its coil.  Nothing for stages with discrete switches.
    """
    steps: list[Step] = []
    load = stage.output_rail or stage.output
    expect, source = rail_expect(bench.volts(load))
    for chip in chips_inside(bench.view, stage):
        pairs = [
            (low, high) for low, high in inside_pairs(stage, chip) if low is not None
        ]
        for number, (low, high) in enumerate(pairs):
            upper = bool(stage.inductors) and high == stage.output
            steps += bench.reading(
                "Switch inside the chip, output to switch pin"
                if upper
                else "Switch inside the chip, input to output pin",
                "resistance",
                _pad(bench, chip, high),
                _pad(bench, chip, low),
                expect=expect,
                source=source
                if expect is None
                else f"{PRACTICE}: input and output rail in series lie across it",
                why="A shorted upper switch lets the output back into the coil: the "
                "lower switch then shorts the output."
                if upper
                else "A shorted pass or high-side switch ties input and output rail "
                "together: the load has then seen the input's voltage.",
                if_low="Near 0: the switch in the chip is shorted; judge the load.",
                if_high="Open is good here.",
                stage=stage.id,
                parts=(chip,),
                row=f"inside {number}",
            )
    return steps
