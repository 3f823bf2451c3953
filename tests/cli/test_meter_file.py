"""``--meter FILE``: what is read, and the one line for what cannot be."""

import re
from pathlib import Path

import pytest

from ohmtrail.cli._load import Request
from ohmtrail.cli._meter import read_meter
from ohmtrail.netanalysis.network.meter import DEFAULT_METER

PAGE = Path(__file__).parents[2] / "docs" / "meter.md"


@pytest.fixture
def file(tmp_path):
    def write(text):
        path = tmp_path / "mine.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def test_the_page_shows_the_common_handheld(file):
    page = PAGE.read_text(encoding="utf-8")
    shown = read_meter(file(re.search(r"```toml\n(.*?)```", page, re.DOTALL)[1]))
    assert shown.name == "bench meter"
    assert shown.lead_ohms == DEFAULT_METER.lead_ohms
    assert shown.diode == DEFAULT_METER.diode
    assert shown.resistance == DEFAULT_METER.resistance
    assert shown.four_wire == DEFAULT_METER.four_wire


def test_what_is_left_out_is_the_handhelds(file):
    meter = read_meter(file("[diode]\ntest_amps = 0.5e-3\nopen_volts = 1.5\n"))
    assert meter.name == "mine"
    assert meter.diode.test_amps == 0.5e-3
    assert meter.diode.full_scale_volts == 1.5
    assert meter.resistance == DEFAULT_METER.resistance
    assert Request(Path("x")).meter is DEFAULT_METER


RANGE = "[[resistance]]\nfull_scale_ohms = 400\ntest_amps = 1e-3\nopen_volts = 0.5\n"


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("lead_ohms = 0.2.1\n", 1, "found no TOML"),
        ("name = 'a'\nlead_ohms = [\n", 3, "found no TOML"),
        (b"name = 'a'\n\xff\n", 2, "not UTF-8"),
        ("name = 'a'\nlead_ohm = 1\n", 2, "did you mean lead_ohms"),
        ("lead_ohms = -0.1\n", 1, "found lead_ohms -0.1, expected 0 or more"),
        ("lead_ohms = inf\n", 1, "expected 0 or more"),
        ("lead_ohms = '0.2'\n", 1, "expected a number"),
        (f"lead_ohms = 1{'0' * 400}\n", 1, "expected 0 or more"),
        ("name = 3\n", 1, "expected a text in quotes"),
        ("diode = 3\n", 1, "expected [diode]"),
        ("resistance = 3\n", 1, "expected [[resistance]]"),
        ("resistance = []\n", 1, "found no resistance range"),
        ("[diode]\ntest_amps = 1e-3\n", 1, "found no open_volts in [diode]"),
        ("[diode]\ntest_amps = 0\nopen_volts = 3\n", 2, "expected more than 0"),
        (RANGE + RANGE, 1, "expected rising ranges"),
        (RANGE + RANGE.replace("0.5", "0.3"), 8, "expected at least 0.4"),
        (RANGE + "accuracy_percent = true\n", 5, "expected a number"),
        (RANGE + "accuracy_percent = -1\n", 5, "expected 0 or more"),
        (RANGE.replace("resistance", "four_wire"), 1, "expected at most 0.1"),
    ],
)
def test_a_bad_file_is_one_line_that_names_the_place(ohmtrail, file, text, line, words):
    path = file(text)
    ran = ohmtrail("nets", "@one_buck", "--meter", path)
    assert ran.status == 1
    assert ran.out == ""
    assert ran.err.startswith(f"ohmtrail: {path}:{line}: ")
    assert words in ran.err
    assert ran.err.count("\n") == 1


def test_a_number_of_thousands_of_digits_is_no_crash(ohmtrail, file):
    ran = ohmtrail("nets", "@one_buck", "--meter", file(f"lead_ohms = 1{'0' * 5000}"))
    assert ran.status == 1
    assert "found no TOML" in ran.err
    assert ran.err.count("\n") == 1


def test_no_file_and_a_file_that_nothing_uses_yet(ohmtrail, file, tmp_path):
    gone = ohmtrail("nets", "@one_buck", "--meter", tmp_path / "gone.toml")
    assert gone.status == 1
    assert "gone.toml: no such file (--meter)" in gone.err
    ran = ohmtrail("nets", "@one_buck", "--meter", file("lead_ohms = 0.1\n"))
    assert ran.status == 0
    assert "--meter: this answer does not take it into account" in ran.err
