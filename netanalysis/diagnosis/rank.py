"""Who is suspected, who is cleared of what, and what to replace and inspect."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.cleared import cleared_parts
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.log import Log
from ohmtrail.netanalysis.diagnosis.outlook import Outlook, outlook
from ohmtrail.netanalysis.diagnosis.posterior import Posterior, Weighed, posterior
from ohmtrail.netanalysis.diagnosis.reasons import because, wrong_lines
from ohmtrail.netanalysis.diagnosis.requirement import mates_of, needed

__all__ = ["Cleared", "Ranking", "Suspicion", "case_of", "rank", "weigh_log"]

#: Looks as factors on the prior of a part (common practice, no source): a
#: burnt look outweighs no reading, but it is used.
_LOOKS: Mapping[str, float] = {
    "burnt": 15.0,
    "cracked": 8.0,
    "wet": 4.0,
    "reworked": 3.0,
    "ok": 0.8,
    "missing": 0.2,
}
#: After a part died under power: its own chain and its mates.
_DIED = 20.0
_SHOWN_SHARE = 0.002
#: What is less likely than this adds nothing to what is told.
_SEEN_SHARE = 1e-6
_CONFIDENT = 0.9


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One explanation: parts, fault, probability and why."""

    parts: tuple[str, ...]
    fault: str
    probability: float
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cleared:
    """A part that is cleared of something, and only of that."""

    ref: str
    of: str
    because: str


@dataclass(frozen=True, slots=True)
class Ranking:
    """The answer of `rank`."""

    suspects: tuple[Suspicion, ...]
    replace: tuple[str, ...]
    #: (ref, what to look at and with which probe).
    inspect: tuple[tuple[str, str], ...]
    cleared: tuple[Cleared, ...]
    #: Log lines that contradict everything else.
    contradictions: tuple[int, ...]
    confident: bool
    #: Probability that nothing on the board is wrong now.
    healthy: float


def case_of(circuit: Circuit, log: Log) -> Case:
    """Return a board and its log, ready to be reasoned about."""
    return Case(circuit, log)


def weigh_log(case: Case) -> Posterior:
    """Return what the log makes of every hypothesis, looks included."""
    boost: dict[str, float] = {}
    for i, one in enumerate(case.timeline.placed):
        event = one.event
        if event.part is None or i < case.died_at:
            continue
        if event.action == "look":
            factor = _LOOKS.get(event.word, 1.0)
            boost[event.part] = boost.get(event.part, 1.0) * factor
    if case.died_at >= 0:
        for ref in _hit_by_failure(case):
            boost[ref] = boost.get(ref, 1.0) * _DIED
    return posterior(case, boost)


def _hit_by_failure(case: Case) -> set[str]:
    """Return parts that a failure under power hits first: what was renewed."""
    renewed = {
        one.event.part
        for one in case.timeline.placed[: case.died_at + 1]
        if one.event.action == "fit" and one.event.part
    }
    found = set(renewed)
    for ref in renewed:
        found.update(mates_of(case, ref))
    for switch in tuple(found):
        found.update(fault.ref for fault in case.chains.get(switch, ()))
    return found


def rank(found: Posterior) -> Ranking:
    """Return suspects with reasons, and what follows for the repair.

    Parameters
    ----------
    found : Posterior
        From `weigh_log`.
    """
    case = found.case
    view = outlook(found)
    suspects = _suspects(found)
    wrong = found.wrong()
    best = view.ends[int(np.argmax(view.chance))]
    chance = float(view.chance.max())
    healthy = sum(
        one.probability
        for one in found.weighed
        if one.probability > _SEEN_SHARE and not needed(case, one.hypothesis)
    )
    return Ranking(
        suspects=suspects,
        replace=tuple(sorted(best)) if chance >= 0.5 else (),
        inspect=_inspect(case, view),
        cleared=tuple(
            Cleared(*row)
            for row in cleared_parts(found, (*(s.parts for s in suspects), tuple(best)))
        ),
        contradictions=wrong_lines(case, wrong),
        confident=chance >= _CONFIDENT,
        healthy=healthy,
    )


