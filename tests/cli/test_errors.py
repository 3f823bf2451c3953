"""A failure is one line on stderr, nothing on stdout, and the right status."""

import os
import signal
import subprocess
import sys

import pytest

from ohmtrail.fixtures import named_board_path

LOG = "when,action,part,mode,plus,minus,value,note\n"

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
    (["checklist", "@one_buck", "--format", "html", "--format", "pdf"], "exclude"),
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


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs POSIX pipes")
@pytest.mark.parametrize(
    "words",
    [
        ("short", "@one_buck", "VBUS", "--meter"),
        ("expect", "@one_buck", "VBUS", "GND", "--mode", "resistance", "--good"),
        ("rank", "@one_buck", "--log"),
        ("next", "@one_buck", "--log"),
        ("weigh", "@one_buck", "--claim", "U1", "--log"),
        ("weigh", "@one_buck", "--log", "@log", "--claims"),
    ],
    ids=lambda words: f"{words[0]} {words[-1]}",
)
@pytest.mark.parametrize("kind", ["pipe", "device", "folder", "null"])
def test_a_file_that_might_never_end_is_not_waited_for(ohmtrail, tmp_path, words, kind):
    """As boards: a pipe that nobody writes to, a device, a folder, no name at all."""
    log = tmp_path / "log.csv"
    log.write_text(LOG)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    name, found = {
        "pipe": (str(pipe), "found a pipe or a device, expected a file"),
        "device": ("/dev/zero", "found a pipe or a device, expected a file"),
        "folder": (str(tmp_path), "found a directory, expected a file"),
        "null": ("a\0b", "no such file"),
    }[kind]
    ran = ohmtrail(*[log if word == "@log" else word for word in words], name)
    assert (ran.status, ran.out) == (1, "")
    last = ran.err.splitlines()[-1]
    assert found in last
    assert len(ran.err.splitlines()) == 1


def test_a_meter_of_a_gigabyte_is_not_read(ohmtrail, tmp_path):
    path = tmp_path / "meter.toml"
    with path.open("wb") as file:
        file.truncate(2**30)
    ran = ohmtrail("short", "@one_buck", "VBUS", "--meter", path)
    assert (ran.status, ran.out, ran.err.count("\n")) == (1, "", 1)
    assert "found more than 1048576 bytes" in ran.err


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX signals")
def test_ctrl_c_is_quiet(tmp_path):
    board = tmp_path / "a.csv"
    board.write_text("ref,pin,net\nR1,1,A\n")
    slow = (
        "import signal, sys, time\n"
        # a shell that runs this in the background has it ignored
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "import ohmtrail.importers._registry as registry\n"
        "from ohmtrail.cli import main\n"
        "def load(*_):\n"
        "    print('reading', flush=True)\n"
        "    time.sleep(60)\n"
        "registry.load = load\n"
        "sys.exit(main(sys.argv[1:]))\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", slow, "nets", str(board)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "OHMTRAIL_CACHE": "off"},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"reading\n"
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
