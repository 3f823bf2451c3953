"""Compare what healthy boards read with what the tool expects.

Usage: PYTHONPATH=benchmarks python -m bench.healthy [--boards N] [--first SEED]
       [--points checklist|all] [--most N] [--ranges MODULE:FUNCTION] [--real]
       [--list FILE]

``checklist`` takes every cold step of ``ohmtrail checklist --json`` that has a
range; ``all`` asks ``ohmtrail expect`` for every resistor, every gate to its
source and every rail to ground (at most N a board, drawn by the seed), or the
function ``(board_file, layout, [(mode, plus, minus), ...]) -> [(low, high) or
None, ...]``; high may be "OL".  The board's own meter errs; its ranges are for
the pads, so both the exact reading and the displayed one are judged.
"""

import argparse
import contextlib
import importlib
import io
import json
import math
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench import boards, real
from bench.circuit import Circuit
from bench.meter import Meter
from bench.model import Board
from bench.truth import Truth
from bench.world import World

__all__ = ["points", "within"]

Range = tuple[float | str, float | str]
Point = tuple[str, str, str, str]


def _tool(*words: str) -> Any:
    """Return the JSON that the program answers with, None if it refuses.

    The command line is run in this process: starting Python anew for each of some
    thousand points would take most of the time.
    """
    from ohmtrail.cli import main as command

    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        status = command([*words, "--json"])
    return json.loads(out.getvalue()) if status == 0 else None


def _ends(value: float | str) -> float:
    return math.inf if value == "OL" else float(value)


def within(value: float | None, bounds: Range) -> bool:
    """Return whether a reading (None: open) lies in a range."""
    low, high = _ends(bounds[0]), _ends(bounds[1])
    seen = math.inf if value is None else value
    return low * (1 - 1e-9) <= seen <= high * (1 + 1e-9)


def points(board: Board) -> Iterator[Point]:
    """Return every resistor, gate and rail: family, mode, plus, minus."""
    for part in board.parts.values():
        pins = [number for number, _, net in part.pins if net]
        if part.kind == "resistor" and len(pins) == 2:
            yield (
                "resistor",
                "resistance",
                f"{part.ref}.{pins[0]}",
                f"{part.ref}.{pins[1]}",
            )
        elif part.kind == "mosfet" and part.named("G") and part.named("S"):
            gate, source = part.named("G"), part.named("S")
            yield "gate", "resistance", f"{part.ref}.{gate}", f"{part.ref}.{source}"
    for rail in board.rails:
        yield "rail", "resistance", f"net:{rail}", f"net:{board.ground}"


def _checklist(board: Board) -> Iterator[tuple[Point, Range]]:
    more = ["--with", board.layout] if board.layout else []
    found = _tool("checklist", board.file, *more) or {"sections": []}
    seen = set()
    for section in found["sections"]:
        for step in section["steps"]:
            expect, mode = step["expect"], step["mode"]
            key = (mode, step["plus"], step["minus"])
            if step["phase"] != "cold" or not expect or key in seen:
                continue
            if step.get("lifted"):
                continue  # the board here has all its parts
            seen.add(key)
            family = step.get("row") or "step"
            yield (f"{family}, {mode}", *key), (expect["low"], expect["high"])


def _expected(
    board: Board, asked: list[Point], ranges: str | None
) -> Iterator[tuple[Point, Range]]:
    if ranges:
        module, _, name = ranges.partition(":")
        make = getattr(importlib.import_module(module), name)
        found = make(board.file, board.layout, [point[1:] for point in asked])
        for point, bounds in zip(asked, found, strict=True):
            if bounds is not None:
                yield point, bounds
        return
    for point in asked:
        mode, plus, minus = point[1:]
        answer = _tool("expect", board.file, "--mode", mode, plus, minus)
        if answer and answer["low"] is not None and answer["high"] is not None:
            yield point, (answer["low"], answer["high"])


def main() -> int:
    """Read healthy boards, compare, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--boards", type=int, default=5)
    parser.add_argument("--first", type=int, default=5000)
    parser.add_argument("--points", choices=("checklist", "all"), default="all")
    parser.add_argument("--most", type=int, default=40)
    parser.add_argument("--ranges")
    parser.add_argument("--real", action="store_true")
    parser.add_argument("--list", type=Path)
    options = parser.parse_args()
    count: Counter[tuple[str, str]] = Counter()
    misses = []
    for seed in range(options.first, options.first + options.boards):
        with tempfile.TemporaryDirectory() as folder:
            if options.real:
                board = real.board(seed, Path(folder))
            else:
                board = boards.board(seed)
                boards.write(board, Path(folder))
            asked = list(points(board))
            random.Random(f"healthy/{seed}").shuffle(asked)
            rows = (
                _checklist(board)
                if options.points == "checklist"
                else _expected(board, asked[: options.most], options.ranges)
            )
            rows = list(rows)
        if options.points == "all":
            count["all", "asked"] += len(asked[: options.most])
            count["all", "answered"] += len(rows)
        world = World(board, seed)
        truth = Truth(board, seed)
        circuit = Circuit(board, truth, seed)
        exact, shown = Meter(seed, exact=True), Meter(seed)
        for (family, mode, plus, minus), bounds in rows:
            pads = world.pad(plus), world.pad(minus)
            value = exact.read(circuit, mode, *pads)
            inside = within(value, bounds)
            count[family, "n"] += 1
            count[family, "in"] += inside
            count[family, "displayed in"] += within(
                shown.read(circuit, mode, *pads), bounds
            )
            low, high = _ends(bounds[0]), _ends(bounds[1])
            count[family, "narrow"] += 0 < low and high < 3 * low
            if not inside:
                misses.append([board.name, mode, plus, minus, value, *bounds])
    _print(count)
    if options.list:
        options.list.write_text(
            "\n".join(json.dumps(row) for row in misses) + "\n", encoding="utf-8"
        )
    return 0


def _print(count: Counter[tuple[str, str]]) -> None:
    if asked := count["all", "asked"]:
        print(f"{count['all', 'answered']} of {asked} points got a range")
    print(f"{'over':28} {'n':>5} {'in range':>9} {'displayed':>10} {'< factor 3':>11}")
    families = sorted(family for family, what in count if what == "n")
    both = [family for family in families if family in ("gate", "resistor")]
    groups = {family: [family] for family in families}
    if len(both) == 2:
        groups["resistors and gates"] = both
    groups["all of them"] = families
    for family, some in groups.items():
        row = Counter({w: sum(count[f, w] for f in some) for w in _COLUMNS})
        if row["n"]:
            shares = [100 * row[w] / row["n"] for w in _COLUMNS[1:]]
            print(f"{family:28} {row['n']:5} {shares[0]:8.1f}% {shares[1]:9.1f}%"
                  f" {shares[2]:10.1f}%")  # fmt: skip


_COLUMNS = ("n", "in", "displayed in", "narrow")


if __name__ == "__main__":
    sys.exit(main())
