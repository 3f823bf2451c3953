"""The checklist as a page: sister stages in columns, room for every reading."""

from collections.abc import Callable, Iterable, Mapping

from ohmtrail.cli.render.checklist_text import (
    NOTHING_LISTED,
    PHASE_TITLES,
    Probed,
    alike,
    blocks,
    expect_text,
    probe_text,
    probed,
    swap_text,
)
from ohmtrail.cli.render.drawing import Drawing
from ohmtrail.cli.render.page import (
    Block,
    Cell,
    Heading,
    Items,
    Page,
    Paragraph,
    Picture,
    Room,
    Table,
    Terms,
    Tick,
    Together,
)
from ohmtrail.netanalysis.checklist.model import COLD, LOOK, Checklist, Section, Step

__all__ = ["checklist_page"]

#: So many sister stages fit beside each other on a sheet.
_COLUMNS = 3
#: So many sources are told of one kind of reading.
_SOURCES = 4


class _Maker:
    def __init__(
        self,
        letters: dict[str, str],
        drawing: Callable[[str], Drawing | None],
        read: Mapping[int, str],
    ) -> None:
        self.read = read
        self.letters = letters
        self.drawing = drawing
        self.drawn: set[str] = set()
        #: Meaning of a block -> step where it was written out, in earlier sections.
        self.told: dict[tuple[str, ...], int] = {}
        self.new: dict[tuple[str, ...], int] = {}

    def section(self, section: Section) -> list[Block]:
        """Return one rail's steps, phase by phase."""
        self.told.update(self.new)
        self.new.clear()
        listed = probed(section)
        volts = f", {section.volts:g} V" if section.volts is not None else ""
        made: list[Block] = [Heading(2, f"{section.rail or 'no net'}{volts}")]
        known = [*section.path, *(f"not known: {words}" for words in section.unknown)]
        if known:
            made.append(Items(tuple(known)))
        phase = ""
        stages: tuple[str, ...] = ()
        for steps in blocks(section.steps):
            if steps[0].phase != phase:
                phase = steps[0].phase
                made.append(Heading(3, PHASE_TITLES[phase]))
            mine = tuple(dict.fromkeys(one.stage for one in steps if one.stage))
            if phase == LOOK or not mine:
                stages = ()
            elif not stages or mine[0] not in stages:
                stages = mine
                made += self.stages(mine)
            made.append(Together(tuple(self.block(steps, listed))))
        return made

    def stages(self, ids: tuple[str, ...]) -> list[Block]:
        """Name the stage, or the sister stages with their letters, and draw one."""
        named = [
            f"{self.letters[one]} = {one}" if one in self.letters else one
            for one in ids
        ]
        made: list[Block] = [Heading(4, name, ruled=True) for name in named]
        if ids[0] not in self.drawn:
            self.drawn.update(ids)
            drawing = self.drawing(ids[0])
            if drawing is not None:
                made.append(Picture(drawing))
                others = [self.letters[one] for one in ids[1:] if one in self.letters]
                if others:
                    first = self.letters[ids[0]]
                    words = f"{first} is drawn; {' and '.join(others)} are built alike."
                    made.append(Paragraph(words))
        return made

    def block(self, steps: list[Step], listed: frozenset[Probed]) -> list[Block]:
        """Return one kind of reading: what, why, the points, what low and high mean."""
        first = steps[0]
        made: list[Block] = [Heading(4, first.title, first.mode or "")]
        meaning = (
            first.title,
            first.mode or "",
            first.why,
            first.if_low,
            first.if_high,
        )
        # What is done under power is always written out.
        earlier = self.told.get(meaning) if first.phase == COLD and first.mode else None
        if earlier is None:
            self.new.setdefault(meaning, first.n)
            made.append(Paragraph(first.why))
        if first.mode is None:
            made.append(Items(tuple(map(self.noted, steps)), "tick"))
            if first.source:
                made.append(Terms((("from", first.source),)))
            return made
        stages = {step.stage for step in steps}
        if len(stages) > 1 and all(stage in self.letters for stage in stages):
            made += self.columns(steps)
        else:
            made.append(self.listed(steps))
        made += [Paragraph(f"{one.n}: {one.detail}") for one in steps if one.detail]
        terms = [("low, high", f"as at step {earlier}")] if earlier is not None else []
        if earlier is None:
            terms += [("low", first.if_low), ("high", first.if_high)]
        terms.append(("swap", swap_text(steps, listed)))
        sources = alike(step.source for step in steps if step.source)
        if len(sources) > _SOURCES:
            more = f"and {len(sources) - _SOURCES} more"
            sources = [*sources[:_SOURCES], more]
        terms.append(("from", "; ".join(sources)))
        told = tuple((word, text) for word, text in terms if text)
        return [*made, Terms(told)] if told else made

    def noted(self, step: Step) -> str:
        letter = self.letters.get(step.stage or "", "")
        mark = f"{letter}: " if letter else ""
        return f"{step.n}. {mark}{' '.join(step.parts)}"

    def columns(self, steps: list[Step]) -> Iterable[Table]:
        """Lay sister stages side by side: one row a place, some columns a stage."""
        stages = list(dict.fromkeys(step.stage or "" for step in steps))
        rows: dict[str, dict[str, Step]] = {}
        for step in steps:
            rows.setdefault(step.row, {})[step.stage or ""] = step
        for at in range(0, len(stages), _COLUMNS):
            some = stages[at : at + _COLUMNS]
            yield self.beside(some, list(rows.values()), steps[0].title)

    def beside(
        self, stages: list[str], rows: list[dict[str, Step]], title: str
    ) -> Table:
        head, widths = ["expect"], [1.0]
        for stage in stages:
            letter = self.letters[stage]
            head += [f"{letter}: red - black", f"{letter} reads"]
            widths += [1.6, 0.65]
        made: list[tuple[Cell, ...]] = []
        for row in rows:
            told = list(dict.fromkeys(expect_text(one) for one in row.values()))
            own = len(told) > 1
            cells: list[Cell] = ["each its own" if own else told[0]]
            for stage in stages:
                found = row.get(stage)
                if found is None:
                    cells += ["", ""]
                    continue
                red, black = _points(found)
                expect = f" [{expect_text(found)}]" if own else ""
                cells.append(Tick(f"{found.n}. {red} - {black}{expect}"))
                cells.append(self.room(found))
            made.append(tuple(cells))
        return Table(title, tuple(head), tuple(made), tuple(widths))

    def listed(self, steps: list[Step]) -> Table:
        """Return readings below one another."""
        rows: list[tuple[Cell, ...]] = []
        for step in steps:
            number, room = Tick(str(step.n)), self.room(step)
            rows.append((number, *_points(step), expect_text(step), room))
        head = ("step", "red", "black", "expect", "reading")
        return Table(steps[0].title, head, tuple(rows), (0.75, 1.6, 1.6, 1.5, 1.1))

    def room(self, step: Step) -> Room:
        return Room(f"reading of step {step.n}", self.read.get(step.n, ""))


