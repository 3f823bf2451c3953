"""Boards labelled by hand: the labels and the boards they are about.

Import it plainly (``from _labels import labelled``).  The labels come with the
corpus; see its README for what each key means.
"""

import functools
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from _oracles import NO_CORPUS, absent_params, catalogue, corpus_or_none

from ohmtrail.importers._registry import load
from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.recognise import recognise

#: Where a label and the recogniser differ and the label is thought to be wrong,
#: or says more than a file can: (board, what) -> the evidence.
DISPUTED: dict[tuple[str, str], str] = {
    ("cynthion", "+5V"): (
        "labelled without volts since a diode feeds it; the net is named +5V, and "
        "nominal volts are what the name says"
    ),
    ("cynthion", "TARGET_A_VBUS"): (
        "labelled without volts since the port passes up to 21 V through; its "
        "connector is USB type A, which is 5 V (USB 2.0, 7.2.1)"
    ),
    ("cynthion", "TARGET_A_VBUS_IN"): "TARGET_A_VBUS beyond its shunt",
}


@dataclass(frozen=True)
class Labelled:
    """One board with what its labels say."""

    name: str
    labels: dict[str, Any]
    path: Path
    #: True when the file has no pin names (a layout).
    nameless: bool

    @property
    def board(self) -> Board:
        """The board, read once a run."""
        return _board(self.path)

    @property
    def circuit(self) -> Circuit:
        """The board as recognised, once a run."""
        return _circuit(self.path)


@functools.cache
def _board(path: Path) -> Board:
    return load(path)


@functools.cache
def _circuit(path: Path) -> Circuit:
    return recognise(_board(path))


def all_labelled() -> list[Labelled]:
    """Every labelled board, by name; inside a running test or with a corpus."""
    folder = corpus_or_none()
    if folder is None:
        return []
    roots = {design.name: design.root for design in catalogue()}
    found = []
    for path in sorted((folder / "labels").glob("*.json")):
        labels = json.loads(path.read_text(encoding="utf-8"))
        source = roots[path.stem]
        if source.suffix not in (".kicad_sch", ".sch"):
            # Schematics older than KiCad 6: the author's netlist, else the layout.
            places = source.parent
            nets = sorted(places.glob("*.net"))
            layouts = sorted((*places.glob("*.kicad_pcb"), *places.glob("*.pcb")))
            source = (nets or layouts)[0]
        nameless = source.suffix == ".kicad_pcb"
        found.append(Labelled(path.stem, labels, source, nameless))
    return found


def labelled() -> list:
    """Parameters for ``pytest.mark.parametrize("labelled_board", labelled())``."""
    boards = all_labelled()
    if not boards:
        return absent_params(NO_CORPUS)
    return [pytest.param(one, id=one.name) for one in boards]


def show(line: str) -> None:
    """Print a figure so that ``pytest -s`` (or a failure) shows it."""
    print(line)
