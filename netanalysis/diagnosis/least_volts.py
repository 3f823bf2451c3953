"""What rails of unknown volts have at the least: what they feed, what they are."""

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.recognise.rail_names import feeds_a_board

__all__ = ["volts_at_least"]

#: A buck cannot make what it is fed with: by so much more at the least (common
#: practice: duty cycle and drops).
_ABOVE = 1.15
#: Stages in a row that are followed.
_DEEP = 8
#: A rail named as a battery, an adapter or a motor supply is none of a core: it is at
#: least of the class of this voltage (common practice, no source).
_NO_CORE_VOLTS = 3.0
#: Stages whose input has at least the volts of their output.
_DOWN = (
    "synchronous buck",
    "buck",
    "integrated buck",
    "load switch",
    "back-to-back pass",
    "ideal diode",
    "linear regulator",
)


def volts_at_least(
    circuit: Circuit, above: float = _ABOVE, *, named: bool = True
) -> dict[str, float]:
    """Return, for rails of unknown volts, what they have at the least.

    What steps down (a buck, a linear regulator, a switch) is fed with no less than it
    makes, a buck with somewhat more.

    Parameters
    ----------
    circuit : Circuit
    above : float
        By what factor a buck's input is above its output; 1 to be on the safe side.
    named : bool
        Whether a name may tell that a rail is none of a core; not where what it
        bears is asked, since a battery may be a single cell.

    Notes
    -----
    O(stages * depth).
    """
    known = {rail.net: rail.volts for rail in circuit.rails if rail.volts}
    known |= {net: volts for net, volts in circuit.stated_volts.items() if volts}
    ways: list[tuple[str, str, float]] = []
    for stage in circuit.stages:
        if "buck-boost" in stage.kind or stage.kind not in _DOWN:
            continue
        source = stage.input_rail or stage.input
        made = stage.output_rail or stage.output
        if source is not None and made is not None:
            ways.append((source, made, above if "buck" in stage.kind else 1.0))
    for link in circuit.links:
        if link.always:
            ways.append((link.net_a, link.net_b, 1.0))
            ways.append((link.net_b, link.net_a, 1.0))
    grounds = set(circuit.ground)
    found: dict[str, float] = {}
    if named:
        found = {
            rail.net: _NO_CORE_VOLTS
            for rail in circuit.rails
            if rail.net not in known
            and rail.net not in grounds
            and feeds_a_board(rail.net)
        }
    for _ in range(_DEEP):
        changed = False
        for source, made, factor in ways:
            volts = factor * (known.get(made) or found.get(made) or 0.0)
            if volts <= 0 or source in known or source in grounds:
                continue
            if made not in grounds and volts > found.get(source, 0.0):
                found[source] = volts
                changed = True
        if not changed:
            break
    return found
