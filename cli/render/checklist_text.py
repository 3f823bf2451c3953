"""The checklist as text: read from half a metre by somebody holding two probes."""

import re
import textwrap
from collections.abc import Iterable
from itertools import groupby

from ohmtrail.cli.render.plain import shown
from ohmtrail.cli.render.units import quantity, range_text
from ohmtrail.netanalysis.checklist.model import (
    COLD,
    LIMITED,
    LOOK,
    POWER,
    Checklist,
    Expect,
    Section,
    Step,
)

__all__ = [
    "NOTHING_LISTED",
    "PHASE_TITLES",
    "Probed",
    "alike",
    "blocks",
    "checklist_text",
    "expect_text",
    "probe_text",
    "probed",
    "swap_text",
]

PHASE_TITLES = {
    LOOK: "LOOK",
    COLD: "COLD: no power of any kind, capacitors under 1 V",
    LIMITED: "LIMITED POWER: current limit set before connecting",
    POWER: "POWER",
}

NOTHING_LISTED = (
    "No supply rail is recognised on this board: name a net with --rail NET or a part "
    "with --part REF ('ohmtrail nets' lists the nets)."
)

_BLANK = "[      ]"
#: A range wider than this factor is shown with its usual reading.
_WIDE = 3.0
#: Spaces in a range that has one unit ("1.87 to 2.53 Ω"); with two it is one more.
_ONE_UNIT = 3
#: Characters of the longest usual range ("842 Ω to 69.5 kΩ, ~13 kΩ").
_EXPECT_COLUMNS = 24
#: Ohms or volts below which a low end is shown as none.
_LEAST = 1e-3
#: A part's ref within a source.
_REF = re.compile(r"\b[A-Z]+\d+[A-Z]?\b( and (?=[A-Z]+\d)|[ ,]*(?=[A-Z]+\d))?")


def probe_text(point: str | None, name: str, near: str) -> str:
    """Return a probe point with its pin name, or with a handy pad."""
    if point is None:
        return ""
    if name:
        return f"{point} {name}"
    return f"{point} ({near})" if near else point


def expect_text(step: Step) -> str:
    """Return the expected reading in words."""
    expect = step.expect
    if expect is None:
        if step.mode is None:
            return ""
        return "not known" if step.mode == "voltage" else "compare"
    if step.compare:
        return "compare"
    if step.source.startswith("unknown"):
        return f"compare, {_ends(expect)}" if _ends(expect) else "compare"
    low, high = expect.low, expect.high
    if isinstance(low, float) and isinstance(high, float) and low < _LEAST < high:
        low = 0.0
    text = range_text(low, high, expect.unit)
    usual = expect.typical
    marked = step.source.startswith("marked")
    if usual in (None, "OL") or marked or text.startswith(("under", "any")):
        return text
    assert isinstance(usual, float)
    wide = not isinstance(expect.high, float) or not isinstance(expect.low, float)
    if not wide and expect.high <= _WIDE * expect.low:  # type: ignore[operator]
        return text
    shown = quantity(float(f"{usual:.2g}"), expect.unit)
    number, _, unit = shown.partition(" ")
    # A range whose ends have two units leaves open which one the usual value has.
    one_unit = text.count(" ") <= _ONE_UNIT and text.endswith(f" {unit}")
    return f"{text}, ~{number if one_unit else shown}"


Probed = tuple[str | None, str | None, str | None]


def probed(section: Section) -> frozenset[Probed]:
    """Return what a section reads: (mode, red, black)."""
    return frozenset((one.mode, one.plus, one.minus) for one in section.steps)


def swap_text(steps: Iterable[Step], listed: frozenset[Probed]) -> str:
    """Return what one kind of reading shows with the probes swapped, "" for nothing.

    Steps are named where they do not all read the same; those whose other way round
    is ``listed`` as a step of its own need no word.
    """
    steps = list(steps)
    groups: dict[str, list[str]] = {}
    for one in steps:
        turned = one.mode, one.minus, one.plus
        if one.swapped is not None and one.expect is not None and turned not in listed:
            shown = quantity(one.swapped, one.expect.unit)
            groups.setdefault(shown, []).append(str(one.n))
    if not groups:
        return ""
    told = [f"{shown} ({' '.join(numbers)})" for shown, numbers in groups.items()]
    if len(groups) == 1 and sum(map(len, groups.values())) == len(steps):
        told = list(groups)
    return f"{', '.join(told)} with the probes swapped; a short reads the same"


