"""Closed-loop repairs on simulated benches, and the table of how they ended.

Usage: PYTHONPATH=benchmarks python -m bench.run [--runs N] [--first SEED]
       [--who routine,part,tool] [--kit four,two] [--adviser MODULE:FUNCTION]
       [--only all|healthy|wrong] [--real] [--jobs N] [--out FILE]

``routine`` is the skilled routine, ``part`` the same without mates, drivers and
gates, ``tool`` is ``ohmtrail next`` (a process a question; ``--adviser`` names a
function ``(board_file, rows) -> action`` that answers instead).
"""

import argparse
import contextlib
import importlib
import json
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from bench import boards, real
from bench.faults import healthy_case, wrong_case
from bench.routine import Routine
from bench.spice import SpiceError
from bench.technician import ask, by_command, play
from bench.world import BenchError, World

__all__ = ["Outcome", "one", "table"]


@dataclass(slots=True)
class Outcome:
    """How one bench ended."""

    board: str
    seed: int
    who: str
    kit: str
    kind: str
    healthy: bool
    culprits: list[str]
    bad: list[str]
    runs: bool = False
    first: bool = False
    replaced: list[str] = field(default_factory=list)
    needless: list[str] = field(default_factory=list)
    #: Needless ones that stand in parallel with a bad switch.
    mates: int = 0
    seconds: float = 0.0
    readings: int = 0
    actions: int = 0
    end: str = ""
    #: Line of the log that was wrong by ten, None if none was.
    wrong_line: int | None = None
    #: With a wrong line: suspect in the first three, line named; None if not asked.
    in_three: bool | None = None
    named: bool | None = None
    bench_ms: float = 0.0


def _asked(world: World, outcome: Outcome, rank: dict[str, Any]) -> None:
    """Judge what ``rank`` says of a log with a wrong line.

    The suspects are those of the first decision; the line may be named at any.
    """
    if outcome.in_three is None:
        first = [ref for row in rank.get("suspects", [])[:3] for ref in row["parts"]]
        outcome.in_three = any(ref in first for ref in world.case.culprits)
    named = world.wrong_line in rank.get("contradictions", [])
    outcome.named = bool(outcome.named) or named


def one(
    seed: int, who: str, four: bool, adviser: str | None, folder: str, is_real: bool
) -> Outcome:
    """Play one bench."""
    board = real.board(seed, Path(folder)) if is_real else boards.board(seed)
    if not is_real:
        boards.write(board, Path(folder))
    world = World(board, seed, four)
    case = world.case
    outcome = Outcome(board.name, seed, who, "four" if four else "two", case.kind,
                      case.healthy, list(case.culprits), sorted(case.bad))  # fmt: skip
    begin = time.perf_counter()
    try:
        if who == "tool":
            _tool(world, outcome, adviser)
        else:
            Routine(world, whole_sets=who == "routine").play()
            outcome.end = "done"
    except SpiceError as error:
        outcome.end = f"bench failed: {error}"
    _result(world, outcome)
    outcome.bench_ms = (time.perf_counter() - begin) * 1e3
    return outcome


def _result(world: World, outcome: Outcome) -> None:
    powered = world.power_ups
    good = world.state() == "runs"
    # a healthy board that nobody powered is as good as before
    rest = outcome.healthy and not powered and good
    outcome.runs = good and ("runs" in powered or rest)
    outcome.first = outcome.runs and (rest or powered[0] == "runs")
    outcome.replaced, outcome.needless = world.replaced, world.needless
    dead = set(outcome.bad)
    outcome.mates = sum(
        any(dead & set(side.switches) for side in world.board.sides_of(ref))
        for ref in world.needless
    )
    outcome.seconds, outcome.readings = world.seconds, world.readings
    outcome.actions, outcome.wrong_line = len(world.log), world.wrong_line


