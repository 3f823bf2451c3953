"""Job sets: KiCad 9's own job runner is the judge of the file and of its quoting."""

import json
import shutil
import stat
import subprocess
import sys

import pytest
from _oracles import catalogue, program

from ohmtrail.cli.job_set import Job, job_set, word
from ohmtrail.fixtures import DEMO_ROOT, write_demo

SHIPPED = "bench.kicad_jobset"
#: The least that KiCad takes for a project file.
PROJECT = '{"meta": {"version": 1}}'
HOSTILE = [
    "net 5",
    "$HOME",
    "${KIPRJMOD}x",
    "$(HOME)",
    "a$HOME",
    "@{1+1}",
    'an "A" and its $H',
    "back\\slash\\",
    "it's",
    "~{RESET}",
    "%PATH%",
    "/Sheet 1/V{slash}IN",
    "",
    "-12V",
    "größer",
]


def _run(kicad, jobs, project, **more):
    return subprocess.run(
        [kicad, "jobset", "run", "--stop-on-error", "--file", jobs, project],
        capture_output=True,
        text=True,
        check=False,
        **more,
    )


@pytest.fixture
def ohmtrail_on_path(tmp_path, monkeypatch):
    """The command by its name, whatever this test run was started with."""
    folder = tmp_path / "bin"
    folder.mkdir()
    start = folder / "ohmtrail"
    start.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m ohmtrail "$@"\n')
    start.chmod(start.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", str(folder), prepend=":")
    monkeypatch.setenv("OHMTRAIL_CACHE", "off")


def test_the_runner_hands_over_every_word_as_it_was(tmp_path):
    """Expected value: what KiCad 9's runner passes to the program."""
    kicad = program("kicad-cli")
    show = tmp_path / "show.py"
    show.write_text(
        "import json, sys\n"
        "json.dump(sys.argv[2:], open(sys.argv[1], 'w', encoding='utf-8'))\n",
        encoding="utf-8",
    )
    seen = tmp_path / "seen.json"
    words = (sys.executable, str(show), str(seen), *HOSTILE)
    jobs = tmp_path / "words.kicad_jobset"
    jobs.write_text(job_set([Job("words", tuple(map(word, words)))]), encoding="utf-8")
    project = tmp_path / "a.kicad_pro"
    project.write_text(PROJECT, encoding="utf-8")
    ran = _run(kicad, jobs, project)
    assert ran.returncode == 0, ran.stdout
    assert json.loads(seen.read_text(encoding="utf-8")) == HOSTILE


@pytest.mark.parametrize("text", ["two\nlines", "a\tb", "\x07"])
def test_control_characters_are_refused(text):
    with pytest.raises(ValueError, match="control character"):
        word(text)


def test_the_shipped_set_is_what_the_command_writes(ohmtrail, tmp_path, monkeypatch):
    root = write_demo(tmp_path)[0]
    shipped = (tmp_path / SHIPPED).read_text(encoding="utf-8")
    given = ["--rail", "VMAIN", "--log", tmp_path / "bench_log.csv"]
    ran = ohmtrail("job-set", root, *given)
    assert (ran.status, ran.err) == (0, "")
    assert ran.out == shipped
    assert str(tmp_path) not in shipped
    monkeypatch.chdir(tmp_path)
    ohmtrail("job-set", DEMO_ROOT, *given, "--out", "again.kicad_jobset")
    assert (tmp_path / "again.kicad_jobset").read_text(encoding="utf-8") == shipped


def test_the_demos_set_runs_headless(ohmtrail_on_path, tmp_path):
    kicad = program("kicad-cli")
    folder = tmp_path / "the demo's folder"
    write_demo(folder)
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    ran = _run(kicad, SHIPPED, "./sk4.kicad_pro", cwd=folder)
    assert ran.returncode == 0, ran.stdout
    assert "5 jobs succeeded, 0 job failed" in ran.stdout
    made = folder / "bench"
    assert {path.name for path in made.iterdir()} == {
        "checklist.html",
        "checklist.pdf",
        "marked",
        "marked-sheets.pdf",
        "report.html",
    }
    _look_at(made, "VMAIN", DEMO_ROOT)
    assert "Q502" in (made / "report.html").read_text(encoding="utf-8")
    for path, data in before.items():
        assert path.read_bytes() == data, path


def _look_at(made, rail, root):
    assert rail in (made / "checklist.html").read_text(encoding="utf-8")
    for name in ("checklist.pdf", "marked-sheets.pdf"):
        assert (made / name).read_bytes().startswith(b"%PDF-"), name
    marked = (made / "marked" / root).read_text(encoding="utf-8")
    assert "Marks by ohmtrail" in marked
    assert str(made.parent) not in marked


def test_a_real_projects_set_runs_headless(ohmtrail, ohmtrail_on_path, tmp_path):
    kicad = program("kicad-cli")
    (design,) = (one for one in catalogue() if one.name == "mjpower-ss")
    folder = tmp_path / "project"
    shutil.copytree(design.root.parent, folder)
    for path in (folder, *folder.rglob("*")):  # a corpus may be read-only
        path.chmod(path.stat().st_mode | stat.S_IWUSR)
    root = folder / design.root.name
    project = root.with_suffix(".kicad_pro")
    if not project.exists():  # the corpus leaves these out
        project.write_text(PROJECT, encoding="utf-8")
    jobs = tmp_path / "elsewhere.kicad_jobset"
    rail = "/VSWITCHED"
    ran = ohmtrail("job-set", root, "--rail", rail, "--out", jobs)
    assert (ran.status, ran.err) == (0, "")
    done = _run(kicad, jobs, project)
    assert done.returncode == 0, done.stdout
    made = folder / "bench"
    assert "4 jobs succeeded, 0 job failed" in done.stdout
    _look_at(made, rail, root.name)


def test_what_is_not_there_is_named(ohmtrail, tmp_path):
    root = write_demo(tmp_path)[0]
    ran = ohmtrail("job-set", root, "--rail", "VMAN")
    assert (ran.status, ran.out) == (1, "")
    assert "VMAIN" in ran.err
    ran = ohmtrail("job-set", root, "--rail", "VMAIN", "--log", tmp_path / "no.csv")
    assert ran.status == 1
    assert ran.err.count("\n") == 1
    assert "no.csv" in ran.err
    assert "(--log)" in ran.err
    ran = ohmtrail("job-set", "@one_buck", "--rail", "VBUS")
    assert ran.status == 1
    assert "expected the root sheet of a KiCad project" in ran.err


def test_a_layout_of_another_board_is_left_out(ohmtrail, tmp_path):
    root = write_demo(tmp_path)[0]
    layout = root.with_suffix(".kicad_pcb")
    layout.write_text("(kicad_pcb (version 20240108))\n", encoding="utf-8")
    ran = ohmtrail("job-set", root, "--rail", "VMAIN")
    assert ran.status == 0
    assert "left out" in ran.err
    assert "--with" not in ran.out
    layout.unlink()
    ran = ohmtrail("job-set", root, "--rail", "VMAIN")
    assert (ran.status, ran.err) == (0, "")
    assert "--with" not in ran.out
