"""The program as an adviser within this process: much faster than one a question.

Usage: PYTHONPATH=benchmarks python -m bench.run --who tool --kit four
       --adviser bench.inside:four        (and --kit two --adviser bench.inside:two)

Only what the command line would be given goes in: the board's file, its layout, and
the rows of the log.
"""

import csv
import io
from functools import lru_cache
from pathlib import Path
from typing import Any

from ohmtrail.cli._diagnosis_json import action_json
from ohmtrail.importers._registry import load
from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log
from ohmtrail.netanalysis.join import join
from ohmtrail.netanalysis.recognise import recognise

__all__ = ["four", "two"]

_COLUMNS = ("when", "action", "part", "mode", "plus", "minus", "value", "note")


@lru_cache(maxsize=1)
def _circuit(file: str, changed: float) -> Circuit:
    board = load(Path(file), None)
    layout = Path(file).with_suffix(".kicad_pcb")
    if layout.exists():
        board = join(board, load(layout, None), str(layout))
    return recognise(board, {})


def _advise(
    file: str, rows: list[dict[str, str]], have: tuple[str, ...]
) -> dict[str, Any]:
    circuit = _circuit(file, Path(file).stat().st_mtime)
    text = io.StringIO()
    writer = csv.DictWriter(text, _COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    log = read_log(text.getvalue(), circuit.board, "log")
    return action_json(next_action(weigh_log(case_of(circuit, log)), have))


def four(file: str, rows: list[dict[str, str]]) -> dict[str, Any]:
    """Advise a bench with a four-wire meter."""
    return _advise(file, rows, ("resistance", "diode", "four-wire", "drop"))


def two(file: str, rows: list[dict[str, str]]) -> dict[str, Any]:
    """Advise a bench without one."""
    return _advise(file, rows, ("resistance", "diode", "drop"))
