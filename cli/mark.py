"""``ohmtrail mark``: a copy of the project with marks in its own files."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._errors import warn
from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say
from ohmtrail.cli._progress import progress

if TYPE_CHECKING:
    from ohmtrail.cli.marks.insertions import Insertion
    from ohmtrail.cli.marks.plan import MarkPlan
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.circuit import Circuit

__all__ = ["command"]


@click.command("mark")
@board_options()
@click.option("--rail", metavar="NET", required=True, help="The shorted net.")
@click.option("--log", metavar="FILE", help="The bench log: suspects and cleared.")
@click.option(
    "--out",
    metavar="DIR",
    required=True,
    help="A new or empty folder for the copy, or an earlier copy.",
)
def command(request: Request, rail: str, log: str | None, out: str) -> None:
    """Mark a shorted net in a copy of the schematic's own files.

    The net is traced; pads that the checklist probes are flagged with the number of
    the step and what to expect. With --log, suspects are framed and numbered, and
    what is cleared is struck. The original is only read; 'ohmtrail unmark' gives its
    bytes back.
    """
    from ohmtrail.cli.marks.project_copy import check_out, write_copy

    check_out(Path(out))
    with progress(4) as begin:
        begin("reading the board")
        circuit = load_circuit(request, uses=("--good", "--meter"))
        form = _format(circuit.board)
        begin("working out the checklist")
        plan = _plan(request, circuit, rail, log)
        begin("drawing the marks")
        marks = _marks(form, request.path, circuit.board, plan)
        begin("writing the copy")
        from ohmtrail.cli.marks.formats import project_files

        files = [*project_files(form, request.path), *marks]
        copy = write_copy(request.path, files, marks, Path(out))
    if request.json:
        from ohmtrail.cli._json import dump, warnings_json

        say(
            dump(
                {
                    "root": str(copy.root),
                    "files": [str(path) for path in copy.files],
                    "marked": [str(path) for path in copy.marked],
                    "rail": plan.rail,
                    "nets": list(plan.nets),
                    "warnings": warnings_json(circuit.board),
                }
            )
        )
        return
    total = len(copy.files)
    say(f"wrote {total} files, {len(copy.marked)} of them marked; open {copy.root}")
    say(f"'ohmtrail unmark {copy.root}' takes the marks out again")


def _format(board: "Board") -> str:
    from ohmtrail.cli.marks.formats import FORMATS

    if board.format in FORMATS:
        return board.format
    hint = ""
    if board.format == "kicad_legacy":
        hint = "; open it in KiCad 6 or later, save it, and mark that"
    raise click.ClickException(
        f"found a board of format {board.format}, expected one that can be marked: "
        f"{', '.join(FORMATS)}{hint}"
    )


def _plan(
    request: Request, circuit: "Circuit", rail: str, log: str | None
) -> "MarkPlan":
    from datetime import date

    from ohmtrail.cli._checklists import checklist_of, weighed_log
    from ohmtrail.cli._logs import solve_beside_logs
    from ohmtrail.cli.marks.plan import plan_of
    from ohmtrail.netanalysis.probe_points import find_net

    net = find_net(circuit.board, rail)
    solved, evidence = solve_beside_logs(request, circuit, log)
    checklist = checklist_of(request, solved, evidence, rail=net, stage=None, part=None)
    ranking = None
    if log is not None:
        from ohmtrail.netanalysis.diagnosis.rank import rank

        ranking = rank(weighed_log(request, log, lambda _: None))
    return plan_of(
        solved.circuit,
        net,
        checklist,
        ranking,
        made=date.today().isoformat(),
        log=Path(log).name if log is not None else "",
    )


def _marks(
    form: str, path: Path, board: "Board", plan: "MarkPlan"
) -> "dict[Path, tuple[str, list[Insertion]]]":
    from ohmtrail.cli.marks.formats import FORMATS, companions, insertions
    from ohmtrail.importers._errors import ImporterError

    made = {
        file: (form, some) for file, some in insertions(form, path, board, plan).items()
    }
    for other, file in companions(form, path):
        if other not in FORMATS:
            continue
        try:
            found = insertions(other, file, board, plan)
        except ImporterError as error:
            warn(f"{file}: copied without marks: {error}")
            continue
        made |= {one: (other, some) for one, some in found.items()}
    return made
