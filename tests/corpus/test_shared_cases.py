"""A shared case of every real board opens as the board that it was made from."""

from dataclasses import replace

import pytest
from _oracles import designs

from ohmtrail.importers._registry import load
from ohmtrail.importers.shared_case._case import SharedCase
from ohmtrail.importers.shared_case._read import read_case
from ohmtrail.importers.shared_case._write import case_bytes
from ohmtrail.netanalysis.recognise import recognise

LOG = "action,part,mode,plus,minus,value\n"


@pytest.mark.parametrize("design", designs("kicad6+", "kicad5", "kicad4"))
def test_the_same_board_and_the_same_circuit(design, tmp_path):
    board = load(design.root)
    path = tmp_path / "x.ohmcase"
    path.write_bytes(case_bytes(SharedCase(board, LOG, "log.csv", "why?")))
    back = read_case(path).board
    named = replace(back, name=board.name, format=board.format, version=board.version)
    assert named == board
    ours, theirs = recognise(board, {}), recognise(back, {})
    # All that `rank` and the others go by.
    assert replace(theirs, board=board) == ours