def _suspects(found: Posterior) -> tuple[Suspicion, ...]:
    """Return explanations; mates that no reading tells apart are one entry."""
    case = found.case
    made: dict[tuple[frozenset[str], str], list[Weighed]] = {}
    for one in found.weighed:
        if one.probability < _SHOWN_SHARE or not one.hypothesis.faults:
            continue
        key = (_as_set(case, one), _fault_name(case, one))
        made.setdefault(key, []).append(one)
    rows = []
    for (_, name), members in made.items():
        total = sum(one.probability for one in members)
        refs = dict.fromkeys(ref for one in members for ref in one.hypothesis.refs)
        rows.append(Suspicion(tuple(refs), name, total, because(found, members[0])))
    rows.sort(key=lambda row: -row.probability)
    return tuple(rows)


def _as_set(case: Case, one: Weighed) -> frozenset[str]:
    """Return the refs of a hypothesis; a switch stands for its parallel set."""
    refs: set[str] = set()
    for fault, _ in one.hypothesis.faults:
        refs.add(fault.ref)
        if fault.name in ("drain-source short", "all shorted"):
            refs.update(mates_of(case, fault.ref))
    return frozenset(refs) | {f"row {one.group}.{_rounded(one)}"}


def _rounded(one: Weighed) -> str:
    # Mates are one entry while their evidence is the same to half a nat.
    return f"{round(2 * one.evidence) / 2:g}"


def _fault_name(case: Case, one: Weighed) -> str:
    return " + ".join(
        dict.fromkeys(_words(case, fault) for fault, _ in one.hypothesis.faults)
    )


def _words(case: Case, fault: Fault) -> str:
    if fault.name != "pin short":
        return fault.name
    ends = {end for way in fault.paths for end in (way.a, way.b)}
    if any(case.view.is_ground(end) for end in ends):
        return f"{fault.name} {fault.pin}"
    # A switch inside the chip: not to ground, but to the net behind it.
    own = case.view.net_of(fault.ref, fault.pin)
    return f"{fault.name} {fault.pin} to {' '.join(sorted(ends - {own or ''}))}"


def _inspect(case: Case, view: Outlook) -> tuple[tuple[str, str], ...]:
    """Return what the same event can have damaged or can have caused it."""
    switches: dict[str, float] = {}
    for one, share in zip(view.hypotheses, view.belief, strict=True):
        for fault, _ in one.faults:
            if case.view.kind(fault.ref) in ("mosfet", "igbt", "bipolar"):
                switches[fault.ref] = switches.get(fault.ref, 0.0) + float(share)
    found: dict[str, str] = {}
    for ref in sorted(switches, key=lambda ref: -switches[ref]):
        if switches[ref] < 0.2:
            break
        for fault in case.chains.get(ref, ()):
            if fault.paths:
                red, black = fault.paths[0].a, fault.paths[0].b
                words = (
                    f"driver output {fault.ref}.{fault.pin}: {red} to {black}, as in "
                    "the sister stages, with the new switches in place"
                )
            else:
                words = f"gate resistor {fault.ref}: its marked value across it"
            found.setdefault(fault.ref, words)
        found |= _stage_inspections(case, ref, found)
    return tuple(found.items())


def _stage_inspections(
    case: Case, ref: str, known: Mapping[str, str]
) -> dict[str, str]:
    made: dict[str, str] = {}
    for stage in case.circuit.stages:
        if ref not in (*stage.high_side, *stage.low_side):
            continue
        for part in stage.bootstrap:
            made[part] = "bootstrap part: short or open across it"
        output = stage.output_rail or stage.output
        if ref in stage.high_side and output is not None and stage.inductors:
            for rail in case.circuit.rails:
                if rail.net == output:
                    words = (
                        f"a shorted high side puts {stage.input_rail or stage.input} "
                        f"on {output}: judge this load before ordering parts"
                    )
                    made.update(dict.fromkeys(rail.loads, words))
        for mate in mates_of(case, ref):
            made[mate] = "in parallel: may be weakened though it reads well"
    return {part: words for part, words in made.items() if part not in known}
