"""Lines of Python that a reading runs, at two sizes: the same on every machine.

Usage: python benchmarks/work.py [FORMAT ...]

Reads the files of ``formats.py`` of 0.1 and of 1 MB and counts the lines that run,
each turn of a loop anew.  A ratio above that of the sizes would be work that grows
faster than the file.
"""

import sys
import tempfile
from pathlib import Path
from types import FrameType
from typing import Any

from made_files import MAKERS, write

from ohmtrail.importers._registry import load


def lines(format: str, path: Path) -> int:
    """Return how many lines run while a file is read."""
    count = 0

    def note(frame: FrameType, event: str, _: Any) -> Any:
        nonlocal count
        count += 1
        return note

    sys.settrace(note)
    try:
        load(path, format)
    finally:
        sys.settrace(None)
    return count


def main() -> int:
    """Count and print."""
    print(f"{'format':16} {'0.1 MB':>10} {'1 MB':>11} {'ratio':>6}")
    for format in sys.argv[1:] or MAKERS:
        with tempfile.TemporaryDirectory() as folder:
            counts = []
            for size in (100_000, 1_000_000):
                path = Path(folder) / f"made{size}.txt"
                write(format, size, path)
                if not counts:
                    load(path, format)  # modules are imported once
                counts.append(lines(format, path) / path.stat().st_size * size)
        few, many = counts
        print(f"{format:16} {few:10,.0f} {many:11,.0f} {many / few:6.1f}", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
