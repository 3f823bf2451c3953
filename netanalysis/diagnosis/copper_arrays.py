"""What copper adds to each reading under each hypothesis."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.diagnosis.copper import SAME_PAD, UNKNOWN_WAY, copper_ways
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.probe_points import ProbePoint

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.case import Case
    from ohmtrail.netanalysis.diagnosis.readings import Reading

__all__ = ["copper_arrays"]

Floats = NDArray[np.float64]
#: A faulty part and the nets that its fault is on.
_Place = tuple[str, tuple[str, ...]]

#: A load takes its current at many pads (common practice, no source), in ohms.
_SPREAD_LOAD_SD = 0.15e-3


def copper_arrays(
    case: "Case", hypotheses: Sequence[Hypothesis], readings: Sequence["Reading"]
) -> tuple[Floats, Floats]:
    """Return what copper adds to readings under each hypothesis.

    Zero where it does not count: two-wire readings, parts in the hand.  A fault
    beyond a link draws its current through the link's own pad.

    Returns
    -------
    fault : ndarray, shape (H, P, 3)
        On the way to the faults: pads, sheet at scale 1, the pads' spread; ohms.
    loads : ndarray, shape (P, 3)
        On the way to the loads of the rail.

    Notes
    -----
    O(hypotheses * readings); ways are worked out once for each part and pad.
    """
    made = np.zeros((len(hypotheses), len(readings), 3))
    loads = np.zeros((len(readings), 3))
    near = [
        p
        for p, one in enumerate(readings)
        if one.mode in ("four-wire", "drop") and one.state.hand is None
    ]
    if not near:
        return made, loads
    some = [readings[p] for p in near]
    places: dict[_Place, int] = {}
    shorts = [
        [
            places.setdefault((fault.ref, fault.nets), len(places))
            for fault, _ in one.faults
            if fault.paths
        ]
        for one in hypotheses
    ]
    ways = _ways(case, tuple(places), some)
    touched = _touched(case, tuple(places), some)
    # What only shares the ground with a reading takes none of its current.
    ways[np.broadcast_to(~touched[:, None, :], ways.shape[:3])] = np.inf
    told: NDArray[np.bool_] = np.isfinite(ways[..., 0])
    healthy = _healthy_ways(case, some)
    loads[near] = _both(healthy)
    for h, mine in enumerate(shorts):
        # Without a short on it the current goes where it always goes: to the loads.
        found = healthy.copy()
        found[:, touched[mine].any(0)] = UNKNOWN_WAY
        if len(mine) == 1:
            only = mine[0]
            found = np.where(told[only, :, :, None], ways[only], found)
        elif mine:
            # The nearer of two takes the current.
            every = ways[mine]
            first = np.argmin(every[..., :2].sum(-1), 0)[None, ..., None]
            best = np.take_along_axis(every, first, 0)[0]
            some = np.logical_or.reduce(told[mine])
            found = np.where(some[:, :, None], best, found)
        made[h, near] = _both(found)
    return made, loads


def _both(ways: Floats) -> Floats:
    """Return the ways from both probes as one, (P, 3)."""
    spread = np.hypot(ways[0, :, 2], ways[1, :, 2])
    return np.concatenate((ways[:, :, :2].sum(0), spread[:, None]), 1)


def _touched(
    case: "Case", places: Sequence[_Place], readings: Sequence["Reading"]
) -> NDArray[np.bool_]:
    """Whether a fault is somewhere on what a reading's nets are joined to, (K, P)."""
    joined = [case.joined(one.plus.net, one.minus.net) for one in readings]
    distinct = {nets: i for i, nets in enumerate(dict.fromkeys(joined))}
    which = [distinct[nets] for nets in joined]
    table = np.array(
        [[not nets.isdisjoint(mine) for nets in distinct] for _, mine in places], bool
    ).reshape(len(places), len(distinct))
    return table[:, which]


