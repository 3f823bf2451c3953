"""What the README shows is what the program prints."""

import re
from pathlib import Path

import pytest
from _screens import blocks, check, screens_in

from ohmtrail.fixtures import write_demo

README = Path(__file__).parent.parent / "README.md"
SCREENS = [screen for _, block in blocks(README) for screen in screens_in(block)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("readme")
    write_demo(folder / "demo-board")
    return folder


def test_it_shows_screens():
    assert len(SCREENS) >= 2


@pytest.mark.parametrize("screen", SCREENS, ids=str)
def test_screens_are_real(folder, screen):
    check(screen, folder)


def test_two_commands_do_all_the_set_up():
    """The first code block holds them, a line each."""
    block = re.search(r"^```sh\n(.*?)^```$", README.read_text("utf-8"), re.M | re.S)
    assert block is not None
    demo, tests = block[1].splitlines()
    assert demo.endswith("checklist demo-board/sk4.kicad_sch --rail VMAIN")
    assert tests.endswith("pytest -q")
