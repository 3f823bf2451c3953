"""Speed and memory of every format, on generated files of two sizes.

Usage: python benchmarks/formats.py [--megabytes N] [--runs K] [FORMAT ...]

Writes for each format a chain of resistors, each with a capacitor to ground, of
N / 10 and of N megabytes (default 20), reads each in a process of its own, and
prints CPU time of the reading (the best of three), megabytes per second, peak
memory of the process and how the time grew.  The process reads a small file first,
so that the import of the reader is not counted in the time; it is in the memory.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from made_files import MAKERS, write


def read(format: str, small: Path, path: Path) -> None:
    """Read in this process; print CPU time (s) and pins."""
    from ohmtrail.importers._registry import load

    load(small, format)
    begin = time.process_time()
    board = load(path, format)
    print(time.process_time() - begin, board.pin_count)


def measure(format: str, small: Path, path: Path) -> tuple[float, int, int]:
    """Read in a process of its own; return CPU time (s), pins and peak bytes."""
    process = subprocess.Popen(
        [sys.executable, __file__, "--read", format, str(small), str(path)],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    words = process.stdout.read().split()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode or words[1] == "0":
        raise SystemExit(f"{format}: reading failed")
    return float(words[0]), int(words[1]), usage.ru_maxrss * 1024


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("formats", nargs="*")
    parser.add_argument("--megabytes", type=float, default=20)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--read", nargs=3, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.read:
        read(options.read[0], Path(options.read[1]), Path(options.read[2]))
        return 0
    print(
        f"{'format':16} {'size':>8} {'pins':>9} {'time':>8} {'speed':>10} "
        f"{'peak':>8} {'ratio':>6}"
    )
    for format in options.formats or MAKERS:
        before = 0.0
        with tempfile.TemporaryDirectory() as folder:
            small = Path(folder) / "small.txt"
            write(format, 20_000, small)
            for step in (0.1, 1.0):
                path = Path(folder) / f"made{step}.txt"
                write(format, int(options.megabytes * 1e6 * step), path)
                took, pins, peak = min(
                    measure(format, small, path) for _ in range(options.runs)
                )
                size = path.stat().st_size / 1e6
                ratio = f"{took / before:6.1f}" if before else ""
                before = took
                print(
                    f"{format:16} {size:5.1f} MB {pins:9,} {took:6.2f} s "
                    f"{size / took:5.1f} MB/s {peak / 1e6:5.0f} MB {ratio:>6}",
                    flush=True,
                )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
