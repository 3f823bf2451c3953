"""The checklist as Markdown: sister stages in columns."""

from ohmtrail.cli.render.checklist_text import (
    NOTHING_LISTED,
    PHASE_TITLES,
    Probed,
    blocks,
    expect_text,
    probe_text,
    probed,
    swap_text,
)
from ohmtrail.cli.render.plain import shown
from ohmtrail.netanalysis.checklist.model import Checklist, Step

__all__ = ["checklist_markdown"]

_ESCAPED = "\\`*_{}[]<>#|~!$&"


def _plain(text: str) -> str:
    """Return text that Markdown shows as it is, whatever a file calls its nets."""
    text = shown(" ".join(text.split()))
    return "".join(f"\\{c}" if c in _ESCAPED else c for c in text)


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _points(step: Step) -> tuple[str, str]:
    return (
        _plain(probe_text(step.plus, step.plus_name, step.plus_near)),
        _plain(probe_text(step.minus, step.minus_name, step.minus_near)),
    )


def _listed(steps: list[Step]) -> list[str]:
    lines = [_row(["n", "red", "black", "expect", "reading"]), "|--:|---|---|---|---|"]
    for step in steps:
        red, black = _points(step)
        lines.append(_row([str(step.n), red, black, _plain(expect_text(step)), " "]))
    details = [step for step in steps if step.detail]
    if details:
        lines.append("")
        lines += [f"- {step.n}: {_plain(step.detail)}" for step in details]
    return lines


def _columns(steps: list[Step], letters: dict[str, str]) -> list[str]:
    """Lay sister stages side by side: one row a place, one column a stage."""
    stages = list(dict.fromkeys(step.stage or "" for step in steps))
    rows: dict[str, dict[str, Step]] = {}
    for step in steps:
        rows.setdefault(step.row, {})[step.stage or ""] = step
    head = ["expect"]
    for stage in stages:
        head += [f"{letters[stage]}: red - black", "reading"]
    lines = [_row(head), "|" + "---|" * len(head)]
    for row in rows.values():
        cells = [_plain(expect_text(next(iter(row.values()))))]
        for stage in stages:
            found = row.get(stage)
            if found is None:
                cells += [" ", " "]
            else:
                red, black = _points(found)
                cells += [f"{found.n}. {red} - {black}", " "]
        lines.append(_row(cells))
    return lines


def _block(
    steps: list[Step], letters: dict[str, str], listed: frozenset[Probed]
) -> list[str]:
    first = steps[0]
    mode = f" ({first.mode})" if first.mode else ""
    lines = [f"**{_plain(first.title)}**{mode}", "", _plain(first.why), ""]
    if first.mode is None:
        for step in steps:
            lines.append(f"- [ ] {step.n}. {_plain(' '.join(step.parts))}".rstrip())
        return [*lines, ""]
    stages = {step.stage for step in steps}
    if len(stages) > 1 and all(stage in letters for stage in stages):
        lines += _columns(steps, letters)
    else:
        lines += _listed(steps)
    lines.append("")
    sources = dict.fromkeys(step.source for step in steps if step.source)
    for word, text in (
        ("low", first.if_low),
        ("high", first.if_high),
        ("swap", swap_text(steps, listed)),
        ("from", "; ".join(sources)),
    ):
        if text:
            lines.append(f"- {word}: {_plain(text)}")
    return [*lines, ""]


def checklist_markdown(checklist: Checklist) -> str:
    """Return the checklist as Markdown."""
    letters = {stage: letter for letter, stage in checklist.letters}
    lines = [f"# Probe checklist: {_plain(checklist.board)}", ""]
    lines += [f"- {_plain(caution)}" for caution in checklist.cautions]
    if not checklist.sections:
        lines += ["", _plain(NOTHING_LISTED)]
    for section in checklist.sections:
        volts = f", {section.volts:g} V" if section.volts is not None else ""
        lines += ["", f"## {_plain(section.rail or 'no net')}{volts}", ""]
        lines += [f"- {_plain(words)}" for words in section.path]
        lines += [f"- not known: {_plain(words)}" for words in section.unknown]
        phase = ""
        stage: tuple[str, ...] = ()
        for steps in blocks(section.steps):
            if steps[0].phase != phase:
                phase = steps[0].phase
                lines += ["", f"### {PHASE_TITLES[phase]}", ""]
            stages = tuple(dict.fromkeys(one.stage for one in steps if one.stage))
            if stages and stages[0] not in stage:
                stage = stages
                for one in stages:
                    letter = letters.get(one)
                    lines.append(f"#### {f'{letter}: ' if letter else ''}{_plain(one)}")
                lines.append("")
            lines += _block(steps, letters, probed(section))
    text = "\n".join(lines)
    while "\n\n\n" in text:
        text = text.replace("\n\n\n", "\n\n")
    return text.rstrip() + "\n"
