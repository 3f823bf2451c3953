"""The report of a repair as a page: for the customer above, for colleagues below."""

from collections.abc import Iterable, Iterator

from ohmtrail.cli.render.drawing import Drawing
from ohmtrail.cli.render.page import (
    Block,
    Heading,
    Items,
    Page,
    Paragraph,
    Picture,
    Table,
    Terms,
    Together,
)
from ohmtrail.cli.render.strips import verdict_words
from ohmtrail.cli.render.units import reading_text
from ohmtrail.netanalysis.diagnosis.report import Report
from ohmtrail.netanalysis.diagnosis.words import share_text

__all__ = ["report_page"]

_DONE = {"lift": "taken off", "fit": "fitted", "inject": "injected", "power": "powered"}
_WORDS = {
    "runs": "runs",
    "limit": "the supply stayed at its limit",
    "dead": "did not start",
    "died": "ran and died",
    "new": "a new part",
    "same": "the same part again",
}
_SAFE = (
    "What was not measured stays unknown. This report does not say that the board is "
    "safe to power."
)


def report_page(
    report: Report,
    *,
    advice: Iterable[str],
    cautions: tuple[str, ...],
    pictures: Iterable[Drawing] = (),
    private: bool = False,
) -> Page:
    """Return a report as a page.

    Parameters
    ----------
    report : Report
        What to say.
    advice : iterable of str
        What to do next, in lines.
    cautions : tuple of str
        For whoever goes on.
    pictures : iterable of Drawing
        Stages with their readings.
    private : bool
        Whether the owner's own columns are shown.
    """
    dates = " to ".join(
        dict.fromkeys(one for one in (report.first, report.last) if one)
    )
    subtitle = f"{report.events} entries in the bench log" + (
        f", {dates}" * bool(dates)
    )
    made: list[Block] = []
    if private and report.private:
        rows = tuple((name, ", ".join(texts)) for name, texts in report.private)
        made.append(Terms(rows))
    made += _found(report)
    made += [Heading(2, "Readings before and after"), *_pairs(report)]
    made += _sisters(report)
    made += [Heading(2, "What was done"), *_done(report)]
    made += [Heading(2, "What was not checked")]
    made.append(Items((*report.unchecked, _SAFE)))
    made += [Heading(2, "Advice"), *_advice(report, tuple(advice))]
    drawn = [Picture(one) for one in pictures]
    if drawn:
        made += [Heading(2, "Stages, with the last readings"), *drawn]
    made += [Heading(2, "Every reading"), *_readings(report)]
    made += [Together((Heading(2, "Cautions"), Items(cautions, "caution")))]
    return Page(f"Repair report: {report.board}", subtitle, tuple(made))


def _found(report: Report) -> Iterator[Block]:
    ranking = report.ranking
    yield Heading(2, "What was found, and why")
    if not report.found:
        yield Paragraph("No fault is made likely by the readings of this log.")
    elif ranking.confident:
        yield Paragraph("The readings of this log leave little else:", strong=True)
    else:
        yield Paragraph("Not settled. Most likely, by the readings:", strong=True)
    for what, share, because in report.found:
        yield Together((Heading(3, what, share_text(share)), Items(because[1:])))
    if ranking.healthy >= _HALF:
        yield Paragraph(
            "As the board reads now, with what is off it and what is fitted, nothing "
            f"that was measured is wrong ({share_text(ranking.healthy)})."
        )


#: From here on "nothing is wrong now" is the likeliest.
_HALF = 0.5


def _pairs(report: Report) -> Iterator[Block]:
    if not report.pairs:
        yield Paragraph("No pair of points was read both before and after a change.")
        return
    yield Table(
        "readings before and after",
        ("red", "black", "mode", "before", "after", "lines"),
        tuple(
            (
                one.plus,
                one.minus,
                one.mode,
                reading_text(one.before),
                reading_text(one.after),
                f"{one.before.line}, {one.after.line}",
            )
            for one in report.pairs
        ),
        (1.6, 1.6, 1.0, 1.0, 1.0, 0.7),
    )


def _sisters(report: Report) -> Iterator[Block]:
    if not report.sisters:
        return
    rows = tuple(
        (
            f"{one.readings[0][2].plus} to {one.readings[0][2].minus}",
            one.mode,
            "; ".join(
                f"{letter} {reading_text(event)}" for letter, _, event in one.readings
            ),
            verdict_words(one),
        )
        for one in report.sisters
    )
    head = ("place in the first", "mode", "readings", "which is odd")
    yield Heading(3, "Sister stages beside each other")
    yield Table("readings of sister stages", head, rows, (1.6, 1.0, 2.2, 1.6))
    named = {row[:2] for one in report.sisters for row in one.readings}
    yield Items(tuple(f"{letter} = {stage}" for letter, stage in sorted(named)))


def _done(report: Report) -> Iterator[Block]:
    if not report.changes:
        yield Paragraph("Nothing was lifted, fitted or powered.")
    else:
        rows = []
        for one in report.changes:
            ends = f"{one.plus} and {one.minus}" if one.plus is not None else ""
            what = one.part or ends
            told = _WORDS.get(one.word, one.text)
            action = _DONE[one.action]
            rows.append((str(one.line), one.when, action, what, told, one.note))
        head = ("line", "when", "done", "part or points", "result", "note")
        yield Table("what was done", head, tuple(rows), (0.5, 1.4, 0.9, 1.4, 1.6, 2.2))
    if report.looks:
        looked = ("line", "part", "seen", "note")
        seen = tuple(
            (str(one.line), one.part or "", one.word, one.note) for one in report.looks
        )
        yield Heading(3, "Looked at")
        yield Table("what was looked at", looked, seen, (0.5, 1.0, 1.0, 3.0))


def _advice(report: Report, advice: tuple[str, ...]) -> Iterator[Block]:
    ranking = report.ranking
    if ranking.replace:
        sure = "" if ranking.confident else ", if the next readings bear it out"
        yield Paragraph(f"Replace together{sure}: {' '.join(ranking.replace)}", True)
        yield Paragraph(
            "Parts in parallel shared the fault. One that reads well may still be "
            "weakened and fail at power-up: replace the whole set, same part, same lot."
        )
    if advice:
        yield Heading(3, "The next step on the bench")
        yield Items(advice)
    if ranking.inspect:
        yield Heading(3, "Before power")
        yield Items(tuple(f"{ref}: {how}" for ref, how in ranking.inspect), "tick")
    if report.substitutes:
        yield Heading(3, "What the new parts must meet or beat")
        yield Items(report.substitutes)


def _readings(report: Report) -> Iterator[Block]:
    if not report.readings:
        yield Paragraph("The log holds no reading.")
        return
    rows = tuple(
        (
            str(one.line),
            str(one.plus),
            str(one.minus),
            f"{one.mode}, in the hand" if one.part else one.mode,
            reading_text(one),
            one.note,
        )
        for one in report.readings
    )
    head = ("line", "red", "black", "mode", "reading", "note")
    yield Table("every reading", head, rows, (0.5, 1.4, 1.4, 1.2, 1.0, 2.0))
