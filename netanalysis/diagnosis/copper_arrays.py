"""What copper adds to each reading under each hypothesis."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.copper import UNKNOWN_WAY, Copper, copper_between
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.probe_points import ProbePoint

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.case import Case
    from ohmtrail.netanalysis.diagnosis.readings import Reading

__all__ = ["CopperArrays", "copper_arrays"]

Floats = NDArray[np.float64]

#: A load takes its current at many pads (common practice, no source), in ohms.
_SPREAD_LOAD_SD = 0.15e-3


class CopperArrays(NamedTuple):
    """What pads hang by, the sheet at scale 1, the pads' spread; ohms, (H, P) each."""

    pads: Floats
    sheet: Floats
    sd: Floats


def copper_arrays(
    case: "Case", hypotheses: Sequence[Hypothesis], readings: Sequence["Reading"]
) -> CopperArrays:
    """Return what copper adds to readings under each hypothesis.

    Zero where it does not count: two-wire readings, parts in the hand.  A fault
    beyond a link draws its current through the link's own pad.

    Notes
    -----
    O(hypotheses * readings); ways are worked out once for each part and pad.
    """
    made = np.zeros((3, len(hypotheses), len(readings)))
    near = [
        p
        for p, one in enumerate(readings)
        if one.mode in ("four-wire", "drop") and one.state.hand is None
    ]
    if not near:
        return CopperArrays(*made)
    some = [readings[p] for p in near]
    rows: dict[tuple[str, ...], Floats] = {}
    healthy = _healthy_ways(case, some)
    joined = [case.joined(one.plus.net, one.minus.net) for one in some]
    for h, hypothesis in enumerate(hypotheses):
        # Without a short on it the current goes where it always goes: to the loads.
        shorts = [fault for fault, _ in hypothesis.faults if fault.paths]
        nets = {net for fault in shorts for net in fault.nets}
        found = healthy.copy()
        found[:, [bool(nets & mine) for mine in joined]] = UNKNOWN_WAY
        told = np.zeros((2, len(near)), bool)
        for fault in shorts:
            key = (fault.ref, *fault.nets)
            if key not in rows:
                rows[key] = _ways(case, fault, some)
            way = rows[key]
            mine = np.isfinite(way[:, :, 0])
            nearer = way[:, :, :2].sum(2) < found[:, :, :2].sum(2)
            better = mine & (~told | nearer)
            found[better] = way[better]
            told |= mine
        made[0, h, near] = found[:, :, 0].sum(0)
        made[1, h, near] = found[:, :, 1].sum(0)
        made[2, h, near] = np.hypot(found[0, :, 2], found[1, :, 2])
    return CopperArrays(*made)


def _ways(case: "Case", fault: Fault, readings: Sequence["Reading"]) -> Floats:
    """Return the copper from each probe to a part, (2, P, 3); inf off its nets."""
    made = np.full((2, len(readings), 3), np.inf)
    nets = frozenset(fault.nets)
    for p, one in enumerate(readings):
        carries = one.mode == "four-wire"
        for side, point in enumerate((one.plus, one.minus)):
            key = (point, fault.ref, nets, carries)
            if key not in case.copper:
                case.copper[key] = _way(case, fault, point, carries)
            way = case.copper[key]
            if way is not None:
                made[side, p] = way
    return made


def _way(case: "Case", fault: Fault, point: ProbePoint, carries: bool) -> Copper | None:
    """Return the copper from a probe to where the current leaves its net."""
    net = point.net or ""
    ref = fault.ref
    if net not in fault.nets:
        gates = [case.gateway(net, other) for other in fault.nets]
        ref = next((one for one in gates if one), "")
        if not ref:
            return None
    return _nearest(case, (ref,), point, carries)


def _healthy_ways(case: "Case", readings: Sequence["Reading"]) -> Floats:
    """Return the copper from each probe to the main loads of its rail, (2, P, 3)."""
    made = np.tile(np.array(UNKNOWN_WAY), (2, len(readings), 1))
    for p, one in enumerate(readings):
        loads = [
            ref
            for net in (one.plus.net, one.minus.net)
            for ref in case.main_loads(net or "")
        ]
        for side, point in enumerate((one.plus, one.minus)):
            if any(case.view.pins_on(ref, point.net or "") for ref in loads):
                best = _nearest(case, loads, point, one.mode == "four-wire")
                made[side, p] = best._replace(sd=max(best.sd, _SPREAD_LOAD_SD))
    return made


def _nearest(
    case: "Case", refs: Sequence[str], point: ProbePoint, carries: bool
) -> Copper:
    pad = case.pad(point)
    ways = [
        copper_between(pad, pin, carries=carries)
        for ref in refs
        for pin in case.view.pins_on(ref, point.net or "")
    ]
    return min(ways, key=lambda way: way.ohms, default=UNKNOWN_WAY)
