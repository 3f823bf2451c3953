"""Steps that tell apart what can hold a rail down: compare, lift a link."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.model import COLD, LIMITED, Step
from ohmtrail.netanalysis.checklist.points import Probe, ground_pin
from ohmtrail.netanalysis.short import ShortAnswer, Suspect

__all__ = ["CUTS_MAX", "holder_steps", "real_holders"]

#: Suspects named one by one; the rest share a step.
_SINGLE_MAX = 24
_SINGLE_PRIOR = 0.005
CUTS_MAX = 6


def real_holders(answer: ShortAnswer | None) -> tuple[Suspect, ...]:
    """Return the suspects that can hold the net down without another's help."""
    if answer is None:
        return ()
    return tuple(one for one in answer.parts if not one.assumes and one.prior > 0)


def _holder_mode(bench: Bench, net: str, *, compact: bool) -> tuple[str, str] | None:
    """Return how parts in parallel are told apart: mode and phase.

    Drop needs injection, so it is offered only where the volts limit is known and
    stands in the same section.  None: nothing but lifting is left.
    """
    if "four-wire" in bench.have:
        return "four-wire", COLD
    if "drop" in bench.have and not compact:
        reach = bench.injection.reach(net)
        if reach.volts_max is not None:
            return "drop", LIMITED
    return None


def _group_words(bench: Bench, refs: list[str]) -> str:
    kinds: dict[str, int] = {}
    for ref in refs:
        kind = bench.view.kind(ref)
        kinds[kind] = kinds.get(kind, 0) + 1
    return ", ".join(
        f"{count} {kind}{_plural(kind, count)}" for kind, count in kinds.items()
    )


def _plural(kind: str, count: int) -> str:
    if count == 1 or kind == "other":
        return ""
    return "es" if kind.endswith(("x", "ch")) else "s"


def holder_steps(
    bench: Bench, answer: ShortAnswer | None, *, compact: bool
) -> list[Step]:
    """Compare the parts that can hold the rail down, likeliest first.

    All of them lie across the same two nets, so a plain ohmmeter reads the same at
    each: only milliohms, drop under injection, or lifting tell them apart.
    """
    if answer is None:
        return []
    holders = real_holders(answer)
    how = _holder_mode(bench, answer.net, compact=compact)
    if how is None:
        if not holders:
            return _cut_steps(bench, answer)
        lifted = bench.note(
            "If it reads short: lift one at a time, likeliest first",
            COLD,
            "A plain ohmmeter reads the same at all of them. Read the rail after each "
            "lift, measure what came off in the hand, refit what changed nothing.",
            parts=[one.ref for one in holders],
            row="holder",
        )
        return [*_cut_steps(bench, answer), lifted]
    mode, phase = how
    single = [] if compact else [h for h in holders if h.kind != "capacitor"]
    links = {link.ref for link in bench.circuit.links}
    single = [
        one for one in single if one.ref not in links and one.prior >= _SINGLE_PRIOR
    ][:_SINGLE_MAX]
    named = {one.ref for one in single}
    steps: list[Step] = []
    for one in single:
        steps += _holder(bench, answer, [one], mode, phase)
    ground = bench.ground_like
    capacitors = [
        one
        for one in holders
        if one.kind == "capacitor" and ground & set(bench.view.nets(one.ref))
    ]
    named |= {one.ref for one in capacitors}
    others = [one.ref for one in holders if one.ref not in named]
    if compact:
        steps += _holder(bench, answer, list(holders), mode, phase)
    else:
        steps += _holder(bench, answer, capacitors, mode, phase)
        if others:
            steps.append(
                bench.note(
                    "Also on the net, least likely",
                    COLD,
                    "Rarely hold a net down; lift these last.",
                    parts=others,
                    row="others",
                )
            )
    steps += _cut_steps(bench, answer)
    return steps


def _other_end(bench: Bench, one: Suspect, red: Probe) -> Probe | None:
    """Return the part's own pad on the other side: ground, or a switch's far end."""
    view = bench.view
    pins = view.part(one.ref).pins
    for grounds in (frozenset(view.ground), bench.ground_like):
        pin = ground_pin(view, one.ref, grounds - {red.net or ""})
        if pin is not None:
            return bench.points.of(pin)
    ends = ("drain", "source", "collector", "emitter", "anode", "cathode")
    for pin in pins:
        if pin.net not in (None, red.net) and view.role(one.ref, pin.number) in ends:
            return bench.points.of(pin)
    return bench.points.ground(red)


def _holder(
    bench: Bench, answer: ShortAnswer, group: list[Suspect], mode: str, phase: str
) -> list[Step]:
    if not group:
        return []
    first = group[0]
    red = bench.points.pad(first.ref, first.pins[0])
    black = _other_end(bench, first, red)
    refs = [one.ref for one in group]
    detail = ""
    if len(refs) > 1:
        words = "likeliest first"
        if all(one.kind == first.kind for one in group):
            words = _group_words(bench, refs)
        title = f"If it reads short: {words}, one after the other"
        why = "A plain ohmmeter cannot tell parts in parallel apart."
        detail = f"then {' '.join(refs[1:])}"
    else:
        title = "If it reads short: compare at each part's own pads"
        why = "Likeliest first; a plain ohmmeter reads the same at all of them."
    return bench.reading(
        title,
        mode,
        red,
        black,
        expect=None,
        source="comparison; needles move it by a milliohm",
        compare=True,
        why=why,
        if_low="The lowest is nearest the culprit.",
        if_high="Away from it.",
        phase=phase,
        parts=refs,
        detail=detail,
        row="holder",
    )


def _cut_steps(bench: Bench, answer: ShortAnswer) -> list[Step]:
    """Lift a link and read both sides, the most even split by prior first."""
    prior = {one.ref: one.prior for one in answer.parts}
    cuts = sorted(
        answer.cut_points,
        key=lambda cut: abs(0.5 - sum(prior[ref] for ref in cut.far)),
    )
    steps: list[Step] = []
    place = {one.ref: one for one in answer.parts}
    for cut in cuts[:CUTS_MAX]:
        if sum(prior[ref] for ref in cut.far) < _SINGLE_PRIOR:
            continue
        far_nets = {place[ref].net for ref in cut.far}
        pins = [pin for pin in bench.view.part(cut.ref).pins if pin.net in far_nets]
        if not pins:
            continue
        far = bench.points.of(pins[0])
        shown = " ".join(cut.far[:6])
        more = f" and {len(cut.far) - 6} more" if len(cut.far) > 6 else ""
        share = 100 * sum(prior[ref] for ref in cut.far)
        steps += bench.reading(
            "If it reads short: lift one link, read its far side",
            "resistance",
            far,
            bench.points.ground(far),
            expect=None,
            source="comparison with the rail, read again",
            compare=True,
            lifted=(cut.ref,),
            why="Splits the suspects; the most even split first. Read the rail itself "
            "again too. Refit what changed nothing.",
            if_low="The short is on the far side.",
            if_high="Far side high, rail still low: it is on the near side.",
            parts=(cut.ref, *cut.far),
            detail=f"lift {cut.ref}: takes off {shown}{more} ({share:.0f} % of the "
            "prior)",
            row="cut",
        )
    return steps
