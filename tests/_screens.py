"""Screens of the documentation: a command, and what it prints, shortened by ``...``.

A block of ``text`` that begins with ``$ ohmtrail`` holds one screen or several.
Imported plainly, as _oracles is.
"""

import contextlib
import io
import re
import shlex
from dataclasses import dataclass
from pathlib import Path

import pytest

from ohmtrail.cli import main


@dataclass(frozen=True)
class Screen:
    """One command of a page, and what the page shows of its output."""

    command: str
    shown: str

    def __str__(self) -> str:
        return self.command.removeprefix("ohmtrail ")


def blocks(page: Path) -> list[tuple[str, str]]:
    """Return the fenced blocks of a page: their language and their text."""
    return re.findall(r"^```(\w+)\n(.*?)^```$", page.read_text("utf-8"), re.M | re.S)


def screens_in(block: str) -> list[Screen]:
    """Return the screens of a block, none if it is no such block."""
    if not block.startswith("$ ohmtrail "):
        return []
    pieces = re.split(r"^\$ (ohmtrail .*)\n", block, flags=re.M)[1:]
    return [
        Screen(command, shown)
        for command, shown in zip(pieces[::2], pieces[1::2], strict=True)
    ]


def run(command: str, folder: Path) -> str:
    """Run a command in a folder, 80 columns wide; returns what it prints."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    err = io.StringIO()
    with (
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        patch.chdir(folder)
        patch.setenv("COLUMNS", "80")
        for name in ("FORCE_COLOR", "TTY_COMPATIBLE"):
            patch.delenv(name, raising=False)
        status = main(shlex.split(command)[1:])
    assert status == 0, err.getvalue()
    printed = out.buffer.getvalue().decode("utf-8")
    return "\n".join(line.rstrip() for line in printed.splitlines())


def check(screen: Screen, folder: Path) -> None:
    """Fail unless the pieces shown are printed, whole lines, in their order."""
    printed = f"\n{run(screen.command, folder)}\n"
    at = 0
    for piece in re.split(r"^\.\.\.\n?", screen.shown, flags=re.M):
        if piece.strip():
            found = printed.find("\n" + piece.rstrip("\n") + "\n", at)
            assert found >= 0, f"not printed, or not in this place:\n{piece}"
            at = found + len(piece.rstrip("\n")) + 1
