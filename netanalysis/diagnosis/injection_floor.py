"""The volts limit of an injection where a rail in reach is known only from below.

``inject`` gives no number while any rail in reach is unknown.  For the next action a
floor is enough: what feeds a buck has at least the volts that the buck makes, so the
core's own voltage cannot be too much for it.
"""

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.least_volts import volts_at_least
from ohmtrail.netanalysis.graph import CircuitView, view_of
from ohmtrail.netanalysis.inject import InjectAnswer

__all__ = ["floors_of", "limit_with_floors"]

#: Nothing drives a power switch's gate with less, in volts (common practice, no
#: source: logic-level switches are specified from 2.5 V or 4.5 V up).
_DRIVE_VOLTS = 2.5
#: A series resistor up to this many ohms is a filter: it takes off little (common
#: practice, no source), and half of the volts before it is what is counted on.
_FILTER_OHMS, _FILTER_SHARE = 47.0, 0.5


def limit_with_floors(
    circuit: Circuit, answer: InjectAnswer
) -> tuple[float, tuple[str, ...]] | None:
    """Return the most volts to inject, and what is taken from below; None if unsure.

    Parameters
    ----------
    circuit : Circuit
    answer : InjectAnswer
        From `inject`, with or without a limit of its own.

    Notes
    -----
    Never above the lowest nominal voltage, or floor, of all rails in reach; a rail
    of the other sign, or one whose evidence is odd, leaves no limit.
    """
    if answer.volts_max is not None:
        return answer.volts_max, ()
    limits: list[float] = []
    told: list[str] = []
    for net, volts, known in floors_of(circuit, answer):
        if volts is None:
            return None
        limits.append(volts)
        if not known:
            told.append(f"{net} is not known, but at least {volts:.3g} V")
    return (min(limits), tuple(told)) if limits else None


def floors_of(
    circuit: Circuit, answer: InjectAnswer, view: CircuitView | None = None
) -> list[tuple[str, float | None, bool]]:
    """Return each rail in reach, the least volts that it has, and whether told.

    Parameters
    ----------
    circuit : Circuit
    answer : InjectAnswer
        From `inject`.
    view : CircuitView, optional
        The circuit's own, for many questions about one circuit.

    Returns
    -------
    list of (net, volts, known)
        Volts None where nothing is sure; what needs no voltage is left out.
    """
    unknown = set(answer.unknown)
    floors = volts_at_least(circuit, above=1.0, named=False) if unknown else {}
    view = view_of(circuit) if view is None else view
    found: list[tuple[str, float | None, bool]] = []
    for one in answer.reach.details:
        if one.net not in unknown:
            volts = one.at_least if one.volts is None else abs(one.volts)
            found += [(one.net, volts, True)] if volts is not None else []
            continue
        floor = (
            floors.get(one.net)
            or _behind_filter(circuit, view, one.net, floors)
            or _of_drivers(circuit, view, one.net)
        )
        sure = None if one.reversed or one.note or not floor else floor
        found.append((one.net, sure, False))
    return found


def _behind_filter(
    circuit: Circuit, view: CircuitView, net: str, floors: dict[str, float]
) -> float | None:
    """Return the floor of a net that a small resistor feeds from a known rail."""
    known = {rail.net: rail.volts for rail in circuit.rails if rail.volts}
    known = floors | known | dict(circuit.stated_volts)
    found = [
        _FILTER_SHARE * volts
        for ref, other in view.neighbours(net, "resistor")
        if (volts := known.get(other)) is not None
        and volts > 0
        and (view.ohms(ref) or _FILTER_OHMS + 1) <= _FILTER_OHMS
    ]
    return min(found, default=None)


def _of_drivers(circuit: Circuit, view: CircuitView, net: str) -> float | None:
    """Return the floor of a net that is the supply of gate drivers and of no one else.

    A driver and its controller live on it, and on nothing else does any chip there.
    """
    drivers = {
        ref
        for stage in circuit.stages
        if stage.gate_chains
        for ref in (stage.driver, stage.controller)
        if ref is not None
    }
    chips = set(view.parts_on(net, "chip"))
    supplied = any(
        view.role(ref, pin.number) == "supply"
        for ref in chips
        for pin in view.pins_on(ref, net)
    )
    return _DRIVE_VOLTS if supplied and chips <= drivers else None
