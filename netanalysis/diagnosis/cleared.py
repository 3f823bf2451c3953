"""Who is cleared of a short by the readings, and by which line."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.diagnosis.batch import make_batch
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.fit import fit
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.posterior import Posterior, Weighed
from ohmtrail.netanalysis.diagnosis.power_evidence import MILD
from ohmtrail.netanalysis.diagnosis.problem import rows_of
from ohmtrail.netanalysis.diagnosis.reasons import against

__all__ = ["cleared_parts"]

#: A part is cleared of a fault below this share of its prior.
_CLEARED = 0.02
#: Beside so many of the likeliest explanations a short is tried, of so much chance, and
#: fits where the readings are no less likely by more than this, as a logarithm.
_LEADERS, _MOST, _AS_WELL = 2, 0.6, 4.0
_ROUNDS, _CHUNK = 6, 64
#: From this chance on an explanation takes a reading for wrong.
_GIVEN_UP = 0.5
#: A reading across a short is no more than the short; by so much, and so many ohms, it
#: has to be above it where links lie between (leads, beads, contacts).
_ABOVE, _MORE_OHMS = 1.5, 3.0


def cleared_parts(
    found: Posterior, suspects: Iterable[tuple[str, ...]]
) -> list[tuple[str, str, str]]:
    """Return (ref, of what, why) of parts that the readings clear of a short.

    Only parts that could have explained the low reading at the start are named, and
    only what is cleared: a part that is not shorted now may still be weakened.  That
    another part explains all clears nobody: whose short would go unnoticed beside it is
    not named.
    """
    case = found.case
    prior: dict[str, float] = {}
    after: dict[str, float] = {}
    example: dict[str, Weighed] = {}
    for one in found.weighed:
        if len(one.hypothesis.faults) != 1:
            for ref in one.hypothesis.refs:
                after[ref] = after.get(ref, 0.0) + one.probability
            continue
        fault, _ = one.hypothesis.faults[0]
        if not fault.paths:
            continue
        share = float(np.exp(one.hypothesis.log_prior))
        prior[fault.ref] = prior.get(fault.ref, 0.0) + share
        after[fault.ref] = after.get(fault.ref, 0.0) + one.probability
        kept = example.get(fault.ref)
        if kept is None or one.evidence > kept.evidence:
            example[fault.ref] = one
    named = {ref for parts in suspects for ref in parts}
    made: list[tuple[str, str, str]] = []
    read = {pin.ref for pin in _probed(case)}
    last = max((one.line for one in case.readings), default=0)
    for ref, before in prior.items():
        if ref in named or after.get(ref, 0.0) > _CLEARED * before:
            continue
        lines = against(found, example[ref])
        if not lines or (ref not in read and not _on_read_net(case, ref)):
            continue
        made.append((ref, f"a short, up to line {last}", lines[0][1]))
    beside = _fitting_beside(found, [ref for ref, _, _ in made])
    return [row for row in made if row[0] not in beside]


def _probed(case: Case) -> list[Pin]:
    return [
        point.pin
        for one in case.readings
        for point in (one.plus, one.minus)
        if point.pin is not None
    ]


def _on_read_net(case: Case, ref: str) -> bool:
    nets = {
        net
        for one in case.readings
        for net in (one.plus.net, one.minus.net)
        if not case.view.is_ground(net)
    }
    return any(net in nets for net in case.view.nets(ref))


def _fitting_beside(found: Posterior, refs: Sequence[str]) -> set[str]:
    """Return which parts may be shorted beside what explains the readings best."""
    case, fitting = found.case, set[str]()
    high = _read_high(case)
    share = 0.0
    for leader in found.weighed[:_LEADERS]:
        if share > _MOST:
            break
        share += leader.probability
        placed = leader.hypothesis.faults
        rows = [
            (fault, case.piece(ref))
            for ref in refs
            if ref not in fitting and ref not in leader.hypothesis.refs
            for fault in case.faults_of(ref)
            if fault.paths and fault.name not in MILD and not _too_high(fault, high)
        ]
        if not rows:
            continue
        both = [Hypothesis((*placed, row)) for row in rows]
        gain = _evidence_beside(found, leader, both) - leader.evidence
        fitting |= {
            fault.ref
            for (fault, _), more in zip(rows, gain.tolist(), strict=True)
            if more > -_AS_WELL
        }
    return fitting


def _evidence_beside(
    found: Posterior, leader: Weighed, both: Sequence[Hypothesis]
) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Return the evidence of hypotheses that hold one fault more than a leader.

    The fit begins where the leader's came to rest, with the further short as high as
    it may be, where it is least noticed, and holds on to what the leader explains.
    """
    batch, row = make_batch(found.case, both, found.case.states)
    batch = replace(batch, common_there=batch.common_there[:, :, found.keep])
    fitted = found.groups[leader.group].fitted
    known = sum(len(fault.paths) for fault, _ in leader.hypothesis.faults)
    fault = batch.high - 0.1
    fault[:, :known] = fitted.fault[leader.row, :known]
    common = np.broadcast_to(
        fitted.common[leader.row], (len(fault), fitted.common.shape[1])
    )
    start = np.concatenate((common, fault), 1)
    held = np.broadcast_to(
        fitted.wrong[leader.row] < _GIVEN_UP, (len(fault), fitted.wrong.shape[1])
    )
    evidence = [
        fit(
            found.problem,
            rows_of(batch, np.arange(i, min(i + _CHUNK, len(fault)))),
            _ROUNDS,
            start[i : i + _CHUNK],
            held=held[i : i + _CHUNK],
        ).evidence
        for i in range(0, len(fault), _CHUNK)
    ]
    return np.concatenate(evidence)[row]


def _read_high(case: Case) -> dict[frozenset[str], float]:
    """Return the highest reading of the board as it is between every two nets, in ohms.

    What links join to a net reads as it does.
    """
    found: dict[frozenset[str], float] = {}
    for one in case.readings:
        red, black = one.plus.net, one.minus.net
        modes = ("resistance", "four-wire")
        if one.mode in modes and one.state == case.now and red and black:
            for a in case.joined(red) or (red,):
                for b in case.joined(black) or (black,):
                    ends = frozenset((a, b))
                    found[ends] = max(found.get(ends, 0.0), one.value)
    return found


def _too_high(fault: Fault, high: Mapping[frozenset[str], float]) -> bool:
    """Whether a reading across one of a fault's paths is more than that path may be."""
    return any(
        high.get(frozenset((way.a, way.b)), 0.0) > _ABOVE * way.ohms_high + _MORE_OHMS
        for way in fault.paths
    )
