"""The same network as ngspice solves it.

``readings`` writes one deck from a `Network`, drives it at every pair of probes in
turn in one process, and returns the volts.  A meter that gives up at its open volts
is checked the other way round by ``takes``: what the board draws at those volts.
"""

import math
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from _oracles import program

from ohmtrail.netanalysis.network.elements import Network

#: kT/q at 27 degrees Celsius, ngspice's room temperature (CODATA 2018 constants).
THERMAL_VOLTS = 1.380649e-23 * 300.15 / 1.602176634e-19
_OPTIONS = ".options reltol=1e-9 abstol=1e-15 vntol=1e-10 gmin=1e-15 itl1=1000"


def deck(network: Network, corner: str = "typical", *, junctions: bool = True) -> str:
    """Return the network as SPICE lines, nodes numbered from 1."""
    number = {node: k for k, node in enumerate(network.nodes, start=1)}
    lines = []
    for k, one in enumerate(network.resistances):
        ohms = one.at(corner)
        a, b = number[one.a], number[one.b]
        if ohms == 0.0:
            lines.append(f"V0_{k} {a} {b} 0")
        elif math.isfinite(ohms):
            lines.append(f"R{k} {a} {b} {ohms!r}")
    for k, one in enumerate(network.junctions if junctions else ()):
        slope = one.emission * THERMAL_VOLTS
        amps = 1e-3 / math.expm1(one.at(corner) / slope)
        lines.append(f"D{k} {number[one.anode]} {number[one.cathode]} M{k}")
        lines.append(
            f".model M{k} D(IS={amps!r} N={one.emission!r} RS={one.ohms_series!r})"
        )
    # One point of every island is tied to ground: no current flows there.
    for head in set(_islands(network, corner, junctions).values()):
        lines.append(f"RG{number[head]} {number[head]} 0 1")
    return "\n".join(lines)


def _islands(network: Network, corner: str, junctions: bool) -> dict[str, str]:
    """Return one node of the island of every node, by node."""
    head = {node: node for node in network.nodes}

    def find(node: str) -> str:
        while head[node] != node:
            head[node] = head[head[node]]
            node = head[node]
        return node

    for one in network.resistances:
        if math.isfinite(one.at(corner)):
            head[find(one.a)] = find(one.b)
    for one in network.junctions if junctions else ():
        head[find(one.anode)] = find(one.cathode)
    return {node: find(node) for node in network.nodes}


def _run(text: str) -> list[float]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text(text, encoding="ascii")
        done = subprocess.run(
            [program("ngspice"), "-b", str(path)],
            capture_output=True,
            text=True,
            timeout=600,
        )
    found = [
        float(line.split("=")[1])
        for line in done.stdout.splitlines()
        if line.startswith("reading =")
    ]
    assert found, done.stdout[-2000:] + done.stderr[-2000:]
    return found


def readings(
    network: Network,
    pairs: Sequence[tuple[str, str]],
    amps: float,
    corner: str = "typical",
    *,
    junctions: bool = True,
) -> list[float]:
    """Return the volts across every pair while a current is driven through it."""
    number = {node: k for k, node in enumerate(network.nodes, start=1)}
    lines = ["a network", deck(network, corner, junctions=junctions), _OPTIONS]
    control = [".control", "set numdgt=16"]
    for k, (plus, minus) in enumerate(pairs):
        # All of a current leaves by the other probe, which is taken as ground.
        lines.append(f"I{k} {number[minus]} {number[plus]} 0")
        a, b = f"v({number[plus]})", f"v({number[minus]})"
        control += [f"alter i{k} dc = {amps!r}", "op", f"let reading = {a} - {b}"]
        control += ["print reading", f"alter i{k} dc = 0", "destroy all"]
    control += ["quit", ".endc", ".end", ""]
    found = _run("\n".join([*lines, *control]))
    assert len(found) == len(pairs)
    return found


def takes(
    network: Network,
    pairs: Sequence[tuple[str, str]],
    volts: float,
    corner: str = "typical",
) -> list[float]:
    """Return the amps that every pair draws with a voltage across it."""
    number = {node: k for k, node in enumerate(network.nodes, start=1)}
    source = 1e-2
    lines = ["a network", deck(network, corner), _OPTIONS]
    control = [".control", "set numdgt=16"]
    for k, (plus, minus) in enumerate(pairs):
        a, b = number[plus], number[minus]
        lines += [f"I{k} {b} {a} 0", f"RS{k} {a} {b} 1e18"]
        control += [f"alter rs{k} = {source!r}", f"alter i{k} dc = {volts / source!r}"]
        control += [
            "op",
            f"let reading = {volts / source!r} - (v({a}) - v({b})) / {source}",
        ]
        control += ["print reading", f"alter i{k} dc = 0", f"alter rs{k} = 1e18"]
        control += ["destroy all"]
    control += ["quit", ".endc", ".end", ""]
    found = _run("\n".join([*lines, *control]))
    assert len(found) == len(pairs)
    return found
