"""Which parts are worth lifting: a suspect, or a link that splits the suspects."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.candidates import Candidate
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.costs import (
    READ_SECONDS,
    fit_seconds,
    lift_seconds,
)
from ohmtrail.netanalysis.diagnosis.gain import reading_gains
from ohmtrail.netanalysis.diagnosis.outlook import Outlook
from ohmtrail.netanalysis.diagnosis.reading_noise import noise_of
from ohmtrail.netanalysis.diagnosis.readings import Reading, State
from ohmtrail.netanalysis.probe_points import ProbePoint

__all__ = ["Lift", "guilty_rail", "lift_gains", "lifts_worth", "low_net"]

_PARTS_MAX, _LINKS_MAX = 10, 10


@dataclass(frozen=True, slots=True)
class Lift:
    """Take a part off and read the low rail again."""

    ref: str
    reading: Candidate
    #: Lift, reading, and putting it back where it was not the one.
    seconds: float
    #: What may be injected with it off, in volts, where it is lifted for that.
    volts: float | None = None
    #: True where it is the rail's own load, which gets warm by nature.
    load: bool = False


def low_net(case: Case) -> tuple[str, str] | None:
    """Return the pair of nets that read lowest for what they should, None if none."""
    best: tuple[float, str, str] | None = None
    problem = case.problem
    for i, one in enumerate(case.readings):
        if one.state != case.now or one.mode == "drop" or problem.at_least[i]:
            continue
        red, black = one.plus.net, one.minus.net
        if red is None or black is None:
            continue
        if not (case.view.is_ground(red) or case.view.is_ground(black)):
            continue
        ratio = float(np.log(problem.healthy[i]) - problem.log_value[i])
        if best is None or ratio > best[0]:
            best = ratio, red, black
    if best is None or best[0] < 0.5:
        return None
    return best[1], best[2]


def guilty_rail(view: Outlook) -> tuple[str, str] | None:
    """Return the rail that most of the suspicion hangs on, and ground.

    Nets that links join are one place, where these are on the board; None where nothing
    is suspected.  What a lifted link leaves without a rail is still told by the rail
    that it was joined to.
    """
    return _guilty(view, view.case.now.off) or _guilty(view, frozenset())


def _guilty(view: Outlook, off: frozenset[str]) -> tuple[str, str] | None:
    """Return the guilty rail with some links off, None where it is no rail."""
    case = view.case
    head: dict[str, str] = {}

    def find(net: str) -> str:
        while head.get(net, net) != net:
            net = head[net]
        return net

    for link in case.circuit.links:
        ends = link.net_a, link.net_b
        grounded = any(case.view.is_ground(net) for net in ends)
        if link.always and link.ref not in off and not grounded:
            head[find(ends[0])] = find(ends[1])
    mass: dict[str, float] = {}
    for one, share in zip(view.hypotheses, view.belief, strict=True):
        places = {
            find(net)
            for fault, piece in one.faults
            if fault.paths and case.piece(fault.ref) == piece
            for net in fault.nets[:2]
            if not case.view.is_ground(net)
        }
        for place in places:
            mass[place] = mass.get(place, 0.0) + float(share)
    rails = [
        rail for rail in case.circuit.rails if mass.get(find(rail.net), 0.0) > 0.02
    ]
    if not rails or not case.ground:
        return None
    best = max(rails, key=lambda rail: (mass[find(rail.net)], len(rail.loads)))
    if off and mass[find(best.net)] < max(mass.values()):
        return None
    return best.net, case.ground_of(best.net)


def lifts_worth(view: Outlook, suspects: Sequence[str]) -> list[Lift]:
    """Return lifts that may tell something: the likeliest suspects and links."""
    case = view.case
    ends = guilty_rail(view)
    if ends is None:
        return []
    off = case.now.off
    refs = [ref for ref in suspects if ref not in off and ref not in case.fresh]
    links = [
        path.ref
        for path in case.common
        if path.ref and path.ref not in off and path.ref not in refs
    ]
    chosen = (*refs[:_PARTS_MAX], *dict.fromkeys(links[:_LINKS_MAX]))
    return [_lift(view, ref, ends) for ref in chosen]


def _lift(view: Outlook, ref: str, ends: tuple[str, str]) -> Lift:
    case = view.case
    state = State(case.now.off | {ref}, case.now.renewed)
    noise = noise_of("resistance", 10.0, 0.1)
    assert noise is not None
    points = ProbePoint(ends[0]), ProbePoint(ends[1])
    reading = Reading(0, "resistance", *points, math.nan, state, noise)
    guilty = sum(
        float(share)
        for one, share in zip(view.hypotheses, view.belief, strict=True)
        if any(fault.ref == ref for fault, _ in one.faults)
    )
    # Half of what it takes is won back when the part has to come off anyway.
    seconds = lift_seconds(case.view, ref) * (1 - 0.5 * guilty)
    seconds += (1 - guilty) * fit_seconds(case.view, ref) + READ_SECONDS
    return Lift(ref, Candidate(reading, f"{ends[0]} with {ref} off"), seconds)


def lift_gains(
    view: Outlook,
    lifts: Sequence[Lift],
    mean: NDArray[np.float64],
    sd: NDArray[np.float64],
) -> list[float]:
    """Return the seconds that each lift saves on average."""
    if not lifts:
        return []
    return [float(gain) for gain in reading_gains(view.stakes, view.belief, mean, sd)]
