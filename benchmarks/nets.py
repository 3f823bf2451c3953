"""Whole-process time of ``ohmtrail nets ROOT --json`` against kicad-cli.

Usage: python benchmarks/nets.py [--runs N] [NAME ...]

Runs both programs in turn, N times each (default 5), cold in the sense that
every run is a new process; the file cache is warm for both.  Prints the median
of each and their ratio.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

NAMES = ("jetson-nano-baseboard", "lpddr4-test-board", "cynthion")


def seconds(command: list[str], runs: int, kept: str = "off") -> float:
    """Return the median wall time of a command's runs, nothing kept by default."""
    environment = {**os.environ, "OHMTRAIL_CACHE": kept}
    times = []
    for _ in range(runs):
        begin = time.perf_counter()
        subprocess.run(
            command,
            check=True,
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", default=NAMES)
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()
    here = Path(__file__).resolve().parent.parent
    corpus = Path(os.environ.get("OHMTRAIL_CORPUS", here.parent / "shared/corpus"))
    kicad = shutil.which("kicad-cli")
    if kicad is None or not corpus.is_dir():
        print("needs kicad-cli 9 on PATH and the corpus", file=sys.stderr)
        return 1
    designs = json.loads((corpus / "manifest.json").read_text(encoding="utf-8"))
    roots = {design["name"]: design["root"] for design in designs}
    print(
        f"{'design':28} {'kicad-cli':>10} {'cold':>8} {'ratio':>6} "
        f"{'warm':>8} {'ratio':>6}"
    )
    worst_cold = worst_warm = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for name in options.names:
            root = str(corpus / roots[name])
            output = str(Path(folder) / "out.net")
            ours = [sys.executable, "-m", "ohmtrail", "nets", root, "--json"]
            theirs = seconds(
                [kicad, "sch", "export", "netlist", "-o", output, root], options.runs
            )
            cold = seconds(ours, options.runs)
            kept = str(Path(folder) / "kept")
            seconds(ours, 1, kept)
            warm = seconds(ours, options.runs, kept)
            worst_cold = max(worst_cold, cold / theirs)
            worst_warm = max(worst_warm, warm / theirs)
            print(
                f"{name:28} {theirs:8.2f} s {cold:6.2f} s {cold / theirs:6.2f} "
                f"{warm:6.2f} s {warm / theirs:6.2f}"
            )
    print(f"worst ratio cold {worst_cold:.2f}, wanted at most 0.5;", end=" ")
    print(f"warm {worst_warm:.2f}, wanted at most 0.2")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
