"""Which sets and stages a part belongs to."""

from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["parallel_mates", "stage_refs", "stages_of_part"]


def parallel_mates(circuit: Circuit, ref: str) -> tuple[str, ...]:
    """Return the other parts of the parallel sets that a part is in."""
    mates: dict[str, None] = {}
    for one in circuit.parallel_sets:
        if ref in one.parts:
            mates.update(dict.fromkeys(mate for mate in one.parts if mate != ref))
    return tuple(mates)


def stage_refs(stage: Stage) -> frozenset[str]:
    """Return every part of a stage."""
    refs: set[str] = set()
    for chain in stage.gate_chains:
        refs.update((chain.switch, *chain.series, *chain.turn_off, *chain.pull_down))
    for group in (
        stage.high_side,
        stage.low_side,
        stage.inductors,
        stage.bootstrap,
        stage.current_sense,
        stage.snubber,
        stage.input_caps,
        stage.output_caps,
    ):
        refs.update(group)
    refs.update(ref for ref in (stage.controller, stage.driver) if ref is not None)
    return frozenset(refs)


def stages_of_part(circuit: Circuit, ref: str) -> tuple[Stage, ...]:
    """Return the stages that a part belongs to, in any position."""
    return tuple(stage for stage in circuit.stages if ref in stage_refs(stage))
