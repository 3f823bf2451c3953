"""lepton-netlist as the oracle of gEDA schematics."""

import shutil
from pathlib import Path

import pytest
from _lepton import read_geda, run_lepton


@pytest.fixture(scope="session")
def netlist(tmp_path_factory):
    """``netlist(root)``: nodes and parts by lepton-netlist, in a copy of the folder."""
    known: dict = {}

    def ask(root: Path):
        if root not in known:
            folder = tmp_path_factory.mktemp("lepton") / root.parent.name
            shutil.copytree(root.parent, folder)
            known[root] = read_geda(run_lepton(folder / root.name))
        return known[root]

    return ask
