"""Run the command line in this process, as a terminal of 80 columns would see it."""

import json
from dataclasses import dataclass

import pytest

from ohmtrail.cli import main
from ohmtrail.fixtures import named_board_path


@dataclass(frozen=True)
class Ran:
    """What a command printed and how it ended."""

    status: int
    out: str
    err: str

    @property
    def json(self):
        assert self.err == ""
        return json.loads(self.out)


@pytest.fixture
def ohmtrail(capfd, monkeypatch):
    """Run ``ohmtrail`` with arguments; a board's bare name is a small named board."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("OHMTRAIL_CACHE", "off")
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)

    def run(*arguments):
        words = [
            str(named_board_path(word[1:])) if word.startswith("@") else word
            for word in map(str, arguments)
        ]
        status = main(words)
        out, err = capfd.readouterr()
        return Ran(status, out, err)

    return run
