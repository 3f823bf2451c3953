"""What commands do beside printing a screen."""

import csv
import io
import json
import os
import subprocess
import sys

import pytest
from _oracles import catalogue, designs, program

from ohmtrail.cli._group import COMMANDS
from ohmtrail.cli.render.checklist_text import checklist_text
from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import importers, load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.recognise import recognise


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(ohmtrail, name):
    ran = ohmtrail(name, "--help")
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith(f"Usage: ohmtrail {name} ")
    assert max(map(len, ran.out.splitlines())) <= 80


def test_without_a_command_there_is_help(ohmtrail):
    assert ohmtrail().out == ohmtrail("--help").out


def test_demo_says_what_to_type_next_and_it_works(ohmtrail, tmp_path):
    ran = ohmtrail("demo", tmp_path / "my board")
    lines = [line for line in ran.out.splitlines() if line.startswith("  ohmtrail ")]
    assert lines
    import shlex

    for line in lines:
        done = ohmtrail(*shlex.split(line)[1:])
        assert done.status == 0
        assert done.out


def test_a_filled_table_gives_its_stage(ohmtrail, tmp_path):
    table = tmp_path / "traced.csv"
    assert ohmtrail("table", "--stage", "buck", "--out", table).status == 0
    kinds = [s["kind"] for s in ohmtrail("stages", table, "--json").json["stages"]]
    assert "buck" in kinds


def test_nominal_states_a_voltage(ohmtrail):
    rails = ohmtrail("rails", "@one_buck", "--nominal", "VBUS=3V3", "--json").json
    volts = {rail["net"]: rail["volts"] for rail in rails["rails"]}
    assert volts["VBUS"] == 3.3


def test_with_adds_positions(ohmtrail, tmp_path):
    # A second view that knows only values.
    view = tmp_path / "values.csv"
    view.write_text("ref,pin,net,value\nR1,1,DRVH,2R2\nR1,2,GH,\n", encoding="utf-8")
    ran = ohmtrail("part", "@one_buck", "R1", "--with", view, "--json")
    assert ran.status == 0
    assert json.loads(ran.out)["value"] == "2R2"


