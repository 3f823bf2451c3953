"""A failure is one line on stderr, nothing on stdout, and the right status."""

import os
import signal
import subprocess
import sys
import time

import pytest

from ohmtrail.fixtures import named_board_path

BAD_INPUT = [
    (["summary", "no-such-file.kicad_sch"], "no such file"),
    (["net", "@one_buck", "VBSU"], "nearest: VBUS"),
    (["net", "@one_buck", "zzz9"], "nearest: "),
    (["part", "@three_phase", "Q1O1"], "nearest: Q1"),
    (["short", "@one_buck", "GND"], "GND is ground"),
    (["short", "@one_buck", "VBUS", "--to", "nowhere"], "no net 'nowhere'"),
    (["checklist", "@one_buck", "--rail", "vbuss"], "nearest: VBUS"),
    (["checklist", "@one_buck", "--rail", "GND"], "GND is ground"),
    (["checklist", "@one_buck", "--part", "Q99"], "no part 'Q99'"),
    (["checklist", "@one_buck", "--stage", "flyback"], "no stage 'flyback'"),
    (["stages", "@one_buck", "--rail", "xyzzy"], "no net 'xyzzy'"),
    (["rails", "@one_buck", "--nominal", "VBSU=12"], "nearest: VBUS"),
    (["nets", "@one_buck", "--nominal", "VBSU=12"], "nearest: VBUS"),
    (["rails", "@one_buck", "--good", "no-such.csv"], "no-such.csv"),
    (["rails", "@one_buck", "--with", "no-such.csv"], "no-such.csv"),
    (["checklist", "@one_buck", "--out", "/no/such/folder/x.txt"], "--out"),
]

WRONG_USAGE = [
    (["chekclist", "@one_buck"], "did you mean checklist"),
    (["summary"], "missing argument 'board'"),
    (["summary", "@one_buck", "--jsno"], "--json"),
    (["summary", "@one_buck", "--format", "kicad"], "no format 'kicad'"),
    (["rails", "@one_buck", "--nominal", "VBUS"], "expected NET=VOLTS"),
    (["rails", "@one_buck", "--nominal", "VBUS=lots"], "expected NET=VOLTS"),
    (["rails", "@one_buck", "--have", "resistance,nose"], "found 'nose'"),
    (["short", "@one_buck", "VBUS", "--ohms", "few"], "expected ohms"),
    (["checklist", "@one_buck", "--format", "html"], "text, md, csv, json"),
    (["checklist", "@one_buck", "--format", "md", "--format", "csv"], "exclude"),
    (["checklist", "@one_buck", "--rail", "SW", "--part", "Q1"], "one of"),
    (["table", "--stage", "perpetuum mobile"], "no stage kind"),
    (["table", "--stage", "buck", "--phases", "0"], "phases"),
]


def check(ran, status, words):
    assert ran.status == status
    assert ran.out == ""
    assert len(ran.err.splitlines()) == 1
    assert ran.err.startswith("ohmtrail: ")
    assert words.casefold() in ran.err.casefold()


@pytest.mark.parametrize(("command", "words"), BAD_INPUT)
def test_bad_input_is_status_1(ohmtrail, command, words):
    check(ohmtrail(*command), 1, words)


@pytest.mark.parametrize(("command", "words"), WRONG_USAGE)
def test_wrong_usage_is_status_2(ohmtrail, command, words):
    check(ohmtrail(*command), 2, words)


def test_with_json_a_failure_leaves_stdout_empty(ohmtrail):
    check(ohmtrail("net", "@one_buck", "nope", "--json"), 1, "no net 'nope'")


def test_the_demo_is_not_written_over(ohmtrail, tmp_path):
    assert ohmtrail("demo", tmp_path / "d").status == 0
    assert ohmtrail("demo", tmp_path / "d").status == 0
    (tmp_path / "d" / "README.txt").write_text("mine", encoding="utf-8")
    check(ohmtrail("demo", tmp_path / "d"), 1, "exists already")


def test_a_bug_keeps_its_traceback(ohmtrail, monkeypatch):
    import ohmtrail.netanalysis.recognise as recognise

    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr(recognise, "recognise", broken)
    with pytest.raises(ZeroDivisionError):
        ohmtrail("rails", "@one_buck")


def test_a_closed_pipe_is_quiet(tmp_path):
    lines = ["ref,pin,net"]
    lines += [f"R{i},{p},N{(i + p) % 9000}" for i in range(9000) for p in (1, 2)]
    table = tmp_path / "big.csv"
    table.write_text("\n".join(lines) + "\n", encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, "-m", "ohmtrail", "nets", str(table), "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(10)
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait(30) == 0
    assert err == b""


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX signals")
def test_ctrl_c_is_quiet(tmp_path):
    fifo = tmp_path / "never.csv"
    os.mkfifo(fifo)
    process = subprocess.Popen(
        [sys.executable, "-m", "ohmtrail", "nets", str(fifo)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    # It waits for somebody to write into the pipe.
    time.sleep(1)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out, err) == (130, b"", b"")


def test_a_terminal_without_unicode_gets_no_traceback():
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "ohmtrail",
            "checklist",
            str(named_board_path("one_buck")),
        ],
        env={**os.environ, "PYTHONIOENCODING": "ascii", "OHMTRAIL_CACHE": "off"},
        capture_output=True,
        check=True,
    )
    assert ran.stderr == b""
    assert b"Gate resistors" in ran.stdout