def _points(step: Step) -> tuple[str, str]:
    return (
        probe_text(step.plus, step.plus_name, step.plus_near),
        probe_text(step.minus, step.minus_name, step.minus_near),
    )


def checklist_page(
    checklist: Checklist,
    maps: Iterable[Drawing] = (),
    drawing: Callable[[str], Drawing | None] = lambda _: None,
    read: Mapping[int, str] | None = None,
) -> Page:
    """Return a checklist as a page.

    Parameters
    ----------
    checklist : Checklist
        What to do.
    maps : iterable of Drawing
        Where the points are; none where no positions are known.
    drawing : callable
        A stage's id to its drawing, or None.
    read : mapping, optional
        What was read already, by the number of the step.
    """
    steps = sum(len(section.steps) for section in checklist.sections)
    made: list[Block] = [Heading(2, "Before you touch it")]
    made.append(Items(checklist.cautions, "caution"))
    pictures = [Picture(one) for one in maps]
    if pictures:
        made += [Heading(2, "Where the points are"), *pictures]
    if not checklist.sections:
        made.append(Paragraph(NOTHING_LISTED))
    letters = {stage: letter for letter, stage in checklist.letters}
    maker = _Maker(letters, drawing, read or {})
    for section in checklist.sections:
        made += maker.section(section)
    return Page(f"Probe checklist: {checklist.board}", f"{steps} steps", tuple(made))
