"""Names out of a file are shown as text, whatever they hold, and fit the screen."""

import csv
import io
import os
import subprocess
import sys

import pytest

from ohmtrail.fixtures import named_board_path

ESCAPE = "[red]V\x1b[31mBUS\x07"
NAMES = [
    ESCAPE,
    "a|b*_`<x>",
    "line\nbreak",
    "\u202eomega Ω 电源",
    "V" * 150,
    "-" * 12,
    "%s{0}\\n",
]
PARTS = [("C", "capacitor", "1u"), ("R", "resistor", "[bold]10k"), ("D", "tvs", "\r5V")]


@pytest.fixture
def hostile(tmp_path):
    path = tmp_path / "a folder" / "ho\nst\x1b[2J Ω.csv"
    path.parent.mkdir()
    with path.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file)
        rows.writerow("ref,pin,net,name,value,kind".split(","))
        for number, net in enumerate(NAMES):
            for letter, kind, value in PARTS:
                ref = f"{letter}{number}\x1b[1m"
                rows.writerow([ref, 1, net, "\x1b]0;title\x07", value, kind])
                rows.writerow([ref, 2, "GND", "", "", ""])
        long = "U" + "x" * 60
        rows.writerow([long, "PIN" * 30, "V" * 150, "", "", "chip"])
        rows.writerow([long, "2", "GND", "", "", ""])
    return path


COMMANDS = [
    ["summary"],
    ["nets"],
    ["rails"],
    ["parallel"],
    ["stages"],
    ["checklist"],
    ["checklist", "--format", "md"],
    *(["net", name] for name in NAMES),
    *(["short", f"net:{name}"] for name in NAMES if not name.startswith("-")),
    *(["checklist", "--rail", name] for name in NAMES),
    ["part", "C0\x1b[1m"],
    ["checklist", "--part", "U" + "x" * 60],
]


@pytest.mark.parametrize("command", COMMANDS, ids=range(len(COMMANDS)))
def test_nothing_in_a_name_commands_the_terminal(ohmtrail, hostile, command):
    first, *rest = command
    more = ["--nominal", f"{'V' * 150}=5"]
    arguments = rest if "--rail" in rest or "--format" in rest else ["--", *rest]
    if arguments[:1] == ["--"]:
        arguments = [*more, "--", hostile, *rest]
        if "--part" in rest:
            arguments = [*more, hostile, *rest]
    else:
        arguments = [hostile, *more, *rest]
    ran = ohmtrail(first, *arguments)
    assert ran.status == 0, ran.err
    assert [c for c in ran.out if not c.isprintable() and c != "\n"] == []
    assert "\u202e" not in ran.out
    if "md" not in command:
        assert [line for line in ran.out.splitlines() if len(line) > 80] == []


def test_an_error_about_such_a_name_is_one_clean_line(ohmtrail, hostile):
    ran = ohmtrail("net", hostile, "V\x1b[31mBUS")
    assert (ran.status, ran.out) == (1, "")
    assert len(ran.err.splitlines()) == 1
    assert ran.err.rstrip("\n").isprintable()


def test_csv_gives_names_back_as_they_are(ohmtrail, hostile):
    name = "line\nbreak"
    ran = ohmtrail("checklist", hostile, "--rail", name, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out, newline="")))
    assert {row["rail"] for row in rows} == {name}


def test_json_gives_names_back_as_they_are(ohmtrail, hostile):
    answer = ohmtrail("nets", hostile, "--json").json
    assert {net["name"] for net in answer["nets"]} == {*NAMES, "GND"}


def test_a_terminal_without_the_ohm_sign_gets_the_word():
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "ohmtrail",
            "checklist",
            str(named_board_path("one_buck")),
        ],
        env={**os.environ, "PYTHONIOENCODING": "ascii", "COLUMNS": "80"},
        capture_output=True,
        check=True,
        encoding="ascii",
    )
    assert " ohm " in ran.stdout
    assert "kohm" in ran.stdout
    assert "\\" not in ran.stdout
    assert [line for line in ran.stdout.splitlines() if len(line) > 80] == []
