"""Which stages a net is part of."""

from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["find_stage", "stage_nets", "stages_on_net"]


def stage_nets(stage: Stage) -> frozenset[str]:
    """Return the nets at which a stage takes in, switches and gives out."""
    ends = (stage.input, stage.output, stage.input_rail, stage.output_rail)
    return frozenset((*stage.switch_nodes, *(net for net in ends if net is not None)))


def stages_on_net(circuit: Circuit, net: str) -> tuple[Stage, ...]:
    """Return the stages that take from, switch or feed a net."""
    return tuple(stage for stage in circuit.stages if net in stage_nets(stage))


def find_stage(circuit: Circuit, asked: str) -> Stage:
    """Return the stage that is meant: its id, or part of it when unique.

    Raises
    ------
    NotOnBoardError
        If there is none, with the nearest ids, or several.
    """
    from ohmtrail.netanalysis.nearest import NotOnBoardError, nearest

    by_id = {stage.id: stage for stage in circuit.stages}
    if asked in by_id:
        return by_id[asked]
    folded = asked.casefold()
    found = [one for one in by_id if one.casefold() == folded]
    found = found or [one for one in by_id if one.casefold().endswith(folded)]
    found = found or [one for one in by_id if folded in one.casefold()]
    if len(found) == 1:
        return by_id[found[0]]
    if found:
        shown = "; ".join(found[:4]) + ("; ..." if len(found) > 4 else "")
        raise NotOnBoardError(f"{asked!r} can be any of {len(found)} stages: {shown}")
    near = nearest(asked, by_id) or tuple(by_id)[:3]
    hint = f"; nearest: {'; '.join(near)}" if near else "; none is recognised"
    raise NotOnBoardError(f"no stage {asked!r} on the board{hint}", asked, near)
