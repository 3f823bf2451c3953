"""Real boards that were labelled by hand, as benches: truth from the labels.

The netlist comes from ``kicad-cli`` (an independent netlister) and is also the
file that the tool gets.  The designs' layouts are not used: parts are set in the
order in which their nets meet, so places are plausible and invented.
"""

import json
import os
import re
import subprocess
from collections import deque
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.model import Board, Part, Side, Stage

__all__ = ["BOARDS", "board"]

#: Root schematic, by label.
BOARDS = {
    "bitaxe-ultra": "bitaxeUltra.kicad_sch",
    "bms-c1": "kicad/bms-c1.kicad_sch",
    "cynthion": "cynthion.kicad_sch",
    "jetson-nano-baseboard": "jetson-nano-baseboard.kicad_sch",
    "mjpower-ss": "hw/mjpower-ss/mjpower_ss.kicad_sch",
    "moteus-c1": "hw/c1/moteus_c1.kicad_sch",
    "owntech-twist": "KiCAD_files/Power.kicad_sch",
}
_KINDS = {
    "R": "resistor", "RN": "resistor", "NT": "resistor", "C": "capacitor",
    "L": "inductor", "FB": "bead", "F": "fuse", "D": "diode", "Q": "mosfet",
    "U": "chip", "IC": "chip", "J": "connector", "P": "connector", "SW": "switch",
}  # fmt: skip
_TOKEN = re.compile(r'\(|\)|"((?:[^"\\]|\\.)*)"|([^\s()"]+)')
_SIDES = ("high_side", "low_side")


def _corpus() -> Path:
    here = Path(__file__).resolve().parents[3]
    return Path(os.environ.get("OHMTRAIL_CORPUS", here / "shared/corpus"))


def _tree(text: str) -> list[Any]:
    """Return the lists of an s-expression file."""
    stack: list[list[Any]] = [[]]
    for match in _TOKEN.finditer(text):
        word = match[0]
        if word == "(":
            stack.append([])
        elif word == ")":
            done = stack.pop()
            stack[-1].append(done)
        else:
            stack[-1].append(match[2] if match[1] is None else match[1])
    return stack[0][0]


def _of(node: list[Any], name: str) -> Iterator[list[Any]]:
    return (x for x in node if isinstance(x, list) and x and x[0] == name)


def _word(node: list[Any], name: str) -> str:
    found = next(_of(node, name), None)
    return found[1] if found and len(found) > 1 else ""


def board(seed: int, folder: Path) -> Board:
    """Return one of the labelled boards, in turn by seed.

    Raises
    ------
    FileNotFoundError
        If the corpus or ``kicad-cli`` is absent.
    """
    names = sorted(BOARDS)
    name = names[seed % len(names)]
    root = _corpus() / "boards" / name / BOARDS[name]
    if not root.exists():
        raise FileNotFoundError(f"no {root}: set OHMTRAIL_CORPUS")
    netlist = folder / f"{name}.net"
    if not netlist.exists():
        command = [
            "kicad-cli",
            "sch",
            "export",
            "netlist",
            "-o",
            str(netlist),
            str(root),
        ]
        subprocess.run(command, check=True, capture_output=True)
    text = netlist.read_text(encoding="utf-8")
    label = json.loads((_corpus() / "labels" / f"{name}.json").read_text())
    return _made(name, str(netlist), _tree(text), label)


def _made(name: str, file: str, tree: list[Any], label: dict[str, Any]) -> Board:
    pins: dict[str, list[tuple[str, str, str]]] = {}
    for net in _of(next(_of(tree, "nets")), "net"):
        nodes = list(_of(net, "node"))
        for node in nodes:
            row = (_word(node, "pin"), _word(node, "pinfunction"), _word(net, "name"))
            pins.setdefault(_word(node, "ref"), []).append(row)
    off = set(label.get("dnp", ()))
    parts = {}
    for comp in _of(next(_of(tree, "components")), "comp"):
        ref = _word(comp, "ref")
        if ref not in pins or ref in off:
            continue
        source = next(_of(comp, "libsource"), [])
        parts[ref] = _part(ref, _word(comp, "value"), pins[ref], str(source))
    _place(parts)
    rails = {r["net"]: abs(r["volts"]) for r in label["rails"] if r["volts"]}
    ground = label["ground"][0]
    made = Board(name, parts, ground, rails, [], "", "", "", file)
    made.stages = [*_stages(made, label["stages"])]
    order = sorted(rails, key=lambda net: rails[net])
    made.core, made.main = order[0], order[-1]
    fed = [r["net"] for r in label["rails"] if str(r.get("source"))[:1] in "JPX"]
    made.entry = next((net for net in fed if net in rails), made.main)
    return made