def _tool(world: World, outcome: Outcome, adviser: str | None) -> None:
    """Let the adviser play; look at its ranking when it has made up its mind."""
    if adviser:
        module, _, name = adviser.partition(":")
        make: Callable[..., Any] = getattr(importlib.import_module(module), name)
        advise = make
    else:
        advise = by_command(world.board.layout, world.four_wire)

    def before(action: dict[str, Any]) -> None:
        settled = action.get("action") in ("replace", "stop", "power")
        if settled and world.wrong_line and not outcome.named:
            if not world.case.healthy:
                with contextlib.suppress(BenchError):
                    _asked(world, outcome, ask(world, "rank"))

    outcome.end = play(world, advise, before)


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} % ({part}/{whole})" if whole else "-"


def table(found: list[Outcome]) -> Iterator[str]:
    """Return the lines of the table, one block for each player and kit."""
    for who, kit in dict.fromkeys((o.who, o.kit) for o in found):
        rows = [o for o in found if (o.who, o.kit) == (who, kit)]
        wrong = [o for o in rows if o.in_three is not None]
        healthy = [o for o in rows if o.healthy]
        count = len(rows)
        mean = sum(o.seconds for o in rows) / count
        needless = sum(len(o.needless) for o in rows) / count
        mates = sum(o.mates for o in rows) / count
        yield f"{who}, {'with' if kit == 'four' else 'without'} four-wire, {count} runs"
        yield f"  board runs               {_share(sum(o.runs for o in rows), count)}"
        yield f"  at the first power-up    {_share(sum(o.first for o in rows), count)}"
        yield f"  needless parts a run     {needless:.2f}, {mates:.2f} of them mates"
        yield f"  mean bench time          {mean:.0f} s"
        yield f"  mean readings            {sum(o.readings for o in rows) / count:.0f}"
        convicted = sum(bool(o.replaced) for o in healthy)
        yield f"  healthy boards convicted {_share(convicted, len(healthy))}"
        if wrong:
            three = _share(sum(bool(o.in_three) for o in wrong), len(wrong))
            yield f"  one wrong reading: right suspect in the first three {three}"
            named = _share(sum(bool(o.named) for o in wrong), len(wrong))
            yield f"  one wrong reading: its line named {named}"
        for kind in sorted({o.kind for o in rows}):
            some = [o for o in rows if o.kind == kind]
            share = _share(sum(o.runs for o in some), len(some))
            yield f"    {kind:40} runs {share}"
        bad = [o for o in rows if o.end.startswith(("bad", "bench"))]
        if bad:
            yield f"  ended by an error: {len(bad)}, first: {bad[0].end[:150]}"


def _job(words: tuple[Any, ...]) -> Outcome:
    return one(*words)


def _kept(found: Iterable[Outcome], out: Path | None) -> Iterator[Outcome]:
    """Write each outcome as it comes."""
    if out:
        out.write_text("", encoding="utf-8")
    for outcome in found:
        if out:
            with out.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(outcome)) + "\n")
        yield outcome


def _seeds(only: str, first: int, count: int) -> list[int]:
    """Return the first seeds of a sort: all, healthy boards, or a wrong reading."""
    if only == "all":
        return list(range(first, first + count))
    found: list[int] = []
    seed = first
    while len(found) < count:
        healthy = healthy_case(seed)
        if healthy if only == "healthy" else _wrong(seed) and not healthy:
            found.append(seed)
        seed += 1
    return found


def _wrong(seed: int) -> bool:
    return wrong_case(boards.board(seed).name, seed)


def main() -> int:
    """Play and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=40)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--who", default="routine,part")
    parser.add_argument("--kit", default="four,two")
    parser.add_argument("--only", choices=("all", "healthy", "wrong"), default="all")
    parser.add_argument("--adviser")
    parser.add_argument("--real", action="store_true")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        jobs = [
            (seed, who, kit == "four", options.adviser, folder, options.real)
            for who in options.who.split(",")
            for kit in options.kit.split(",")
            for seed in _seeds(options.only, options.first, options.runs)
        ]
        if options.jobs > 1:
            with multiprocessing.get_context("spawn").Pool(options.jobs) as pool:
                found = list(_kept(pool.imap(_job, jobs), options.out))
        else:
            found = list(_kept(map(_job, jobs), options.out))
    print("\n".join(table(found)))
    readings = sum(o.readings for o in found) or 1
    print(f"{sum(o.bench_ms for o in found) / readings:.1f} ms a reading, all included")
    return 0


if __name__ == "__main__":
    sys.exit(main())
