"""Every command of docs/tutorial.md runs and prints the lines that stand there.

The page holds the bench log in pieces, a ``csv`` block each: a command sees the rows
that stand above it, as a reader who types along has them.
"""

from pathlib import Path

import pytest
from _screens import blocks, check, screens_in

from ohmtrail.fixtures import write_demo

PAGE = Path(__file__).parent.parent / "docs" / "tutorial.md"


def _steps():
    log = ""
    for language, text in blocks(PAGE) if PAGE.is_file() else []:
        if language == "csv":
            log += text
        for screen in screens_in(text):
            yield pytest.param(screen, log, id=str(screen))


STEPS = list(_steps())


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tutorial")
    write_demo(folder / "demo-board")
    return folder


@pytest.mark.skipif(not PAGE.is_file(), reason="no docs/tutorial.md beside the tests")
def test_it_goes_the_whole_way():
    """The job from intake to hand-back; its log ends with a board that runs."""
    commands = [step.values[0].command.split()[1] for step in STEPS]
    for one in ("demo", "summary", "rails", "stages", "checklist", "short", "rank",
                "next", "weigh", "report"):  # fmt: skip
        assert one in commands
    actions = [row.split(",")[1] for row in STEPS[-1].values[1].splitlines()[1:]]
    assert {"look", "measure", "lift", "fit", "power"} <= set(actions)
    assert ",runs," in STEPS[-1].values[1].splitlines()[-1]


@pytest.mark.skipif(not PAGE.is_file(), reason="no docs/tutorial.md beside the tests")
def test_no_command_stands_outside_a_screen():
    """A block that is shown and not run would not be known to work."""
    told = [text for _, text in blocks(PAGE) if "ohmtrail " in text]
    assert all(screens_in(text) for text in told)


@pytest.mark.parametrize(("screen", "log"), STEPS)
def test_screens_are_real(folder, screen, log):
    if log:
        (folder / "repair.csv").write_text(log, encoding="utf-8")
    if screen.command.startswith("ohmtrail demo "):
        (folder / "new").mkdir(exist_ok=True)
        check(screen, folder / "new")
    else:
        check(screen, folder)
