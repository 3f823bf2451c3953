"""The switches inside the chips of a stage: which chips, and between which nets."""

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["chips_inside", "inside_pairs"]

#: Kinds of stages whose switches are never inside the chip that commands them: one
#: without switches is a stage whose switches were not recognised.
_OUTER = (
    "synchronous buck",
    "buck",
    "synchronous boost",
    "boost",
    "buck-boost",
    "half bridge",
    "full bridge leg",
)


def chips_inside(view: CircuitView, stage: Stage) -> tuple[str, ...]:
    """Return the chips, and packages with both switches, that hold a stage's switches.

    A catch diode beside an integrated converter takes the place of one switch; the
    other is still in the chip.
    """
    switches = (*stage.high_side, *stage.low_side)
    found = [
        ref
        for ref in switches
        if view.kind(ref) in ("chip", "other") or view.pins_with_role(ref, "high gate")
    ]
    bare = not switches and stage.kind not in _OUTER
    if stage.controller is not None and (bare or stage.kind.startswith("integrated")):
        found.append(stage.controller)
    return tuple(dict.fromkeys(found))


def inside_pairs(stage: Stage, ref: str) -> tuple[tuple[str | None, str], ...]:
    """Return the nets between which a chip of a stage holds a switch.

    Where a discrete part stands in a position the chip has none there.

    Parameters
    ----------
    stage : Stage
        The stage.
    ref : str
        One of its `chips_inside`.

    Returns
    -------
    tuple of (str or None, str)
        Each as its body diode conducts, anode first; None is ground.
    """
    nodes, source, target = stage.switch_nodes, stage.input, stage.output
    if not nodes:
        # A pass switch: its body diode leads back from output to input.
        both = source is not None and target is not None
        return ((target, source),) if both and source is not None else ()
    pump = stage.kind == "charge pump"
    low = not pump and (not stage.low_side or ref in stage.low_side)
    high = not stage.high_side or ref in stage.high_side
    boost = "boost" in stage.kind and "buck" not in stage.kind
    pairs: list[tuple[str | None, str]] = [(None, node) for node in nodes if low]
    if not high or stage.kind == "flyback":
        return tuple(pairs)
    if not boost and source is not None:
        pairs.append((nodes[0], source))
    if (boost or len(nodes) > 1) and target is not None:
        pairs.append((nodes[-1], target))
    return tuple(pairs)
