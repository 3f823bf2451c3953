"""The same network as ngspice solves it.

`readings` writes one deck from a `Network`, drives it at every pair of probes in turn
in one process, and returns the volts.  `takes` is the other way round: what the board
draws at a voltage, for a meter that gives up there.
"""

import math
import re
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

from _oracles import program

from ohmtrail.netanalysis.network.elements import Network

#: kT/q at 27 degrees Celsius, ngspice's room temperature (CODATA 2018 constants).
THERMAL_VOLTS = 1.380649e-23 * 300.15 / 1.602176634e-19
#: Without junctions as tight as it goes; with them well within a millivolt, then for
#: what does not converge so with more leak.
_TIGHT = (".options reltol=1e-9 abstol=1e-15 vntol=1e-10 gmin=1e-15",)
_OPTIONS = (
    ".options reltol=1e-5 abstol=1e-12 vntol=1e-7 gmin=1e-12 itl1=300",
    ".options reltol=1e-4 abstol=1e-11 vntol=1e-6 gmin=1e-11 itl1=500",
)
_SHOWN = re.compile(r"^pair(\d+) = (\S+)$", re.M)
#: No transient in search of an operating point: it may take minutes for one pair.
_NO_TRANSIENT = "optran 1 1 1 0 0 0"
#: Pairs a process: one that it hangs on takes no more than these along.
_CHUNK = 25
#: Source of a voltage: so many ohms in series.
_SOURCE_OHMS = 1e-2
#: A resistor adds its siemens to those of all others at its nodes, and a milliohm
#: takes the last digits from a megohm beside it.  Without junctions, what is below so
#: many ohms is a voltage instead, set by the current through it.
_SMALL_OHMS = 1.0


def deck(network: Network, corner: str = "typical", *, junctions: bool = True) -> str:
    """Return the network as SPICE lines, nodes numbered from 1."""
    number = {node: k for k, node in enumerate(network.nodes, start=1)}
    lines = []
    for k, one in enumerate(network.resistances):
        ohms = one.at(corner)
        a, b = number[one.a], number[one.b]
        if ohms == 0.0:
            lines.append(f"V0_{k} {a} {b} 0")
        elif ohms < _SMALL_OHMS and not junctions:
            lines.append(f"VS{k} {a} m{k} 0")
            lines.append(f"HS{k} m{k} {b} VS{k} {ohms!r}")
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
    for head in sorted(set(_islands(network, corner, junctions).values())):
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


def _run(
    lines: list[str],
    control: dict[int, list[str]],
    several: tuple[str, ...] = _OPTIONS,
) -> list[float]:
    """Return what each piece of control shows; NaN where nothing converges."""
    found: dict[int, float] = {}
    for options in several:
        left = [k for k in control if k not in found]
        for start in range(0, len(left), _CHUNK):
            some = {k: control[k] for k in left[start : start + _CHUNK]}
            found |= _once(lines, options, some)
    return [found.get(k, math.nan) for k in control]


def _once(
    lines: list[str], options: str, control: dict[int, list[str]]
) -> dict[int, float]:
    words = [word for several in control.values() for word in several]
    text = [
        "a network",
        *lines,
        options,
        ".control",
        "set numdgt=16",
        _NO_TRANSIENT,
        *words,
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text("\n".join([*text, "quit", ".endc", ".end", ""]))
        try:
            done = subprocess.run(
                [program("ngspice"), "-b", str(path)],
                capture_output=True,
                text=True,
                timeout=30,
            )
        except subprocess.TimeoutExpired:
            return {}
    return {int(k): float(value) for k, value in _SHOWN.findall(done.stdout)}


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
    lines = [deck(network, corner, junctions=junctions)]
    control = {}
    for k, (plus, minus) in enumerate(pairs):
        a, b = number[plus], number[minus]
        lines.append(f"I{k} {b} {a} 0")
        control[k] = [
            f"alter i{k} dc = {amps!r}",
            "op",
            f"let pair{k} = v({a}) - v({b})",
            f"print pair{k}",
            f"alter i{k} dc = 0",
            "destroy all",
        ]
    return _run(lines, control, _OPTIONS if junctions else _TIGHT)


def takes(
    network: Network,
    pairs: Sequence[tuple[str, str]],
    volts: float,
    corner: str = "typical",
) -> list[float]:
    """Return the amps that every pair draws with a voltage across it.

    0 where nothing leads from one to the other: there the ties to ground would join.
    """
    island = _islands(network, corner, True)
    number = {node: k for k, node in enumerate(network.nodes, start=1)}
    lines = [deck(network, corner)]
    control = {}
    for k, (plus, minus) in enumerate(pairs):
        a, b = number[plus], number[minus]
        if island[plus] != island[minus]:
            continue
        # A current into a small resistor is a voltage; idle, it is nearly no path.
        full = volts / _SOURCE_OHMS
        lines += [f"I{k} {b} {a} 0", f"RS{k} {a} {b} 1e18"]
        control[k] = [
            f"alter rs{k} = {_SOURCE_OHMS!r}",
            f"alter i{k} dc = {full!r}",
            "op",
            f"let pair{k} = {full!r} - (v({a}) - v({b})) / {_SOURCE_OHMS!r}",
            f"print pair{k}",
            f"alter i{k} dc = 0",
            f"alter rs{k} = 1e18",
            "destroy all",
        ]
    found = dict(zip(control, _run(lines, control), strict=True))
    return [found.get(k, 0.0) for k in range(len(pairs))]
