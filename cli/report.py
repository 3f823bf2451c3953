"""``ohmtrail report``: what was found and done, on a sheet for others."""

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._errors import warn
from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._logs import load_log, log_path
from ohmtrail.cli._pages import paper_option, split_formats, write_page
from ohmtrail.cli._progress import progress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ohmtrail.cli.render.drawing import Drawing
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.diagnosis.action import Action
    from ohmtrail.netanalysis.diagnosis.report import Report

__all__ = ["command"]

#: Stages drawn at most.
_DRAWN = 3


@click.command("report")
@board_options(with_format=False)
@click.option("--log", "log", metavar="FILE", help="The bench log; a case has its own.")
@click.option(
    "--format",
    "formats",
    multiple=True,
    metavar="md|html|pdf",
    help="The document's format; a board format's name is taken for BOARD.",
)
@click.option(
    "--private",
    is_flag=True,
    help="Put in the log's own columns (customer, serial), left out otherwise.",
)
@paper_option
@click.option("--out", metavar="FILE", help="Write to FILE, not to stdout.")
def command(
    request: Request,
    log: str | None,
    formats: tuple[str, ...],
    private: bool,
    paper: str,
    out: str | None,
) -> None:
    """Write a report: found and why, readings before and after, done, not checked.

    For the customer and for colleagues. Notes of the log are in it as they stand:
    write no names there.
    """
    if request.json:
        raise click.UsageError("a report is for people; 'rank --json' is for programs")
    form, board_format = split_formats(formats, ("md", "html", "pdf"), "md")
    from ohmtrail.cli.render.report_page import report_page
    from ohmtrail.netanalysis.checklist.cautions import CAUTIONS
    from ohmtrail.netanalysis.diagnosis.next_action import next_action
    from ohmtrail.netanalysis.diagnosis.private import without_private
    from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log
    from ohmtrail.netanalysis.diagnosis.report import make_report

    request = replace(request, format=board_format)
    path = log_path(request, log)
    with progress(4) as begin:
        begin("reading the board")
        circuit = load_circuit(request)
        bench_log = load_log(path, circuit.board)
        if not private:
            if bench_log.extra_columns:
                names = ", ".join(bench_log.extra_columns)
                warn(f"left out: {names} (--private puts them in)")
            bench_log = without_private(bench_log)
        begin("weighing the readings")
        found = weigh_log(case_of(circuit, bench_log))
        begin("looking for the next action")
        advice = _lines(next_action(found, request.have))
        report = make_report(circuit, found)
        begin("drawing")
        page = report_page(
            report,
            advice=advice,
            cautions=CAUTIONS,
            pictures=[] if form == "md" else list(_pictures(circuit, report)),
            private=private,
        )
    write_page(page, form, paper, out)


def _pictures(circuit: "Circuit", report: "Report") -> "Iterator[Drawing]":
    """Draw the stages that the report is about, with what was read last."""
    from ohmtrail.cli.render.stage_drawing import stage_drawing
    from ohmtrail.cli.render.stage_readings import points_key
    from ohmtrail.cli.render.units import reading_text

    parts = set(report.ranking.replace)
    for one in report.ranking.suspects[:1]:
        parts.update(one.parts)
    taken = {
        points_key(one.mode, str(one.plus), str(one.minus)): reading_text(one)
        for one in report.readings
        if not one.part
    }
    stages = [
        stage
        for stage in circuit.stages
        if parts & {*stage.high_side, *stage.low_side, stage.driver, stage.controller}
    ]
    for stage in stages[:_DRAWN]:
        yield stage_drawing(circuit, stage, taken)


def _lines(action: "Action") -> list[str]:
    from ohmtrail.cli.next import headline

    lines = [headline(action), action.why]
    lines += [f"{seen}: {then}" for seen, then in action.expected]
    return [*lines, *action.notes]