def _part(ref: str, value: str, pins: list[tuple[str, str, str]], source: str) -> Part:
    letters = re.match(r"[A-Za-z]+", ref)
    kind = _KINDS.get(letters[0].upper() if letters else "", "other")
    text = f"{value} {source}".lower()
    model = ""
    plain = [(p, re.sub(r"_\d+$", "", n), net) for p, n, net in pins]
    if kind == "mosfet":
        names = {n for _, n, _ in plain}
        if not {"D", "G", "S"} <= names:
            kind = "bipolar" if {"B", "C", "E"} <= names else "chip"
        model = "pfet" if re.search(r"pmos|p-chan|q_p", text) else "nfet"
    elif kind == "diode":
        kind = "led" if "led" in text else "tvs" if "tvs" in text else "diode"
        model = "schottky" if "schottky" in text else kind
    elif letters and letters[0] == "NT":
        value = "0"
    return Part(ref, kind, value, tuple(plain), 0.0, 0.0, "top", model)


def _place(parts: dict[str, Part]) -> None:
    """Set parts side by side in the order in which their small nets meet."""
    nets: dict[str, list[str]] = {}
    for part in parts.values():
        for _, _, net in part.pins:
            nets.setdefault(net, []).append(part.ref)
    seen: dict[str, None] = {}
    for start in parts:
        queue = deque([start])
        while queue:
            ref = queue.popleft()
            if ref in seen:
                continue
            seen[ref] = None
            for _, _, net in parts[ref].pins:
                if len(nets[net]) < 12:
                    queue.extend(nets[net])
    across = max(4, round(len(parts) ** 0.5))
    for n, ref in enumerate(seen):
        row, column = divmod(n, across)
        part = parts[ref]
        part.x_mm = 4.0 * (column if row % 2 == 0 else across - 1 - column)
        part.y_mm = 4.0 * row
        for k, (pin, _, _) in enumerate(part.pins):
            part.pads[pin] = (-1.0 + 2.0 * (k % 2), 0.4 * (k // 2))


def _stages(made: Board, rows: list[dict[str, Any]]) -> Iterator[Stage]:
    for row in rows:
        sides = []
        for which in _SIDES:
            switches = [
                ref for ref in row.get(which) or () if _is_switch(made.parts.get(ref))
            ]
            chains = {c["switch"]: c for c in row.get("gate_chains") or ()}
            chain = next((chains[ref] for ref in switches if ref in chains), None)
            if not chain or not chain.get("driver_pin"):
                continue
            driver, _, output = chain["driver_pin"].rpartition(".")
            if driver not in made.parts:
                continue
            source = made.parts[switches[0]].named("S")
            back = made.parts[driver].on(made.parts[switches[0]].net(source or ""))
            back = back or made.parts[driver].on(made.ground)
            resistors = {
                ref: chains[ref]["series"][0]
                for ref in switches
                if ref in chains and chains[ref].get("series")
            }
            if back and back != output:
                sides.append(Side(switches, resistors, driver, output, back))
        out = row.get("output_rail") or row.get("output") or ""
        into = row.get("input_rail") or row.get("input") or ""
        chip = row.get("controller") if row["kind"] in _INTEGRATED else None
        if chip in made.parts or sides:
            yield Stage(row["kind"], out, into, sides, chip)


_INTEGRATED = ("integrated buck", "linear regulator", "load switch")


def _is_switch(part: Part | None) -> bool:
    return part is not None and part.kind == "mosfet"
