"""What the README shows is what the program prints."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from ohmtrail.fixtures import write_demo

README = Path(__file__).parent.parent / "README.md"
SCREENS = [
    block
    for block in re.findall(
        r"^```text\n(.*?)^```$", README.read_text(encoding="utf-8"), re.M | re.S
    )
    if block.startswith("$ ohmtrail ")
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("readme")
    write_demo(folder / "demo-board")
    return folder


def test_it_shows_screens():
    assert len(SCREENS) >= 2


@pytest.mark.parametrize("screen", SCREENS, ids=lambda s: s.split()[2])
def test_screens_are_real(folder, screen):
    command, shown = screen.split("\n", 1)
    run = subprocess.run(
        [sys.executable, "-m", *shlex.split(command.removeprefix("$ "))],
        cwd=folder,
        env={**os.environ, "COLUMNS": "80"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    printed = "\n".join(line.rstrip() for line in run.stdout.splitlines())
    at = 0
    for piece in re.split(r"^\.\.\.\n?", shown, flags=re.M):
        if piece.strip():
            at = printed.index(piece.rstrip("\n"), at) + len(piece.rstrip("\n"))


def test_two_commands_do_all_the_set_up():
    """The first code block holds them, a line each."""
    block = re.search(r"^```sh\n(.*?)^```$", README.read_text("utf-8"), re.M | re.S)
    assert block is not None
    demo, tests = block[1].splitlines()
    assert demo.endswith("checklist demo-board/sk4.kicad_sch --rail VMAIN")
    assert tests.endswith("pytest -q")