def test_board_format_and_document_format_share_an_option(ohmtrail):
    ran = ohmtrail("checklist", "@one_buck", "--format", "pin_table", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert rows[0]["phase"] == "look"
    assert "pin_table" in importers()


def test_markdown_keeps_net_names_from_being_markup(ohmtrail, tmp_path):
    table = tmp_path / "hostile.csv"
    table.write_text(
        "ref,pin,net,name,value,kind\n"
        "C1,1,<img src=x>|a,,1u,capacitor\nC1,2,GND,,,\n"
        "C2,1,<img src=x>|a,,1u,capacitor\nC2,2,GND,,,\n",
        encoding="utf-8",
    )
    ran = ohmtrail("checklist", table, "--rail", "<img src=x>|a", "--format", "md")
    assert ran.status == 0
    assert "<img" not in ran.out.replace("\\<", "")


def test_csv_cells_are_no_formulas(ohmtrail, tmp_path):
    table = tmp_path / "hostile.csv"
    table.write_text(
        "ref,pin,net,name,value,kind\n"
        "C1,1,=1+1,,1u,capacitor\nC1,2,GND,,,\n"
        "C2,1,=1+1,,1u,capacitor\nC2,2,GND,,,\n",
        encoding="utf-8",
    )
    ran = ohmtrail("checklist", table, "--rail", "=1+1", "--format", "csv")
    rows = list(csv.reader(io.StringIO(ran.out)))
    assert not [cell for row in rows for cell in row if cell.startswith("=")]


def test_formats_names_every_importer(ohmtrail):
    ran = ohmtrail("formats")
    assert max(map(len, ran.out.splitlines())) <= 80
    answer = ohmtrail("formats", "--json").json
    assert [one["name"] for one in answer["formats"]] == list(importers())
    for one in answer["formats"]:
        assert one["name"].replace("_", "")[:6] in ran.out.replace("_", "")
        assert one["standard"]


def test_a_table_for_programs_is_the_same_table(ohmtrail):
    answer = ohmtrail("table", "--stage", "buck", "--json").json
    assert answer["table"] == ohmtrail("table", "--stage", "buck").out


@pytest.mark.parametrize("option", ["--good", "--meter"])
@pytest.mark.parametrize("command", ["nets", "rails"])
def test_an_option_that_changes_nothing_yet_is_a_warning(
    ohmtrail, tmp_path, command, option
):
    file = tmp_path / "readings.csv"
    text = "when,action\n" if option == "--good" else "lead_ohms = 0.1\n"
    file.write_text(text, encoding="utf-8")
    ran = ohmtrail(command, "@one_buck", option, file, "--json")
    assert ran.status == 0
    assert len(ran.err.splitlines()) == 1
    (warning,) = json.loads(ran.out)["warnings"]
    assert option in warning["what"]
    assert warning["where"] == str(file)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_script(ohmtrail, shell):
    ran = ohmtrail("completion", shell)
    assert ran.status == 0
    assert "_OHMTRAIL_COMPLETE" in ran.out


def test_completion_completes_commands():
    ran = subprocess.run(
        [sys.executable, "-c", "from ohmtrail.cli import main; main()"],
        env={
            **os.environ,
            "_OHMTRAIL_COMPLETE": "bash_complete",
            "COMP_WORDS": "ohmtrail check",
            "COMP_CWORD": "1",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.stdout.split() == ["plain,checklist"]


# From the schematic editor ------------------------------------------------------------


_EXPORT = ("sch", "export", "netlist", "--format", "kicadxml")


def run_as_the_editor_does(line, netlist, output):
    """Put the file names in and hand the line to a shell (KiCad's documentation)."""
    command = line.replace("%I", str(netlist)).replace("%O", str(output))
    return subprocess.run(
        command, shell=True, capture_output=True, text=True, check=False
    )


def test_viewer_command_prints_one_line_to_paste(ohmtrail):
    ran = ohmtrail("viewer-command")
    assert ran.status == 0
    (line,) = ran.out.splitlines()
    assert sys.executable in line
    assert ohmtrail("viewer-command", "--json").json["command"] == line


@pytest.mark.parametrize("which", range(3))
def test_the_line_works_on_netlists_that_the_editor_writes(ohmtrail, tmp_path, which):
    kicad = program("kicad-cli")
    design = [d for d in catalogue("kicad6+") if d.power][which]
    folder = tmp_path / "my project"
    folder.mkdir()
    netlist = folder / "net list.xml"
    subprocess.run(
        [kicad, *_EXPORT, "-o", str(netlist), str(design.root)],
        check=True,
        capture_output=True,
    )
    line = ohmtrail("viewer-command").out.strip()
    ran = run_as_the_editor_does(line, netlist, folder / "board")
    assert ran.returncode == 0, ran.stderr
    text = (folder / "board.checklist.txt").read_text(encoding="utf-8")
    assert text.startswith("Probe checklist: ")
    assert "Rail to ground" in text


def test_a_rail_in_the_line_is_quoted():
    from ohmtrail.cli.viewer_command import editor_line

    line = editor_line(["--rail", "/Core/Phase A/SW"], windows=False)
    assert "--rail '/Core/Phase A/SW' '%I'" in line
    line = editor_line(["--rail", "/Core/Phase A/SW"], windows=True)
    assert '--rail "/Core/Phase A/SW" "%I"' in line


@pytest.mark.parametrize("design", designs("kicad6+", "kicad4", "kicad5"))
def test_checklists_of_real_boards_fit_80_columns(design):
    circuit = recognise(load(design.root), {})
    text = checklist_text(make_checklist(circuit), width=80)
    assert [line for line in text.splitlines() if len(line) > 80] == []


_NETLIST = """<export version="E"><components><comp ref="R1"><value>10k</value></comp>
</components><nets><net name="VIN"><node ref="R1" pin="1"/></net>
<net name="GND"><node ref="R1" pin="2"/></net></nets></export>
"""


@pytest.mark.skipif(os.name == "nt", reason="no such names on Windows")
@pytest.mark.parametrize(
    "name",
    ['a "b" c', "$HOME", "$(touch harm)", "`touch harm`", "a\\", "a;touch harm", "-x"],
)
def test_names_of_files_mean_nothing_to_the_shell(ohmtrail, tmp_path, name):
    """Rules of quotes: POSIX shell command language, 2.2.2."""
    folder = tmp_path / f"{name} project"
    folder.mkdir()
    netlist = folder / f"{name}.xml"
    netlist.write_text(_NETLIST, encoding="utf-8")
    line = ohmtrail("viewer-command").out.strip()
    ran = run_as_the_editor_does(line, netlist, folder / name)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert (folder / f"{name}.checklist.txt").stat().st_size
    assert not list(tmp_path.rglob("harm"))


@pytest.mark.skipif(os.name == "nt", reason="other quotes on Windows")
def test_an_apostrophe_in_a_name_is_one_line_and_no_command(ohmtrail, tmp_path):
    """What the shell makes of the quotes: POSIX shell command language, 2.2.2."""
    folder = tmp_path / "Ann's"
    folder.mkdir()
    netlist = folder / "a.xml"
    netlist.write_text(_NETLIST, encoding="utf-8")
    line = ohmtrail("viewer-command").out.strip()
    ran = run_as_the_editor_does(line, netlist, folder / "a")
    assert ran.returncode == 1
    assert len(ran.stderr.splitlines()) == 1
    assert "found an apostrophe in the name of the file or of its folder" in ran.stderr


def test_the_line_fails_in_one_line(ohmtrail, tmp_path):
    bad = tmp_path / "bad.xml"
    bad.write_text("<export><comp", encoding="utf-8")
    line = ohmtrail("viewer-command").out.strip()
    ran = run_as_the_editor_does(line, bad, tmp_path / "o")
    assert ran.returncode == 1
    assert len(ran.stderr.splitlines()) == 1
    assert not (tmp_path / "o.checklist.txt").exists()


def test_the_command_of_a_small_board_through_a_real_process():
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "ohmtrail",
            "summary",
            str(named_board_path("one_buck")),
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stderr == ""
    assert "parts" in ran.stdout


def test_a_meaning_is_written_out_once_and_pointed_to_in_later_sections(ohmtrail):
    text = ohmtrail("checklist", "@load_switch").out
    words = "is it held down at all?"
    assert text.count(words) == 1
    first = text.index(words)
    assert "as at step" not in text[:first]
    assert "as at step 2" in text[first:]
    # Under power nothing is left to look up.
    assert text.count("Feed the board at its own input") == text.count("LIMITED POWER")
    one = ohmtrail("checklist", "@load_switch", "--rail", "+5V_FAN").out
    assert "as at step" not in one
