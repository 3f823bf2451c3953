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
    A switch or diode of a stage sees the highest of the stage's rails at its switch
    node; a part between two nets their difference, ground being 0.  Ringing, surges
    and a second supply are not in it.
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
    return across, f"{high} is {max(first, second, key=abs):g} V"


def _stage_volts(view: CircuitView, stage: Stage) -> list[tuple[float, str]]:
    if stage.kind == "flyback":
        # The winding's reflected voltage adds to the input: the rails do not tell.
        return []
    made = []
    nets = (stage.input_rail, stage.input, stage.output_rail, stage.output)
    for net in dict.fromkeys(nets):
        volts = _volts(view, net)
        if net is not None and volts is not None and not view.is_ground(net):
            made.append((abs(volts), f"{net} is {volts:g} V"))
    return made


def _volts(view: CircuitView, net: str | None) -> float | None:
    if net is None:
        return None
    if view.is_ground(net):
        return 0.0
    rail = view.rails.get(net)
    return rail.volts if rail is not None else None
