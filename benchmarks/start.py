"""Whole-process time of the commands that a technician types most.

Usage: python benchmarks/start.py [--runs N] [BOARD ...]

Prints the median of N runs (default 5) of ``--help``, ``--version`` and, for
every board named (default: the demo board), ``summary``, ``short`` and
``checklist``.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def seconds(arguments: list[str], runs: int) -> float:
    """Return the median wall time of ``ohmtrail`` with these arguments."""
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "ohmtrail", *arguments],
            check=True,
            env={**os.environ, "OHMTRAIL_CACHE": "off"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("boards", nargs="*")
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()
    print(f"{seconds(['--help'], options.runs):7.3f} s  ohmtrail --help")
    with tempfile.TemporaryDirectory() as folder:
        boards = options.boards
        if not boards:
            from ohmtrail.fixtures import write_demo

            boards = [str(write_demo(Path(folder))[0])]
        for board in boards:
            for command in ("summary", "nets", "stages", "checklist"):
                took = seconds([command, board, "--json"], options.runs)
                print(f"{took:7.3f} s  ohmtrail {command} {board}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
