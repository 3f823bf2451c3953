"""A whole checklist: which sections, which stages in each, and in what order."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.cautions import CAUTIONS
from ohmtrail.netanalysis.checklist.current_path import current_path
from ohmtrail.netanalysis.checklist.holder_steps import CUTS_MAX, holder_steps
from ohmtrail.netanalysis.checklist.model import (
    COLD,
    LIMITED,
    LOOK,
    POWER,
    Checklist,
    Section,
    Step,
)
from ohmtrail.netanalysis.checklist.part_steps import part_steps
from ohmtrail.netanalysis.checklist.rail_steps import (
    before_power_steps,
    injection_steps,
    look_step,
    rail_steps,
)
from ohmtrail.netanalysis.checklist.sisters import beside_each_other, sister_groups
from ohmtrail.netanalysis.checklist.stage_steps import stage_steps
from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.memberships import stages_of_part
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.query import links_reach
from ohmtrail.netanalysis.short import ASSUMED_MAX, ShortAnswer, find_short
from ohmtrail.netanalysis.stages_on_net import stage_nets

if TYPE_CHECKING:
    from ohmtrail.netanalysis.network.evidence import Evidence
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = ["HAVE_ALL", "make_checklist"]

HAVE_ALL = ("resistance", "diode", "four-wire", "drop")


def _stages_at(bench: Bench, net: str) -> tuple[Stage, ...]:
    """Return the stages on a net or beyond its links, the nearest first.

    A stage whose gate or driver output is on the net counts too.
    """
    reach = links_reach(bench.view, net)
    own = [one for one in bench.circuit.stages if net in stage_nets(one)]
    near = [
        one
        for one in bench.circuit.stages
        if one not in own and stage_nets(one) & set(reach)
    ]
    found = own or near
    if not found:
        for stage in bench.circuit.stages:
            points = [chain.gate for chain in stage.gate_chains]
            points += [
                chain.driver_pin for chain in stage.gate_chains if chain.driver_pin
            ]
            if any(bench.points.key(point).net == net for point in points):
                found.append(stage)
    return tuple(found)


def _stage_part(bench: Bench, stages: Iterable[Stage]) -> list[Step]:
    steps: list[Step] = []
    for group in sister_groups(stages):
        steps += beside_each_other([stage_steps(bench, stage) for stage in group])
    return _once(steps)


def _once(steps: Iterable[Step]) -> list[Step]:
    """Leave out a reading that an earlier stage has: one output, one controller."""
    seen: set[tuple[str, str | None, str | None, str | None]] = set()
    kept = []
    for step in steps:
        key = (step.title, step.mode, step.plus, step.minus)
        if step.plus is None or key not in seen:
            seen.add(key)
            kept.append(step)
    return kept


def _answer(bench: Bench, net: str, *, compact: bool) -> ShortAnswer | None:
    """Return the suspects; links alone for the short sections of a whole board."""
    try:
        return find_short(
            bench.circuit,
            net,
            assumed_max=0 if compact else ASSUMED_MAX,
            cuts_max=CUTS_MAX,
            index=bench.shorts,
        )
    except NotOnBoardError:
        return None


def _unknown(bench: Bench, net: str, stages: Iterable[Stage]) -> tuple[str, ...]:
    found = []
    if not bench.circuit.ground:
        found.append("ground is not known: no reading to ground can be named")
    if bench.is_rail(net) and bench.volts(net) is None:
        found.append(f"the voltage of {net}: state it with --nominal")
    for stage in stages:
        found += [f"{stage.id}: {words}" for words in stage.missing]
        for chain in stage.gate_chains:
            if chain.driver_pin is None:
                found.append(f"{stage.id}: what drives {chain.gate}")
    return tuple(dict.fromkeys(found))


def _section(
    bench: Bench, net: str, stages: tuple[Stage, ...], *, compact: bool
) -> Section:
    answer = _answer(bench, net, compact=compact)
    steps = [look_step(bench, net, answer), *rail_steps(bench, net, compact=compact)]
    if not compact:
        # Its volts limit is read before any step that injects.
        steps += injection_steps(bench, net)
    steps += holder_steps(bench, answer, compact=compact)
    steps += _stage_part(bench, stages)
    steps += before_power_steps(bench, net, compact=compact)
    unknown = _unknown(bench, net, stages)
    path = current_path(bench.circuit, net)
    return Section(net, bench.volts(net), _by_phase(steps), unknown, path)


def _by_phase(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Order by phase: nothing gets power before all that is cold is read."""
    order = {LOOK: 0, COLD: 1, LIMITED: 2, POWER: 3}
    return tuple(sorted(steps, key=lambda step: order[step.phase]))


def _home(stage: Stage, rails: set[str]) -> str | None:
    """Return the rail whose section a stage's steps go into."""
    for net in (stage.output_rail, stage.output, stage.input_rail, stage.input):
        if net is not None and net in rails:
            return net
    for net in (*stage.switch_nodes, stage.output, stage.input):
        if net is not None:
            return net
    return None


