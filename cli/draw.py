"""``ohmtrail draw``: switching stages as small schematics."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import Request, board_options, load_circuit

if TYPE_CHECKING:
    from ohmtrail.cli.render.stage_readings import Taken
    from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["command"]


@click.command("draw")
@board_options()
@click.option("--stage", metavar="ID", help="Only this stage ('stages' lists them).")
@click.option("--rail", metavar="NET", help="Only stages that this net is part of.")
@click.option(
    "--log", metavar="FILE", help="The bench log: its readings are filled in."
)
@click.option(
    "--out",
    metavar="FILE",
    required=True,
    help="FILE.pdf: all stages; FILE.svg: the first, and the rest as FILE-2.svg ...",
)
def command(
    request: Request,
    stage: str | None,
    rail: str | None,
    log: str | None,
    out: str,
) -> None:
    """Draw switching stages: driver, gate parts, switches, coil and rails.

    Each part has its pins, what to read there, and a line for the reading.
    """
    if stage is not None and rail is not None:
        raise click.UsageError("give one of --rail and --stage")
    from ohmtrail.cli._drawings import check_out, tell_files, write_drawings

    check_out(out)
    circuit = load_circuit(request, uses=("--good", "--meter"))
    from ohmtrail.cli._logs import solve_beside_logs
    from ohmtrail.cli.render.stage_drawing import stage_drawing
    from ohmtrail.netanalysis.checklist import make_checklist

    solved, evidence = solve_beside_logs(request, circuit, log)
    circuit = solved.circuit
    taken = _readings(circuit, log) if log is not None else {}
    drawings = []
    for one in _wanted(circuit, stage, rail):
        checklist = make_checklist(
            circuit, stage=one, have=request.have, solved=solved, evidence=evidence
        )
        steps = [step for section in checklist.sections for step in section.steps]
        drawings.append(stage_drawing(circuit, one, taken, steps=steps))
    written = write_drawings(drawings, out)
    tell_files(request, drawings, written)


def _wanted(
    circuit: "Circuit", stage: str | None, rail: str | None
) -> "Sequence[Stage]":
    from ohmtrail.netanalysis.probe_points import find_net
    from ohmtrail.netanalysis.stages_on_net import find_stage, stages_on_net

    if stage is not None:
        return (find_stage(circuit, stage),)
    stages: Sequence[Stage] = circuit.stages
    where = ""
    if rail is not None:
        net = find_net(circuit.board, rail)
        stages = stages_on_net(circuit, net)
        where = f" on {net}"
    if not stages:
        raise click.ClickException(f"no stage recognised{where}, nothing to draw")
    return stages


def _readings(circuit: "Circuit", log: str) -> "Taken":
    """Return the last reading at each pair of points, as the log has it."""
    from pathlib import Path

    from ohmtrail.cli._logs import load_log
    from ohmtrail.cli.render.stage_readings import points_key

    found: dict[tuple[str, str, str], str] = {}
    for event in load_log(Path(log), circuit.board).readings:
        if event.plus is None or event.minus is None or event.off_the_board:
            continue
        key = points_key(event.mode, str(event.plus), str(event.minus))
        found[key] = event.text
    return found
