"""lepton-netlist as the oracle of gEDA schematics."""

import shutil
from pathlib import Path

import pytest
from _lepton import every_pin


@pytest.fixture(scope="session")
def pins_of(tmp_path_factory):
    """``pins_of(root)``: a copy of the root, and its pins by lepton-netlist."""
    known: dict = {}

    def ask(root: Path):
        if root not in known:
            folder = tmp_path_factory.mktemp("lepton") / root.parent.name
            shutil.copytree(root.parent, folder)
            for path in folder.rglob("*"):
                path.chmod(path.stat().st_mode | 0o600)
            known[root] = folder / root.name, every_pin(folder / root.name)
        return known[root]

    return ask
