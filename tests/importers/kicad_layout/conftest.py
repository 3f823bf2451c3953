"""KiCad itself as the oracle of layouts: each program runs once a file."""

import csv
import gzip
import json
import re
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest
from _oracles import absent, program

#: The system's Python, which has KiCad 6's module ``pcbnew`` on Debian.
PYTHON = "/usr/bin/python3"
#: The newest version that KiCad 6 reads.
KICAD_6 = 20211014

_DUMP = """
import json, sys, pcbnew
pads = []
for footprint in pcbnew.LoadBoard(sys.argv[1]).GetFootprints():
    for pad in footprint.Pads():
        at = pad.GetPosition()
        side = [s for s, layer in (("top", pcbnew.F_Cu), ("bottom", pcbnew.B_Cu))
                if pad.IsOnLayer(layer)]
        pads.append([footprint.GetReference(), pad.GetNumber(), pad.GetNetname(),
                     at.x / 1e6, at.y / 1e6, side])
json.dump(pads, open(sys.argv[2], "w"))
"""


def version_of(path: Path) -> int:
    """Version that a layout states."""
    data = path.read_bytes()
    text = gzip.decompress(data) if path.suffix == ".gz" else data
    return int(re.search(rb"\(version (\d+)\)", text)[1])


def _run(*command: object) -> None:
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-500:]


def _pcbnew(path: Path, out: Path) -> list:
    """Ask KiCad 6: (ref, number, net, x, y, sides) of every pad, in millimetres."""
    try:
        found = subprocess.run([PYTHON, "-c", "import pcbnew"], capture_output=True)
    except OSError:
        absent(f"no {PYTHON}")
    if found.returncode:
        absent(f"{PYTHON} has no module pcbnew (Debian package kicad)")
    _run(PYTHON, "-c", _DUMP, path, out)
    return json.loads(out.read_text())


def _ipc2581(path: Path, out: Path) -> list:
    """Ask KiCad 9 by way of its IPC-2581 export, whose y points up."""
    _run(program("kicad-cli"), "pcb", "export", "ipc2581", "-o", out, path)
    root = ElementTree.parse(out).getroot()
    ns = root.tag[: root.tag.index("}") + 1]
    outer = {
        layer.get("name"): layer.get("side").lower()
        for layer in root.iter(ns + "Layer")
        if layer.get("side") in ("TOP", "BOTTOM")
        and layer.get("layerFunction") in ("CONDUCTOR", "SIGNAL", "PLANE", "MIXED")
    }
    pads: dict = {}
    for feature in root.iter(ns + "LayerFeature"):
        side = outer.get(feature.get("layerRef"))
        for group in feature.iter(ns + "Set") if side else ():
            for pad in group.iter(ns + "Pad"):
                pin, at = pad.find(ns + "PinRef"), pad.find(ns + "Location")
                if pin is not None:
                    key = (
                        pin.get("componentRef"),
                        pin.get("pin"),
                        group.get("net") or "",
                        float(at.get("x")),
                        -float(at.get("y")),
                    )
                    pads.setdefault(key, []).append(side)
    return [[*key, sides] for key, sides in pads.items()]


def _positions(path: Path, out: Path) -> list:
    """Ask KiCad 9 for (ref, value, x, y, side) of the parts to be placed."""
    _run(
        *(program("kicad-cli"), "pcb", "export", "pos", "--format", "csv"),
        *("--units", "mm", "-o", out, path),
    )
    with open(out, encoding="utf-8", newline="") as file:
        return [
            (r["Ref"], r["Val"], float(r["PosX"]), -float(r["PosY"]), r["Side"])
            for r in csv.DictReader(file)
        ]


@pytest.fixture(scope="session")
def kicad(tmp_path_factory):
    """``kicad(path, "pads")`` or ``"positions"``: what KiCad says of a layout."""
    folder = tmp_path_factory.mktemp("layouts")
    plain: dict[Path, Path] = {}
    answers: dict = {}

    def ask(path: Path, what: str) -> list:
        if path not in plain:
            data = path.read_bytes()
            copy = folder / f"{len(plain)}.kicad_pcb"
            copy.write_bytes(gzip.decompress(data) if path.suffix == ".gz" else data)
            plain[path] = copy
        if (path, what) not in answers:
            copy = plain[path]
            if what == "positions":
                answer = _positions(copy, copy.with_suffix(".csv"))
            elif version_of(path) <= KICAD_6:
                answer = _pcbnew(copy, copy.with_suffix(".json"))
            else:
                answer = _ipc2581(copy, copy.with_suffix(".xml"))
            answers[path, what] = answer
        return answers[path, what]

    return ask
