"""The checklist that a request asks for, and the weighing that a log asks for."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from ohmtrail.cli._load import Request, load_circuit
from ohmtrail.cli._logs import load_log_beside, log_path

if TYPE_CHECKING:
    from ohmtrail.netanalysis.checklist.model import Checklist
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.diagnosis.posterior import Posterior
    from ohmtrail.netanalysis.network.evidence import Evidence
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = ["checklist_of", "weighed_log"]


def checklist_of(
    request: Request,
    solved: "SolvedBoard",
    evidence: "Evidence | None",
    *,
    rail: str | None,
    stage: str | None,
    part: str | None,
) -> "Checklist":
    """Return the checklist of a rail, a stage or a part, or of the whole board.

    Raises
    ------
    NotOnBoardError
        If one of them is not on the board.
    """
    from ohmtrail.netanalysis.checklist import make_checklist
    from ohmtrail.netanalysis.probe_points import find_net, find_part
    from ohmtrail.netanalysis.stages_on_net import find_stage

    circuit: Circuit = solved.circuit
    return make_checklist(
        circuit,
        rail=find_net(circuit.board, rail) if rail is not None else None,
        stage=find_stage(circuit, stage) if stage is not None else None,
        part=find_part(circuit.board, part).ref if part is not None else None,
        have=request.have,
        solved=solved,
        evidence=evidence,
    )


def weighed_log(
    request: Request, log: str | None, begin: Callable[[str], None]
) -> "Posterior":
    """Return what a log makes of every hypothesis; ``begin`` is told of each step."""
    from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

    path = log_path(request, log)
    begin("reading the board")
    case = case_of(*load_log_beside(path, load_circuit(request)))
    begin("weighing the readings")
    return weigh_log(case)
