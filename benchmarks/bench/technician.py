"""Hands for an adviser: carries out what it says, writes the log, nothing more."""

import csv
import json
import subprocess
import sys
import tempfile
from collections.abc import Callable
from typing import Any

from bench.world import BenchError, Row, World

__all__ = ["Adviser", "ask", "by_command", "play"]

#: Takes the board's file and the rows of the log; returns one `next` action.
Adviser = Callable[[str, list[Row]], dict[str, Any]]

_MOST_ACTIONS, _MOST_SECONDS = 300, 60_000.0


def ask(world: World, command: str, *more: str) -> dict[str, Any]:
    """Run ``ohmtrail COMMAND BOARD --log FILE --json`` on a world's log.

    Raises
    ------
    BenchError
        If it ends with an error.
    """
    return _run(world.board.file, world.board.layout, world.log, command,
                world.four_wire, *more)  # fmt: skip


def _run(
    file: str, layout: str, rows: list[Row], command: str, four: bool, *more: str
) -> dict[str, Any]:
    names = ("when", "action", "part", "mode", "plus", "minus", "value", "note")
    with tempfile.NamedTemporaryFile(
        "w", suffix=".csv", newline="", encoding="utf-8"
    ) as log:
        writer = csv.DictWriter(log, names, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        log.flush()
        words = [sys.executable, "-m", "ohmtrail", command, file, "--log", log.name]
        words += ["--with", layout] if layout else []
        have = "resistance,diode,drop" + (",four-wire" if four else "")
        words += ["--have", have, "--json", *more]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode:
        raise BenchError(f"ohmtrail {command}: {done.stderr.strip()[-200:]}")
    answer = json.loads(done.stdout)
    if not isinstance(answer, dict):
        raise BenchError(
            f"ohmtrail {command}: found {type(answer)}, expected an object"
        )
    return answer


def by_command(layout: str, four_wire: bool) -> Adviser:
    """Return the adviser that is the program itself, a process for each question."""

    def advise(file: str, rows: list[Row]) -> dict[str, Any]:
        return _run(file, layout, rows, "next", four_wire)

    return advise


def play(
    world: World,
    advise: Adviser,
    before: Callable[[dict[str, Any]], None] | None = None,
) -> str:
    """Do what the adviser says until it stops; return why it ended.

    Parameters
    ----------
    world : World
        The bench.
    advise : Adviser
        Asked before each action.
    before : callable, optional
        Told of each action before it is done.
    """
    for _ in range(_MOST_ACTIONS):
        if world.seconds > _MOST_SECONDS:
            return "out of time"
        try:
            action = advise(world.board.file, world.log)
        except BenchError as error:
            return f"bad answer: {error}"
        if before:
            before(action)
        what = action.get("action")
        if what == "stop":
            return f"stop: {action.get('why', '')}"
        try:
            if what == "power" and not world.may_power:
                return "no power-up is left"
            _do(world, str(what), action)
        except (BenchError, KeyError) as error:
            return f"bad action: {error}"
    return "too many actions"


def _do(world: World, what: str, action: dict[str, Any]) -> None:
    if what == "look":
        world.look(action["part"])
    elif what == "measure":
        world.measure(
            action["mode"], action["plus"], action["minus"], action.get("part")
        )
    elif what == "lift":
        world.lift(action["part"])
    elif what == "fit":
        world.fit(action["part"])
    elif what == "replace":
        world.replace(list(action["parts"]))
    elif what == "inject":
        volts, amps = action["volts_max"], action["amps_start"]
        if volts is None:
            raise BenchError("inject without volts_max")
        world.inject(action["plus"], action["minus"], volts, amps or 0.5)
    elif what == "power":
        world.power(f"{action.get('volts_max')} V, limit {action.get('amps_start')} A")
    else:
        raise BenchError(f"found action {what!r}")
