"""How fast layouts are read: every ``.kicad_pcb`` of the corpus, and generated ones.

Usage: python benchmarks/layouts.py [--runs N] [--pins N]

Prints the size unpacked, the median time of N runs (default 3) in one process,
megabytes a second and pins a second.  The generated layouts have N pins
(default 40000) and ten times as many: the time should grow tenfold.
"""

import argparse
import gzip
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from ohmtrail.importers.kicad_layout import IMPORTER

_PART = """\
(footprint "Parts:R_0603" (layer "F.Cu") (tstamp "{n}") (at {n} 0 90)
  (property "Reference" "R{n}" (at 0 0 0) (effects (font (size 1 1))))
  (property "Value" "10k" (at 0 0 0) (effects (font (size 1 1))))
  (fp_line (start 0 0) (end 1 1) (layer "F.SilkS") (width 0.1))
  (pad "1" smd rect (at -1 0) (size 1 1) (layers "F.Cu" "F.Mask")
    (net {net} "N{net}") (pintype "passive") (tstamp "{n}a"))
  (pad "2" smd rect (at 1 0) (size 1 1) (layers "F.Cu" "F.Mask")
    (net 1 "GND") (pintype "passive") (tstamp "{n}b")))
"""


def generated(pins: int) -> str:
    """Return a layout of resistors from many nets to one."""
    parts = (_PART.format(n=n, net=n % 5000 + 2) for n in range(pins // 2))
    return "(kicad_pcb (version 20211014)\n" + "".join(parts) + ")\n"


def measure(path: Path, runs: int) -> tuple[float, int]:
    """Return the median time in seconds, and the number of pins."""
    times, pins = [], 0
    for _ in range(runs):
        begin = time.perf_counter()
        pins = IMPORTER.read(path).pin_count
        times.append(time.perf_counter() - begin)
    return statistics.median(times), pins


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--pins", type=int, default=40_000)
    options = parser.parse_args()
    here = Path(__file__).resolve().parent.parent
    corpus = Path(os.environ.get("OHMTRAIL_CORPUS", here.parent / "shared/corpus"))
    if not corpus.is_dir():
        print("no corpus of real boards: the generated layouts only", file=sys.stderr)
    print(f"{'layout':44} {'MB':>7} {'pins':>7} {'s':>7} {'MB/s':>6} {'pins/s':>8}")

    def line(name: str, path: Path) -> None:
        data = path.read_bytes()
        size = len(gzip.decompress(data) if path.suffix == ".gz" else data) / 1e6
        if size < 0.001:
            return
        taken, pins = measure(path, options.runs)
        print(
            f"{name[-44:]:44} {size:7.2f} {pins:7} {taken:7.3f} "
            f"{size / taken:6.1f} {pins / taken:8.0f}"
        )

    for path in sorted(corpus.rglob("*.kicad_pcb*")):
        line(path.name, path)
    with tempfile.TemporaryDirectory() as folder:
        for pins in (options.pins, 10 * options.pins):
            path = Path(folder) / "generated.kicad_pcb"
            path.write_text(generated(pins), encoding="utf-8")
            line(f"generated, {pins} pins", path)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
