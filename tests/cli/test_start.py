"""Starting is fast because nothing is imported before it is needed."""

import os
import subprocess
import sys

import pytest

from ohmtrail.fixtures import named_board_path

HEAVY = "rich networkx scipy numpy lxml kiutils pint".split()
_PROBE = """
import sys
from ohmtrail.cli import main
status = main(sys.argv[1:])
print(*sorted(sys.modules), file=sys.stderr)
raise SystemExit(status)
"""


def modules(*arguments):
    ran = subprocess.run(
        [sys.executable, "-c", _PROBE, *arguments],
        env={**os.environ, "OHMTRAIL_CACHE": "off"},
        capture_output=True,
        text=True,
        check=True,
    )
    return set(ran.stderr.split())


def test_help_loads_no_command_and_nothing_of_the_analysis():
    loaded = modules("--help")
    assert not loaded & set(HEAVY)
    assert not {name for name in loaded if name.startswith("ohmtrail.importers")}
    assert not {name for name in loaded if name.startswith("ohmtrail.netanalysis")}
    assert "ohmtrail.cli.checklist" not in loaded


@pytest.mark.parametrize("command", ["nets"])
def test_nets_json_loads_neither_recognition_nor_rich(command):
    loaded = modules(command, str(named_board_path("one_buck")), "--json")
    assert not loaded & set(HEAVY)
    assert "ohmtrail.netanalysis.recognise" not in loaded


def test_json_of_other_commands_needs_no_rich():
    for command in (["stages"], ["checklist"], ["short"]):
        more = ["VBUS"] if command == ["short"] else []
        loaded = modules(*command, str(named_board_path("one_buck")), *more, "--json")
        assert "rich" not in loaded
        assert "networkx" not in loaded


def test_module_and_version():
    ran = subprocess.run(
        [sys.executable, "-m", "ohmtrail", "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout.startswith("ohmtrail ")
