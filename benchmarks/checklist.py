"""CPU time of ``checklist --rail`` beyond the import of what it needs.

Usage: python benchmarks/checklist.py [--runs N] [BOARD NET ...]

Without a board: the demo board, then invented boards of about 400 and 600 parts from
``bench``, each at its main rail.  Prints the least of N runs (default 5) of reading the
file, recognising, and making the checklist; nothing is kept from run to run.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).parent))

_T = TypeVar("_T")
#: Parts wanted, and seeds among which the board nearest to it is looked for.
_SIZES, _SEEDS = (400, 600), range(200, 330)


def _boards(folder: Path) -> Iterator[tuple[str, str]]:
    from bench import boards

    from ohmtrail.fixtures import write_demo

    yield str(write_demo(folder / "demo")[0]), "VMAIN"
    made = [boards.board(seed) for seed in _SEEDS]
    for size in _SIZES:
        board = min(made, key=lambda one: abs(len(one.parts) - size))
        boards.write(board, folder)
        yield board.file, next(name for name in board.rails if name[0] == "V")


def _timed(make: Callable[[], _T]) -> tuple[float, _T]:
    begin = time.process_time()
    made = make()
    return time.process_time() - begin, made


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("boards", nargs="*")
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()

    from ohmtrail.importers import load
    from ohmtrail.netanalysis.checklist import make_checklist
    from ohmtrail.netanalysis.recognise import recognise

    print("| board | parts | steps | read | recognise | checklist | together |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    with tempfile.TemporaryDirectory() as folder:
        named = options.boards
        asked = list(zip(named[::2], named[1::2], strict=True)) or list(
            _boards(Path(folder))
        )
        # Once beforehand: imports that are put off until they are needed.
        make_checklist(recognise(load(Path(asked[0][0]), None)), rail=asked[0][1])
        for file, rail in asked:
            best: list[float] = []
            for _ in range(options.runs):
                read, board = _timed(lambda file=file: load(Path(file), None))
                known, circuit = _timed(lambda board=board: recognise(board))
                made, checklist = _timed(
                    lambda one=circuit, rail=rail: make_checklist(one, rail=rail)
                )
                times = [read, known, made]
                best = min(best or times, times, key=sum)
            steps = sum(len(one.steps) for one in checklist.sections)
            row = " | ".join(f"{one:.2f} s" for one in (*best, sum(best)))
            what = f"{Path(file).stem} {rail} | {len(board.parts)} | {steps}"
            print(f"| {what} | {row} |")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
