"""What lives on a rail, and which chip people call the processor."""

from collections.abc import Iterable

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["loads_on", "processors"]


def loads_on(circuit: Circuit, view: CircuitView, nets: Iterable[str]) -> list[str]:
    """Return what lives on some rails; connectors do not."""
    wanted = set(nets)
    return [
        ref
        for rail in circuit.rails
        if rail.net in wanted
        for ref in rail.loads
        if view.kind(ref) != "connector"
    ]


def processors(circuit: Circuit, view: CircuitView) -> list[str]:
    """Return the chip that people call the processor: the load with most pins.

    Chips that make or switch a rail are none; those that tie are all named (common
    practice, no source).
    """
    makers = {rail.source for rail in circuit.rails}
    for stage in circuit.stages:
        makers |= {stage.controller, stage.driver}
    size = {
        ref: len(view.part(ref).pins)
        for rail in circuit.rails
        for ref in rail.loads
        if ref not in makers and view.kind(ref) == "chip" and view.fitted(ref)
    }
    return [ref for ref, pins in size.items() if pins == max(size.values())]