def _every_rail(bench: Bench) -> list[Section]:
    """One section a rail; each stage's steps in one section only."""
    rails = [rail.net for rail in bench.circuit.rails]
    homes: dict[str, list[Stage]] = {net: [] for net in rails}
    for stage in bench.circuit.stages:
        home = _home(stage, set(rails))
        if home is not None:
            homes.setdefault(home, []).append(stage)
    return [
        _section(bench, net, tuple(stages), compact=True)
        for net, stages in homes.items()
        if not bench.view.is_ground(net)
    ]


def _only_stage(bench: Bench, stage: Stage) -> Section:
    ends = (stage.output_rail, stage.output, stage.input_rail, stage.input)
    net = next(
        (one for one in ends if one is not None and not bench.view.is_ground(one)),
        stage.switch_nodes[0] if stage.switch_nodes else "",
    )
    steps = _stage_part(bench, [stage])
    if net:
        look = look_step(bench, net, None)
        parts = (*stage.high_side, *stage.low_side, *stage.inductors)
        if stage.controller is not None:
            parts = (*parts, stage.controller)
        first = bench.note(
            f"Look, under the microscope, around {stage.id}",
            look.phase,
            look.why,
            parts=parts or look.parts,
            stage=stage.id,
            row="look",
        )
        steps = [first, *rail_steps(bench, net, compact=True), *steps]
        steps += before_power_steps(bench, net, compact=True)
    unknown = _unknown(bench, net, [stage])
    path = current_path(bench.circuit, net)
    return Section(net, bench.volts(net), _by_phase(steps), unknown, path)


def _only_part(bench: Bench, ref: str) -> Section:
    nets = [net for net in bench.view.nets(ref) if not bench.view.is_ground(net)]
    rails = {rail.net for rail in bench.circuit.rails}
    net = next((one for one in nets if one in rails), nets[0] if nets else "")
    look = bench.note(
        f"Look, under the microscope, at {ref} and around it",
        LOOK,
        "Burnt, cracked, wet, reworked, missing, bridged with solder?",
        parts=(ref,),
        row="look",
    )
    own = part_steps(bench, ref)
    staged = [
        step
        for step in _stage_part(bench, stages_of_part(bench.circuit, ref))
        if ref in step.parts
    ]
    probed = {frozenset((step.plus, step.minus)) for step in staged if step.plus}
    own = [step for step in own if frozenset((step.plus, step.minus)) not in probed]
    unknown: tuple[str, ...] = ()
    if not bench.view.fitted(ref):
        unknown = (f"{ref} is marked as not fitted: nothing to read",)
    return Section(net, bench.volts(net), (look, *own, *staged), unknown)


def _numbered(sections: Iterable[Section]) -> tuple[Section, ...]:
    made = []
    number = 0
    for section in sections:
        steps = []
        for step in section.steps:
            number += 1
            steps.append(replace(step, n=number))
        made.append(replace(section, steps=tuple(steps)))
    return tuple(made)


def make_checklist(
    circuit: Circuit,
    *,
    rail: str | None = None,
    stage: Stage | None = None,
    part: str | None = None,
    have: Iterable[str] = HAVE_ALL,
    solved: "SolvedBoard | None" = None,
    evidence: "Evidence | None" = None,
) -> Checklist:
    """Return the probe checklist of a board, or of one net, stage or part.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    rail : str, optional
        A net: its own section, with every stage on it or beyond its links.
    stage : Stage, optional
        One stage alone.
    part : str, optional
        Ref of one part alone.
    have : iterable of str
        Meter modes at hand; a step that needs another is left out or done
        otherwise.
    solved : SolvedBoard, optional
        The circuit solved, which tells the meter and what narrows it; by default as
        drawn, with a common handheld.
    evidence : Evidence, optional
        Readings of a good board, and of this one.

    Returns
    -------
    Checklist
        Steps numbered through.  Without a filter every rail has a section, each
        stage's steps stand in one of them only, and the sections are shorter.

    Raises
    ------
    NotOnBoardError
        If the rail is ground: everything is read against it.

    Notes
    -----
    Expected ranges are those of the solved network; each step's ``source`` says what
    they rest on.  Nothing here says that a board is safe to power.
    """
    from ohmtrail.netanalysis.checklist.off_board import with_parts_off
    from ohmtrail.netanalysis.checklist.solved import solved_sections
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

    bench = Bench(circuit, have)
    if stage is not None:
        sections = [_only_stage(bench, stage)]
    elif part is not None:
        sections = [_only_part(bench, part)]
    elif rail is not None:
        if bench.view.is_ground(rail):
            raise NotOnBoardError(f"{rail} is ground; give a rail or another net", rail)
        stages = _stages_at(bench, rail)
        sections = [_section(bench, rail, stages, compact=False)]
    else:
        sections = _every_rail(bench)
    solved = solved or SolvedBoard(circuit)
    sections = list(solved_sections(solved, sections, evidence))
    sections = list(with_parts_off(sections, solved.state.lifted))
    shown = {step.stage for one in sections for step in one.steps if step.stage}
    letters = []
    for group in sister_groups(one for one in circuit.stages if one.id in shown):
        if len(group) > 1:
            letters += [(chr(65 + i % 26), one.id) for i, one in enumerate(group)]
    return Checklist(
        board=circuit.board.name,
        cautions=CAUTIONS,
        sections=_numbered(sections),
        letters=tuple(letters),
    )
