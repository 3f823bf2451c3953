"""Real and random gEDA designs, pin by pin against lepton-netlist."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from _lepton import assert_equal, every_pin, read_geda
from _lepton_pages import design
from _oracles import (
    absent,
    absent_params,
    board_nodes,
    corpus_file,
    corpus_files,
    partition_differences,
    program,
    unknown_pins,
)

from ohmtrail.importers import load

EXAMPLES = Path("/usr/share/doc/lepton-eda")
SYMBOLS = Path("/usr/share/lepton-eda/sym")


def _examples():
    """Pages that Debian's package lepton-eda brings along."""
    found = sorted([*EXAMPLES.glob("examples/*/*.sch"), *EXAMPLES.rglob("summing.sch")])
    if not found:
        return absent_params("no examples of the package lepton-eda")
    return [pytest.param(p, id=p.stem) for p in found]


ROOTS = corpus_files(
    "formats/gschem/7805_gschem.sch",
    "formats/gschem/TwoStageAmp/TwoStageAmp.sch",
    "formats/gschem/gTAG/gTAG.sch",
)


@pytest.mark.parametrize("path", [*ROOTS, *_examples()])
def test_every_pin_is_on_the_net_that_lepton_says(path, pins_of):
    """Oracle: lepton-netlist 1.9.18; no difference is allowed."""
    root, theirs = pins_of(path)
    assert_equal(load(root), theirs)


@pytest.mark.parametrize("path", ROOTS)
def test_netlist_beside_the_schematic(path):
    """Oracle: the corpus' netlist by lepton-netlist's back end geda."""
    name = f"formats/gschem/netlists/{path.stem}.geda.net"
    nodes, parts = read_geda(corpus_file(name).read_text())
    board = load(path)
    assert sorted(part.ref for part in board.parts) == sorted(parts)
    theirs = {key: nets[0] for key, nets in nodes.items()}
    assert partition_differences(board, theirs) == []
    ours, missing = unknown_pins(board, theirs)
    assert missing == []
    nodes = board_nodes(board)
    assert [key for key in ours if nodes[key] is not None] == []


@pytest.mark.parametrize("seed", range(12))
def test_random_designs_with_blocks(seed, tmp_path):
    """Oracle: lepton-netlist on parts and wires thrown onto a small grid."""
    if not SYMBOLS.is_dir():
        absent("no symbols of the package lepton-eda")
    root = design(tmp_path, seed)
    assert_equal(load(root), every_pin(root))


@pytest.mark.parametrize("path", ROOTS)
def test_embedded_symbols_say_the_same(path, tmp_path):
    """Oracle: Lepton's own program that puts the symbols into the pages."""
    folder = tmp_path / "plain"
    shutil.copytree(path.parent, folder)
    for file in folder.rglob("*"):
        file.chmod(file.stat().st_mode | 0o600)
    plain = load(folder / path.name)
    pages = [page.name for page in folder.glob("*.sch")]
    done = subprocess.run(
        [program("lepton-embed"), "-e", *pages], cwd=folder, capture_output=True
    )
    assert done.returncode == 0
    text = (folder / path.name).read_text()
    assert len(re.findall("EMBEDDED", text)) == len(re.findall("(?m)^C ", text))
    shutil.rmtree(folder / "sym", ignore_errors=True)
    board = load(folder / path.name)
    assert board_nodes(board) == board_nodes(plain)
    assert board.parts == plain.parts


def symbol_page(paths) -> str:
    """A page with one instance of each symbol, every way round."""
    lines, turns = ["v 20201216 2"], (0, 90, 180, 270)
    for serial, path in enumerate(paths):
        x = serial * 10_000
        lines.append(f"C {x} 0 1 {turns[serial % 4]} {serial // 4 % 2} {path.name}")
        lines += ["{", "T 0 0 5 10 0 0 0 0 1", f"refdes=X{serial}", "}"]
        lines.append(f"N {x} 0 {x + 300} 0 4")
        lines.append(f"N {x + 300} 0 {x + 300} 2000 4")
    return "\n".join([*lines, ""])


@pytest.mark.parametrize("chunk", range(4))
def test_installed_symbols(chunk, tmp_path):
    """Oracle: lepton-netlist, on a quarter of every fifth installed symbol."""
    if not SYMBOLS.is_dir():
        absent("no symbols of the package lepton-eda")
    root = tmp_path / "all.sch"
    root.write_text(symbol_page(sorted(SYMBOLS.glob("*/*.sym"))[chunk::20]))
    assert_equal(load(root), every_pin(root))
