"""What voltage the rails of a board put across a part, where they tell."""

from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["stressed_volts"]


def stressed_volts(
    circuit: Circuit, view: CircuitView, ref: str
) -> tuple[float, str] | None:
    """Return the nominal volts that a part stands, and in words why; None if unknown.

    Parameters
    ----------
    circuit : Circuit
    view : CircuitView
    ref : str

    Notes
    -----
    A switch or diode of a stage sees what swings at its switch node: of a buck or a
    bridge the input, of a boost the output, of an inverting or SEPIC converter both
    together; where the rail that decides is unknown, so is the answer.  A part between
    two nets stands their difference, ground being 0; between two grounds, or rails of
    like volts, nothing tells.  Ringing, surges and a second supply are not in it.
    """
    found: list[tuple[float, str]] = []
    for stage in circuit.stages:
        if ref in (*stage.high_side, *stage.low_side):
            found += _stage_volts(view, stage)
    if found:
        return max(found)
    nets = view.nets(ref)
    if len(nets) != 2:
        return None
    first, second = (_volts(view, net) for net in nets)
    if first is None or second is None:
        return None
    high = nets[0] if abs(first) >= abs(second) else nets[1]
    across = abs(first - second)
    if view.kind(ref) == "fuse":
        # Blown, it stands the whole rail.
        across = max(abs(first), abs(second))
    if across == 0.0:
        # Two grounds may be the sides of an isolation: no rail tells what lies across.
        return None
    return across, f"{high} is {max(first, second, key=abs):g} V"


def _stage_volts(view: CircuitView, stage: Stage) -> list[tuple[float, str]]:
    """Return what a stage's switches stand, in volts; nothing where that is unknown."""
    if stage.kind == "flyback":
        # The winding's reflected voltage adds to the input: the rails do not tell.
        return []
    source = _highest(view, stage.input_rail, stage.input)
    target = _highest(view, stage.output_rail, stage.output)
    if stage.kind.endswith("buck-boost"):
        if source is None or target is None:
            return []
        if _own_legs(stage):
            return [source, target]
        # The switch node swings from the input to the other side of the output.
        return [(source[0] + target[0], f"{source[1]} and {target[1]}")]
    if "boost" in stage.kind and target is None:
        return []
    if stage.kind.endswith(("buck", "bridge", "leg")) and source is None:
        return []
    below = _below(view, stage)
    if below is not None and source is not None:
        return [(source[0] + below[0], f"{source[1]} and {below[1]}")]
    return [one for one in (source, target) if one is not None]


def _own_legs(stage: Stage) -> bool:
    """Whether a buck-boost has a leg of switches on either side of its coil."""
    return min(len(stage.high_side), len(stage.low_side)) > 1


def _below(view: CircuitView, stage: Stage) -> tuple[float, str] | None:
    """Return the negative supply at the foot of a bridge, in volts without sign."""
    if not stage.kind.endswith(("bridge", "leg")):
        return None
    nets = dict.fromkeys(net for ref in stage.low_side for net in view.nets(ref))
    found = [(-volts, net) for net in nets if (volts := _volts(view, net) or 0.0) < 0.0]
    deepest = max(found, default=None)
    if deepest is None:
        return None
    return deepest[0], f"{deepest[1]} is {-deepest[0]:g} V"


def _highest(view: CircuitView, *nets: str | None) -> tuple[float, str] | None:
    """Return the highest volts of some nets without sign, and in words which."""
    found = [
        (abs(volts), f"{net} is {volts:g} V")
        for net in dict.fromkeys(nets)
        if not view.is_ground(net) and (volts := _volts(view, net)) is not None
    ]
    return max(found, default=None)


def _volts(view: CircuitView, net: str | None) -> float | None:
    if net is None:
        return None
    if view.is_ground(net):
        return 0.0
    rail = view.rails.get(net)
    return rail.volts if rail is not None else None
