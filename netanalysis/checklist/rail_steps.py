"""Steps of a rail: look, rail to ground, what can hold it down, before power."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import (
    PRACTICE,
    rail_expect,
    volts_expect,
)
from ohmtrail.netanalysis.checklist.model import (
    COLD,
    LIMITED,
    LOOK,
    POWER,
    Expect,
    Step,
)
from ohmtrail.netanalysis.checklist.points import Probe, ground_pin
from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.short import ShortAnswer, Suspect

__all__ = [
    "CUTS_MAX",
    "before_power_steps",
    "holder_steps",
    "injection_steps",
    "look_step",
    "rail_steps",
    "real_holders",
]

#: Suspects named one by one; the rest share a step.
_SINGLE_MAX = 24
_SINGLE_PRIOR = 0.005
CUTS_MAX = 6
_LOOK_MAX = 8


def real_holders(answer: ShortAnswer | None) -> tuple[Suspect, ...]:
    """Return the suspects that can hold the net down without another's help."""
    if answer is None:
        return ()
    return tuple(one for one in answer.parts if not one.assumes and one.prior > 0)


def look_step(bench: Bench, net: str, answer: ShortAnswer | None) -> Step:
    """Look around the rail first: it costs a minute and often ends the hunt."""
    parts = [one.ref for one in real_holders(answer)[:_LOOK_MAX]]
    if not parts:
        parts = list(bench.view.refs(net)[:_LOOK_MAX])
    return bench.note(
        f"Look, under the microscope, around {net}",
        LOOK,
        "Burnt, cracked, wet, reworked, missing, bridged with solder? First around "
        "these parts; then ask what was tried before.",
        parts=parts,
        row="look",
    )


def _cold_expect(bench: Bench, net: str) -> tuple[Expect | None, str]:
    if bench.is_rail(net):
        return rail_expect(bench.volts(net))
    volts = bench.cold_volts(net)
    if volts is None:
        return None, "unknown: no supply rail; compare with a sister or a good board"
    expect, source = rail_expect(volts)
    return expect, f"{source}, through the inductor"


def rail_steps(bench: Bench, net: str, *, compact: bool = False) -> list[Step]:
    """Read the rail to ground: resistance both ways, then diode mode."""
    rail = bench.points.net(net)
    ground = bench.points.ground(rail)
    expect, source = _cold_expect(bench, net)
    common = {
        "if_low": "Held down, unless that is its load: 'short NET --ohms X' judges it. "
        "A continuity beep proves nothing.",
        "if_high": "No load is connected, or the path to it is open.",
    }
    steps = bench.reading(
        "Rail to ground",
        "resistance",
        rail,
        ground,
        expect=expect,
        source=source,
        why="The first reading: is it held down at all? Write it down; it is "
        "compared with every later one.",
        row="rail",
        **common,
    )
    if compact:
        return steps
    steps += bench.reading(
        "Rail to ground, leads swapped",
        "resistance",
        ground,
        rail,
        expect=None,
        source="compare with the reading before",
        why="Silicon reads differently both ways; a short reads the same.",
        if_low="Same both ways: copper, capacitor or a shorted part.",
        if_high="Differs: a junction conducts; that is a chip, not a dead short.",
        row="rail swapped",
    )
    steps += bench.reading(
        "Rail, diode mode (red on ground)",
        "diode",
        ground,
        rail,
        expect=None,
        source=f"{PRACTICE}: 0.3 to 0.7 V over a chip's clamp diodes; a large load "
        "reads lower; compare with a good board",
        why="Surveys all chips on the rail at once.",
        if_low="0.00x: shorted, or a load of a few ohms.",
        if_high="OL: nothing on the rail conducts; is it connected?",
        row="rail diode",
    )
    return steps


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
        source="a comparison; needles and copper move it by about a milliohm",
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
            source="a comparison with the rail's own reading, taken again",
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


def injection_steps(bench: Bench, net: str) -> list[Step]:
    """Inject below the lowest rail that the short may reach; not at all if unknown."""
    if "drop" not in bench.have or bench.view.is_ground(net):
        return []
    if not bench.circuit.ground:
        return []
    answer = inject(bench.circuit, net, index=bench.injection)
    reach = answer.reach
    if reach.volts_max is None:
        shown = ", ".join(reach.unknown[:6])
        more = f" and {len(reach.unknown) - 6} more" if len(reach.unknown) > 6 else ""
        return [
            bench.note(
                "No injection yet",
                LIMITED,
                f"The short may lead to rails of no known safe voltage: {shown}{more}."
                " State them with --nominal NET=VOLTS first; 'inject' says more.",
                row="injection",
            )
        ]
    rail = bench.points.net(net)
    ends = (rail, bench.points.ground(rail))
    red, black = ends if answer.plus == net else ends[::-1]
    others = [one for one in reach.rails if one != net]
    why = "Finds the culprit among many capacitors: feel or see what heats, and follow "
    why += "the voltage drop; it is lowest at the culprit."
    why += f" Start at {answer.amps_start:g} A."
    if others:
        why += f" May reach {', '.join(others[:4])}"
        why += f" and {len(others) - 4} more." if len(others) > 4 else "."
    return bench.reading(
        f"Only while it reads short: inject, never above {reach.volts_max:g} V",
        "drop",
        red,
        black,
        expect=None,
        source=f"limit: the lowest nominal voltage reached, {reach.set_by}"
        + (f", through {' '.join(reach.via)}" if reach.via else ""),
        why=why,
        if_low="The drop is lowest nearest the culprit.",
        if_high="At the limit and no current: it is no short.",
        phase=LIMITED,
        row="injection",
    )


def before_power_steps(bench: Bench, net: str, *, compact: bool) -> list[Step]:
    """Repeat the cold checks, then power under a limit, then full power."""
    rail = bench.points.net(net)
    ground = bench.points.ground(rail)
    expect, source = _cold_expect(bench, net)
    volts, volts_source = volts_expect(bench.volts(net))
    again = bench.reading(
        "After the repair, before power: rail to ground again",
        "resistance",
        rail,
        ground,
        expect=expect,
        source=source,
        why="Repeat every cold step of this section with the new parts in; sister "
        "stages must read alike.",
        if_low="Not ready: something still holds it down.",
        if_high="Path or load open.",
        row="again",
    )
    if not bench.is_rail(net):
        # What is no rail has no voltage that a meter could judge.
        return again
    limited = bench.reading(
        "Powered with the current limit set low",
        "voltage",
        rail,
        ground,
        expect=volts,
        source=volts_source,
        why="Feed the board at its own input; limit set before connecting. Off at "
        "once if the supply stays at its limit or anything heats.",
        if_low="Limit reached, or the rail's source does not start.",
        if_high="Off at once: regulation lost, the load is at risk.",
        phase=LIMITED,
        row="limited",
    )
    full = bench.reading(
        "Full power, with load",
        "voltage",
        rail,
        ground,
        expect=volts,
        source=volts_source,
        why="Only when all before it was as expected; watch heat for some minutes.",
        if_low="Source overloaded or limited.",
        if_high="Off at once.",
        phase=POWER,
        row="power",
    )
    return [*again, *limited, *(full if not compact else [])]
