"""Whole processes of ``rank`` and ``next``: time by parts and by readings.

Usage: python benchmarks/diagnosis.py [--runs N] [--copies K]

An invented board of about 600 parts from ``bench`` with a fault, its rails, gates and
channels read, and K copies of the board side by side (default 17: some 10,000 parts)
with the same log.  Prints the least of N runs (default 3), by the clock and in CPU
seconds; boards and compiled code are kept from run to run as at any bench.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from bench import boards
from bench.model import Board
from bench.world import World

#: Parts wanted, seeds among which the nearest is looked for, readings of the log.
_PARTS, _SEEDS, _READINGS = 600, range(200, 330), (5, 10, 20, 40, 80)


def _copies(base: Board, count: int) -> Board:
    """Return copies of a board side by side; the first keeps its names."""

    def net(name: str, k: int) -> str:
        if k == 0 or not name or name == base.ground:
            return name
        return f"/B{k}_{name[1:]}" if name.startswith("/") else f"B{k}_{name}"

    parts = {}
    for k in range(count):
        for ref, part in base.parts.items():
            letters, number = re.fullmatch(r"([A-Z]+)(\d+)", ref).groups()
            new = f"{letters}{1000 * k + int(number)}"
            pins = tuple((pin, name, net(on, k)) for pin, name, on in part.pins)
            parts[new] = replace(
                part,
                ref=new,
                pins=pins,
                x_mm=part.x_mm + 300 * (k % 4),
                y_mm=part.y_mm + 300 * (k // 4),
            )
    return replace(base, name=f"{base.name}x{count}", parts=parts)


def _seconds(command: list[str], folder: str) -> tuple[float, float]:
    kept = {**os.environ, "PYTHONPYCACHEPREFIX": folder}
    kept.pop("PYTHONDONTWRITEBYTECODE", None)
    clock, before = time.perf_counter(), os.times()
    subprocess.run(command, check=True, capture_output=True, env=kept)
    after = os.times()
    used = after.children_user + after.children_system
    used -= before.children_user + before.children_system
    return time.perf_counter() - clock, used


def _log(board: Board, base: Board, readings: int, folder: Path) -> Path:
    """Return a log that begins with every rail, then gates and channels in turn."""
    seed = next(s for s in range(100) if World(base, s, True).case.culprits)
    world = World(base, seed, True)
    pairs = [("resistance", f"net:{rail}", f"net:{base.ground}") for rail in base.rails]
    for stage in base.stages:
        for ref in (ref for side in stage.sides for ref in side.switches):
            drain, gate, source = (
                f"{ref}.{base.parts[ref].named(name)}" for name in ("D", "G", "S")
            )
            pairs.append(("resistance", gate, source))
            pairs.append(("four-wire", drain, source))
    for mode, plus, minus in pairs[:readings]:
        world.measure(mode, plus, minus)
    path = folder / f"{board.name}-{readings}.csv"
    world.save(path)
    return path


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--copies", type=int, default=17)
    options = parser.parse_args()
    made = (boards.board(seed) for seed in _SEEDS)
    base = min(made, key=lambda one: abs(len(one.parts) - _PARTS))
    print("| parts | readings | rank | rank, CPU | next | next, CPU |")
    print("|---:|---:|---:|---:|---:|---:|")
    with tempfile.TemporaryDirectory() as folder:
        for board in (base, _copies(base, options.copies)):
            boards.write(board, Path(folder))
            for count in _READINGS:
                log = _log(board, base, count, Path(folder))
                row = f"| {len(board.parts)} | {count} "
                for asked in ("rank", "next"):
                    words = [sys.executable, "-m", "ohmtrail", asked, board.file]
                    words += ["--with", board.layout, "--log", str(log), "--json"]
                    every = [_seconds(words, folder) for _ in range(options.runs)]
                    least = [min(one) for one in zip(*every, strict=True)]
                    row += f"| {least[0]:.2f} s | {least[1]:.2f} s "
                print(f"{row}|", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
