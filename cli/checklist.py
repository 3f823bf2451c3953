"""``ohmtrail checklist``: the probe checklist of a rail, stage or part."""

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._pages import paper_option, split_formats
from ohmtrail.cli._progress import progress

if TYPE_CHECKING:
    from ohmtrail.netanalysis.checklist.model import Checklist
    from ohmtrail.netanalysis.circuit import Circuit

__all__ = ["command"]

_DOCUMENTS = ("text", "md", "csv", "json", "html", "pdf")


def _check_name(path: Path) -> None:
    """Say what is wrong if the editor's line came apart at an apostrophe."""
    from ohmtrail.cli.viewer_command import broken_by_apostrophe

    if broken_by_apostrophe(str(path)):
        raise click.ClickException(
            "found an apostrophe in the name of the file or of its folder, which ends "
            "the quotes of the line from 'ohmtrail viewer-command'; expected a name "
            "without"
        )


@click.command("checklist")
@board_options(with_format=False)
@click.option("--rail", metavar="NET", help="Only this rail (or any other net).")
@click.option("--stage", metavar="ID", help="Only this stage ('stages' lists them).")
@click.option("--part", metavar="REF", help="Only this part.")
@click.option("--log", metavar="FILE", help="The bench log of this board.")
@click.option(
    "--format",
    "formats",
    multiple=True,
    metavar="text|md|csv|json|html|pdf",
    help="The document's format; a board format's name is taken for BOARD.",
)
@paper_option
@click.option("--out", metavar="FILE", help="Write to FILE, not to stdout.")
def command(
    request: Request,
    rail: str | None,
    stage: str | None,
    part: str | None,
    log: str | None,
    formats: tuple[str, ...],
    paper: str,
    out: str | None,
) -> None:
    """Print the probe checklist: both points, mode, what to expect, what it means.

    Without a filter every rail has a section. With --log, parts that are off the
    board count as off, and its own readings narrow the ranges.
    """
    if sum(one is not None for one in (rail, stage, part)) > 1:
        raise click.UsageError("give one of --rail, --stage and --part")
    _check_name(request.path)
    json = ("json",) if request.json else ()
    document, format = split_formats((*json, *formats), _DOCUMENTS, "text")
    from ohmtrail.cli._checklists import checklist_of
    from ohmtrail.cli._logs import solve_beside_logs
    from ohmtrail.cli._output import write_document

    request = replace(request, format=format)
    with progress(3) as begin:
        begin("reading the board")
        circuit = load_circuit(request, uses=("--good", "--meter"))
        begin("solving the board")
        solved, evidence = solve_beside_logs(request, circuit, log)
        circuit = solved.circuit
        begin("working out what each step reads")
        checklist = checklist_of(
            request, solved, evidence, rail=rail, stage=stage, part=part
        )
    if document == "json":
        from ohmtrail.cli._json import checklist_json, dump

        write_document(dump(checklist_json(circuit.board, checklist)), out)
    elif document in ("html", "pdf"):
        from ohmtrail.cli._pages import pictures_of, write_page
        from ohmtrail.cli.render.checklist_page import checklist_page

        read = _read(circuit, checklist, log)
        pictures = pictures_of(circuit, checklist, read)
        page = checklist_page(checklist, *pictures, read)
        write_page(page, document, paper, out)
    else:
        write_document(_document(checklist, document, to_file=out is not None), out)


def _read(
    circuit: "Circuit", checklist: "Checklist", log: str | None
) -> dict[int, str]:
    """Return what the log has read since the board was last changed, by step."""
    if log is None:
        return {}
    from ohmtrail.cli._logs import load_log
    from ohmtrail.cli.render.units import reading_text
    from ohmtrail.netanalysis.checklist.read_steps import read_steps

    steps = [step for section in checklist.sections for step in section.steps]
    found = read_steps(circuit.board, steps, load_log(Path(log), circuit.board))
    return {n: reading_text(event) for n, event in found.items()}


def _document(checklist: "Checklist", document: str, *, to_file: bool) -> str:
    if document == "md":
        from ohmtrail.cli.render.checklist_markdown import checklist_markdown

        return checklist_markdown(checklist)
    if document == "csv":
        from ohmtrail.cli.render.checklist_csv import checklist_csv

        return checklist_csv(checklist)
    from ohmtrail.cli.render.checklist_text import checklist_text
    from ohmtrail.cli.render.tables import screen_width

    if to_file:
        return checklist_text(checklist)
    import os

    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    return checklist_text(
        checklist, width=screen_width(), colour=colour, ohm_sign=_has_ohm_sign()
    )


def _has_ohm_sign() -> bool:
    """Whether the terminal can show "Ω"."""
    try:
        "Ω".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