def _ways(
    case: "Case", places: Sequence[_Place], readings: Sequence["Reading"]
) -> Floats:
    """Return the copper from each probe to each faulty part, (K, 2, P, 3).

    Infinite where nothing joins a probe to the fault.
    """
    made = np.full((len(places), 2, len(readings), 3), np.inf)
    on: dict[tuple[str, bool], list[tuple[int, int, ProbePoint]]] = {}
    for p, one in enumerate(readings):
        for side, point in enumerate((one.plus, one.minus)):
            key = point.net or "", one.mode == "four-wire"
            on.setdefault(key, []).append((side, p, point))
    for (net, carries), points in on.items():
        leaves = [_leaves(case, place, net) for place in places]
        refs = [ref for ref in dict.fromkeys(leaves) if ref]
        if not refs:
            continue
        pads = [point.pin for _, _, point in points]
        table = _table(case, net, refs, pads, carries)
        index = {ref: i for i, ref in enumerate(refs)}
        mine = np.array([k for k, ref in enumerate(leaves) if ref], np.intp)
        which = np.array([index[leaves[k]] for k in mine], np.intp)
        for q, (side, p, _) in enumerate(points):
            made[mine, side, p] = table[which, q]
    return made


def _leaves(case: "Case", place: _Place, net: str) -> str:
    """Return the part at which a fault's current leaves a net, empty for none."""
    ref, nets = place
    if net in nets:
        return ref
    return next((one for other in nets if (one := case.gateway(net, other))), "")


def _table(
    case: "Case",
    net: str,
    refs: Sequence[str],
    pads: Sequence[Pin | None],
    carries: bool,
) -> Floats:
    """Return the copper from pads of a net to the nearest pad of parts, (R, Q, 3)."""
    # A fault may name a net on which its part has no pin: a place not known.
    pins = [case.view.pins_on(ref, net) or (None,) for ref in refs]
    first = np.cumsum([0, *(len(some) for some in pins)])[:-1]
    x, y = _places([pin for some in pins for pin in some])
    pad_x, pad_y = _places(pads)
    apart = np.hypot(x[:, None] - pad_x, y[:, None] - pad_y)
    # fmin: pads whose place is not known are passed over where another's is.
    made = copper_ways(np.fmin.reduceat(apart, first, 0), carries=carries)
    row = {ref: r for r, ref in enumerate(refs)}
    for q, pad in enumerate(pads):
        if pad is None:
            made[:, q] = UNKNOWN_WAY
        elif pad.ref in row:
            made[row[pad.ref], q] = SAME_PAD
    return made


def _places(pins: Sequence[Pin | None]) -> tuple[Floats, Floats]:
    """Return where pins are, nan where it is not known."""
    known = [
        (np.nan, np.nan)
        if pin is None or pin.x_mm is None or pin.y_mm is None
        else (pin.x_mm, pin.y_mm)
        for pin in pins
    ]
    x, y = np.array(known, float).reshape(-1, 2).T
    return x, y


def _healthy_ways(case: "Case", readings: Sequence["Reading"]) -> Floats:
    """Return the copper from each probe to the main loads of its rail, (2, P, 3).

    Where a net has none its current leaves through a coil or link, as a fault's does.
    """
    made = np.tile(np.array(UNKNOWN_WAY), (2, len(readings), 1))
    known: dict[tuple[str, ...], tuple[tuple[str, ...], str]] = {}
    for p, one in enumerate(readings):
        nets = one.plus.net or "", one.minus.net or ""
        if nets not in known:
            known[nets] = _takers(case, nets)
        loads, leaves = known[nets]
        for side, point in enumerate((one.plus, one.minus)):
            net = point.net or ""
            here = [ref for ref in loads if case.view.pins_on(ref, net)]
            away = [leaves] if leaves and case.view.pins_on(leaves, net) else []
            if here or away:
                pads = [point.pin]
                carries = one.mode == "four-wire"
                ways = _table(case, net, here or away, pads, carries)[:, 0]
                best = ways[np.argmin(ways[:, :2].sum(1))]
                if here:
                    best[2] = max(best[2], _SPREAD_LOAD_SD)
                made[side, p] = best
    return made


def _takers(case: "Case", nets: Sequence[str]) -> tuple[tuple[str, ...], str]:
    """Return the main loads of a pair of nets, and the link that leads to them if any.

    None where links lead to loads in several directions.
    """
    loads = tuple(ref for net in nets for ref in case.main_loads(net))
    if loads:
        return loads, ""
    net = next((one for one in nets if one and not case.view.is_ground(one)), "")
    if not net or not any(case.view.is_ground(one) for one in nets):
        return (), ""
    beyond = [one for one in sorted(case.joined(net)) if case.main_loads(one)]
    links = {case.gateway(net, one) for one in beyond}
    if len(links) != 1:
        return (), ""
    far = tuple(ref for one in beyond for ref in case.main_loads(one))
    return far, links.pop()
