"""``ohmtrail map``: where on the board the steps of a checklist are."""

from pathlib import Path

import click

from ohmtrail.cli._load import Request, board_options, load_circuit

__all__ = ["command"]


@click.command("map")
@board_options()
@click.option("--rail", metavar="NET", help="Only this rail (or any other net).")
@click.option("--stage", metavar="ID", help="Only this stage ('stages' lists them).")
@click.option("--part", metavar="REF", help="Only this part.")
@click.option("--log", metavar="FILE", help="The bench log of this board.")
@click.option(
    "--out",
    metavar="FILE",
    required=True,
    help="FILE.pdf: all pages; FILE.svg: the first, and the rest as FILE-2.svg ...",
)
def command(
    request: Request,
    rail: str | None,
    stage: str | None,
    part: str | None,
    log: str | None,
    out: str,
) -> None:
    """Draw the board with the steps of its checklist as numbered points.

    Top and bottom (as seen when the board is turned over), close-ups where points
    crowd, and a way round that turns the board and travels as little as the order of
    the job allows. Positions come from BOARD or from a layout given by --with.
    """
    if sum(one is not None for one in (rail, stage, part)) > 1:
        raise click.UsageError("give one of --rail, --stage and --part")
    from ohmtrail.cli._drawings import check_out, tell_files, write_drawings

    check_out(out)
    from ohmtrail.cli._checklists import checklist_of
    from ohmtrail.cli._logs import solve_beside_logs
    from ohmtrail.cli.render.map_drawing import map_drawings

    circuit = load_circuit(request, uses=("--good", "--meter"))
    solved, evidence = solve_beside_logs(request, circuit, log)
    circuit = solved.circuit
    checklist = checklist_of(
        request, solved, evidence, rail=rail, stage=stage, part=part
    )
    drawings = map_drawings(
        circuit, (step for one in checklist.sections for step in one.steps)
    )
    if not drawings:
        raise click.ClickException(_nothing(request.path))
    written = write_drawings(drawings, out)
    tell_files(request, drawings, written)


def _nothing(path: Path) -> str:
    return (
        f"{path}: found no position of any point of the checklist, expected a layout; "
        "give one with --with FILE"
    )