def _ends(expect: Expect) -> str:
    """Return the end that is known of a range that rests on something unknown."""
    if not isinstance(expect.high, float):
        return ""
    return f"under {quantity(expect.high, expect.unit)}"


def blocks(steps: Iterable[Step]) -> list[list[Step]]:
    """Group neighbours that are one kind of reading with one meaning."""

    def key(step: Step) -> tuple[object, ...]:
        return (
            step.phase,
            step.title,
            step.mode,
            step.why,
            step.if_low,
            step.if_high,
        )

    return [list(group) for _, group in groupby(steps, key)]


def _fold(text: str, width: int) -> list[str]:
    """Wrap a cell; a name that is too long is cut, never lost."""
    return textwrap.wrap(shown(text), width, break_on_hyphens=False) or [""]


def alike(sources: Iterable[str]) -> list[str]:
    """Return sources once each; of those that differ in refs only, the first."""
    first: dict[str, list[str]] = {}
    for source in dict.fromkeys(sources):
        first.setdefault(_REF.sub("#", source), []).append(source)
    return [
        some[0] + ("; the others alike" if some[1:] else "") for some in first.values()
    ]


class _Writer:
    def __init__(
        self, width: int, letters: dict[str, str], *, colour: bool, ohm_sign: bool
    ) -> None:
        self.width = width
        self.letters = letters
        self.colour = colour
        self.ohm = "Ω" if ohm_sign else "ohm"
        self.lines: list[str] = []
        #: Meaning of a block -> step where it was written out, in earlier sections.
        self.told: dict[tuple[str, ...], int] = {}
        self.new: dict[tuple[str, ...], int] = {}
        self.listed: frozenset[Probed] = frozenset()

    def bold(self, text: str) -> str:
        return f"\x1b[1m{text}\x1b[0m" if self.colour else text

    def paragraph(self, first: str, text: str, indent: int) -> None:
        self.lines += textwrap.wrap(
            shown(text),
            self.width,
            initial_indent=first,
            subsequent_indent=" " * indent,
            break_on_hyphens=False,
        )

    def block(self, steps: list[Step]) -> None:
        """Write one kind of reading: what, why, the points, what low and high mean."""
        first = steps[0]
        mode = first.mode or ""
        room = self.width - 2 - len(mode)
        title = _fold(first.title, max(20, room))
        padded = title[0].ljust(room) + "  " + mode if mode else title[0]
        self.lines.append(self.bold(padded.rstrip()))
        self.lines += [self.bold(line) for line in title[1:]]
        meaning = (first.title, mode, first.why, first.if_low, first.if_high)
        # What is done under power is always written out.
        earlier = self.told.get(meaning) if first.phase == COLD and mode else None
        if earlier is None:
            self.new.setdefault(meaning, first.n)
            self.paragraph("  ", first.why, 2)
        if mode:
            self._points(steps)
            if earlier is not None:
                self.paragraph("  low, high: ", f"as at step {earlier}", 8)
            sources = alike(step.source for step in steps if step.source)
            for word, text in (
                ("low", first.if_low if earlier is None else ""),
                ("high", first.if_high if earlier is None else ""),
                ("swap", swap_text(steps, self.listed).replace("Ω", self.ohm)),
                *(("from", source) for source in sources[:4]),
            ):
                if text:
                    self.paragraph(f"  {word:<5} ", text, 8)
            if len(sources) > 4:
                self.lines.append(f"        and {len(sources) - 4} more")
        else:
            for step in steps:
                letter = self.letters.get(step.stage or "", " ")
                parts = " ".join(step.parts)
                self.paragraph(f"{step.n:5} {letter} ", f"{parts} [ ]".lstrip(), 8)
            if first.source:
                self.paragraph("  from  ", first.source, 8)
        self.lines.append("")

    def _points(self, steps: list[Step]) -> None:
        room = self.width - 8 - len(_BLANK) - 3
        columns = max(14, min(room // 3, (room - _EXPECT_COLUMNS) // 2))
        wide = max(12, room - 2 * columns)
        head = f"{'n':>5}   {'red':<{columns}} {'black':<{columns}} expect"
        self.lines.append(head)
        for step in steps:
            # A reading that sisters share is no one's own.
            alone = len(steps) == 1
            letter = " " if alone else self.letters.get(step.stage or "", " ")
            cells = (
                _fold(probe_text(step.plus, step.plus_name, step.plus_near), columns),
                _fold(
                    probe_text(step.minus, step.minus_name, step.minus_near), columns
                ),
                _fold(expect_text(step).replace("Ω", self.ohm), wide),
            )
            for number in range(max(map(len, cells))):
                red, black, expect = (
                    cell[number] if number < len(cell) else "" for cell in cells
                )
                start = f"{step.n:5} {letter} " if number == 0 else " " * 8
                end = _BLANK if number == 0 else ""
                line = f"{start}{red:<{columns}} {black:<{columns}} {expect:<{wide}} "
                self.lines.append((line + end).rstrip())
            if step.detail:
                self.paragraph(" " * 8, step.detail, 8)

    def section(self, section: Section) -> None:
        """Write one rail's steps, phase by phase."""
        self.told.update(self.new)
        self.new.clear()
        self.listed = probed(section)
        volts = f"   {section.volts:g} V" if section.volts is not None else ""
        self.lines.append("=" * self.width)
        title = _fold(f"{section.rail or 'no net'}{volts}", self.width)
        self.lines += [self.bold(line) for line in title]
        self.lines.append("=" * self.width)
        for words in section.path:
            self.paragraph("  ", words, 4)
        for words in section.unknown:
            self.paragraph("  not known: ", words, 4)
        phase = ""
        stage: str | None = None
        for steps in blocks(section.steps):
            if steps[0].phase != phase:
                phase = steps[0].phase
                self.lines += ["", f"--- {PHASE_TITLES[phase]} ".ljust(self.width, "-")]
            stages = tuple(dict.fromkeys(step.stage for step in steps if step.stage))
            if stages and stages[0] != stage and phase != LOOK:
                stage = stages[0]
                self.stage_heading(stages)
            elif not stages or phase == LOOK:
                stage = None
            self.block(steps)

    def stage_heading(self, stages: tuple[str, ...]) -> None:
        """Name the stage, or the sister stages with their letters."""
        self.lines.append("")
        for one in stages:
            letter = self.letters.get(one)
            self.paragraph(f"  {letter} = " if letter else "  >> ", one, 6)
        self.lines.append("")


def checklist_text(
    checklist: Checklist,
    *,
    width: int = 80,
    colour: bool = False,
    ohm_sign: bool = True,
) -> str:
    """Return the checklist as text.

    Parameters
    ----------
    checklist : Checklist
        What to write.
    width : int
        Columns, at least 60.
    colour : bool
        Bold headings by terminal codes; meaning never rests on them.
    ohm_sign : bool
        False for a terminal that has no such sign.
    """
    letters = {stage: letter for letter, stage in checklist.letters}
    writer = _Writer(max(60, width), letters, colour=colour, ohm_sign=ohm_sign)
    steps = [step for section in checklist.sections for step in section.steps]
    writer.lines.append(
        writer.bold(f"Probe checklist: {shown(checklist.board)}")
        + f"   {len(steps)} steps"
    )
    writer.lines.append("")
    writer.lines.append(writer.bold("Before you touch it"))
    for caution in checklist.cautions:
        writer.paragraph("  ! ", caution, 4)
    writer.lines.append("")
    if not checklist.sections:
        writer.paragraph("", NOTHING_LISTED, 0)
    for section in checklist.sections:
        writer.section(section)
    return "\n".join(writer.lines).rstrip() + "\n"
