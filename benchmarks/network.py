"""Readings under many hypotheses, against single runs of ngspice.

Usage: python benchmarks/network.py [--paths N] [--pairs N] [--faults N] [--runs N]
       [--far]

A random network of 20,000 resistors (1 ohm to 1 Mohm, each between places near to one
another, as on a board) is solved in one process for 1,000 pairs of probes under 500
faults: parts lifted, parts with another value, shorts between nodes near to one
another and far apart.  ngspice solves the same network once a run (`.op`, one pair).
Both are timed from their input in memory or in a file to their numbers; the median
of ngspice's runs is taken.  Prints both, their ratio, and how they agree.
"""

import argparse
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.solve import Solver
from ohmtrail.netanalysis.network.update import Change, resistances_after


def path(ref: str, a: int, b: int, ohms: float) -> Resistance:
    """Return a resistance between numbered nodes."""
    return Resistance(ref, f"n{a}", f"n{b}", ohms, ohms, ohms)


def made(paths: int, rng: np.random.Generator, far: bool = False) -> Network:
    """Return a connected network with about half as many nodes as paths."""
    nodes = paths * 10526 // 20000
    ohms = 10.0 ** rng.uniform(0, 6, size=paths)
    found = []
    for k in range(paths):
        # The first paths make a tree, the others close loops.
        a = k + 1 if k < nodes - 1 else int(rng.integers(1, nodes))
        b = max(0, a - int(rng.integers(1, a + 1 if far else 21)))
        found.append(path(f"R{k}", a, b, float(ohms[k])))
    return Network(tuple(f"n{k}" for k in range(nodes)), tuple(found))


def hypotheses(network: Network, count: int, rng: np.random.Generator) -> list[Change]:
    """Return lifts, drifts, shorts nearby and shorts anywhere, in turn."""
    nodes = len(network.nodes)
    found = []
    for k in range(count):
        one = network.resistances[int(rng.integers(len(network.resistances)))]
        a, b = int(rng.integers(nodes)), int(rng.integers(nodes))
        near = max(0, a - int(rng.integers(1, 21)))
        short = float(10.0 ** rng.uniform(-2, 1))
        drifted = Resistance(one.ref, one.a, one.b, *[3.0 * one.ohms] * 3)
        found.append(
            (
                Change((one.ref,)),
                Change((one.ref,), (drifted,)),
                Change((), (path("short", a, near, short),)),
                Change((), (path("short", a, b, short),)),
            )[k % 4]
        )
    return found


def deck(network: Network, a: str, b: str) -> str:
    """Return the network as ngspice reads it, 1 A from one node to the other."""
    number = {node: str(k) for k, node in enumerate(network.nodes, 1)}
    number[b] = "0"
    lines = ["* resistors"]
    for k, one in enumerate(network.resistances):
        if one.a != one.b:
            lines.append(f"R{k} {number[one.a]} {number[one.b]} {one.ohms!r}")
    lines += [f"I1 0 {number[a]} 1", ".options reltol=1e-9", ".control"]
    lines += ["set numdgt=16", "op", f"print v({number[a]})", ".endc", ".end", ""]
    return "\n".join(lines)


def spiced(network: Network, a: str, b: str) -> tuple[float, float]:
    """Return ohms and seconds of one run of ngspice."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "deck.cir"
        file.write_text(deck(network, a, b), encoding="ascii")
        begin = time.perf_counter()
        run = subprocess.run(
            ["ngspice", "-b", str(file)], capture_output=True, text=True, check=False
        )
        seconds = time.perf_counter() - begin
    for line in run.stdout.splitlines():
        if line.startswith("v("):
            return float(line.rpartition("=")[2]), seconds
    raise SystemExit(f"ngspice: {run.stderr[-300:]}")


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--paths", type=int, default=20000)
    parser.add_argument("--pairs", type=int, default=1000)
    parser.add_argument("--faults", type=int, default=500)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--far", action="store_true", help="resistors between any two")
    options = parser.parse_args()
    if shutil.which("ngspice") is None:
        print("needs ngspice on PATH", file=sys.stderr)
        return 1
    rng = np.random.default_rng(7)
    network = made(options.paths, rng, options.far)
    ends = rng.integers(len(network.nodes), size=(options.pairs, 2))
    pairs = [(f"n{a}", f"n{b}") for a, b in ends]
    changes = hypotheses(network, options.faults, rng)

    begin = time.perf_counter()
    solver = Solver(network)
    factored = time.perf_counter()
    ohms = resistances_after(solver, pairs, changes)
    end = time.perf_counter()

    times, worst = [], 0.0
    for k in range(options.runs):
        # Another pair and another hypothesis a run, the hardest to agree on.
        p, h = 97 * k % len(pairs), 61 * k % len(changes)
        change = changes[h]
        other = network.changed(without=change.without, add=change.add)
        want, seconds = spiced(other, *pairs[p])
        times.append(seconds)
        if np.isfinite(ohms[p, h]):
            worst = max(worst, abs(ohms[p, h] / want - 1.0))
    one = statistics.median(times)
    ours = end - begin
    print(
        f"{len(network.resistances):,} resistors, {len(network.nodes):,} nodes, "
        f"{len(pairs):,} pairs, {len(changes)} faults: {ohms.size:,} readings"
    )
    print(f"{'assembled and factored':34} {factored - begin:8.2f} s")
    print(f"{'all pairs under all faults':34} {end - factored:8.2f} s")
    print(f"{'together':34} {ours:8.2f} s")
    print(f"{'one run of ngspice, one reading':34} {one:8.2f} s")
    print(f"{'20 runs of ngspice':34} {20 * one:8.2f} s")
    print(f"ours / 20 runs: {ours / (20 * one):.2f}, wanted below 1")
    print(f"largest relative difference in {options.runs} readings: {worst:.1e}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
