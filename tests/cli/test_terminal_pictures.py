"""Pictures of letters, and the bar that is silent where nobody watches."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from ohmtrail.cli.render.strips import bar, strip_lines, verdict_words
from ohmtrail.fixtures import write_demo
from ohmtrail.netanalysis.diagnosis.epochs import timeline
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.diagnosis.sister_readings import sister_readings

HEAD = "action,part,mode,plus,minus,value\n"


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pictures")
    write_demo(folder)
    return folder


@pytest.fixture(scope="module")
def circuit(demo):
    from ohmtrail.importers._registry import load
    from ohmtrail.netanalysis.recognise import recognise

    return recognise(load(demo / "sk4.kicad_sch"), {})


def sisters(circuit, *rows):
    log = read_log(HEAD + "".join(f"{row}\n" for row in rows), circuit.board)
    return sister_readings(circuit, timeline(log.events))


def gates(a, b, c, mode="resistance"):
    """Gate to source of the first high side of each phase."""
    return [
        f"measure,,{mode},{ref}.4,{ref}.1,{value}"
        for ref, value in (("Q401", a), ("Q501", b), ("Q601", c))
    ]


def test_one_of_three_is_odd(circuit):
    [one] = sisters(circuit, *gates("4k98", "11.8", "4k97"))
    assert [letter for letter, _, _ in one.readings] == ["A", "B", "C"]
    assert verdict_words(one) == "B apart from the others"
    where, picture, numbers = strip_lines(one)
    assert "lines 2 3 4" in where
    strip = picture.split("|")[1]
    # Ohms on a logarithmic scale: the low one left, the others at the right end.
    assert strip[0] == "B"
    assert {strip.index("A"), strip.index("C")} <= {len(strip) - 1, len(strip) - 2}
    assert "B 11.8 Ω" in numbers


def test_two_that_differ_do_not_tell_which_is_odd(circuit):
    [one] = sisters(circuit, *gates("4k98", "11.8", "n/a"))
    assert one.apart == ()
    assert "cannot be told" in verdict_words(one)


def test_alike(circuit):
    [one] = sisters(circuit, *gates("4k98", "5k0", "4k97"))
    assert verdict_words(one) == "alike"


def test_open_stands_at_the_right_end(circuit):
    [one] = sisters(circuit, *gates("0.42", "OL", "0.43", "diode"))
    _, picture, numbers = strip_lines(one)
    assert picture.split("|")[1].rstrip().endswith("B")
    assert "B OL" in numbers
    assert one.apart == ("B",)


def test_readings_of_two_states_of_the_board_are_not_compared(circuit):
    first, second, third = gates("4k98", "11.8", "4k97")
    assert sisters(circuit, first, "lift,L901,,,,", second) == ()
    [one] = sisters(circuit, first, third, "lift,L901,,,,", second)
    assert [letter for letter, _, _ in one.readings] == ["A", "C"]


def test_a_rail_that_all_share_is_no_sister(circuit):
    rows = ["measure,,resistance,VMAIN,GND,0.9", "measure,,resistance,+5V,GND,0.9"]
    assert sisters(circuit, *rows) == ()


def test_rank_shows_bars_and_strips_within_80_columns(ohmtrail, demo):
    log = demo / "bench_log.csv"
    ran = ohmtrail("rank", demo / "sk4.kicad_sch", "--log", log)
    assert f"{bar(1.0)}  Q501" in ran.out
    assert "B apart from the others" in ran.out
    assert [line for line in ran.out.splitlines() if len(line) > 80] == []


def test_nothing_is_drawn_where_nobody_watches(ohmtrail, demo):
    log = demo / "bench_log.csv"
    ran = ohmtrail("next", demo / "sk4.kicad_sch", "--log", log, "--json")
    assert ran.err == ""


_SLOW = """
import sys
import time
from ohmtrail.cli import _progress
_progress._AFTER_SECONDS, _progress._EVERY_SECONDS = 0.01, 0.05

class Slow:
    # A busy machine: the bar is due again before the warning is written.
    def __init__(self, stream):
        self.stream = stream
    def write(self, text):
        if text.startswith("ohmtrail"):
            time.sleep(0.4)
        return self.stream.write(text)
    def __getattr__(self, name):
        return getattr(self.stream, name)

sys.stderr = Slow(sys.stderr)
with _progress.progress(2) as begin:
    begin("reading")
    begin("weighing")
    time.sleep(0.5)
    from ohmtrail.cli._errors import warn
    warn("odd")
print("done")
"""


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo terminals here")
def test_a_terminal_sees_a_bar_that_leaves_nothing_behind():
    ours, theirs = os.openpty()
    root = Path(__file__).parents[2]
    with subprocess.Popen(
        [sys.executable, "-c", _SLOW],
        cwd=root,
        stderr=theirs,
        stdout=subprocess.DEVNULL,
        env={**os.environ, "TERM": "xterm"},
    ) as process:
        assert process.wait(60) == 0
    os.close(theirs)
    seen = os.read(ours, 65536).decode()
    os.close(ours)
    assert "[########........] weighing, " in seen
    # The warning stands on a line of its own, and the line of the bar is wiped.
    assert "\r\x1b[2Kohmtrail: warning: odd\r\n" in seen
    last = seen.rsplit("\n", 1)[1]
    assert last == "" or last.endswith("\r\x1b[2K")
