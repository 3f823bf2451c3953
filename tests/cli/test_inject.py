"""``inject`` on the command line: the JSON of the contract, and what a person reads."""

import pytest

from ohmtrail.fixtures import write_demo

KEYS = "net volts_max amps_start set_by rails_reached unknown cautions warnings".split()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return write_demo(tmp_path_factory.mktemp("demo"))[0]


def test_the_json_of_a_limit(ohmtrail, demo):
    answer = ohmtrail("inject", demo, "VMAIN", "--json").json
    assert set(KEYS) <= set(answer)
    assert answer["net"] == "VMAIN"
    assert answer["volts_max"] == 1.0
    assert answer["set_by"]["net"] == "VCORE_1V0"
    assert answer["set_by"]["via"]
    assert answer["unknown"] == []
    assert {"VMAIN", "VCORE_1V0", "+5V"} <= set(answer["rails_reached"])
    assert all(type(text) is str for text in answer["cautions"])


def test_the_json_of_no_limit(ohmtrail):
    answer = ohmtrail("inject", "@three_phase", "VMAIN", "--json").json
    assert (answer["volts_max"], answer["set_by"]) == (None, None)
    assert answer["unknown"] == ["VMAIN"]
    assert answer["amps_start"] > 0


def test_the_power_at_a_reading(ohmtrail, demo):
    heat = ohmtrail("inject", demo, "VMAIN", "--ohms", "0.3", "--json").json["heat"]
    # 0.5 A through 0.3 ohms; 1 V over 0.3 ohms.
    assert heat["watts"] == pytest.approx(0.075)
    assert heat["watts_max"] == pytest.approx(1 / 0.3)


def test_what_is_lifted_leads_nowhere(ohmtrail, demo):
    """Behind its bead the fan's supply is on its own: 5 V is all that counts."""
    words = ("inject", demo, "+5V_FAN", "--json")
    before, after = ohmtrail(*words).json, ohmtrail(*words, "--lifted", "FB801").json
    assert before["volts_max"] == 1.0
    assert before["set_by"]["via"][0] == "FB801"
    assert after["volts_max"] == 5.0
    assert any("while FB801" in text for text in after["cautions"])


def test_a_statement_above_the_name_is_warned_of(ohmtrail, demo):
    ran = ohmtrail("inject", demo, "+3V3", "--nominal", "+3V3=12")
    assert ran.status == 0
    assert "warning" in ran.err
    assert "3.3 V" in ran.err


def test_a_person_reads_limit_way_and_cautions(ohmtrail, demo):
    out = " ".join(ohmtrail("inject", demo, "VMAIN").out.split())
    for words in ("never above 1 V", "start at 0.5 A", "Eye protection", "lowest at"):
        assert words in out


@pytest.mark.parametrize(
    ("arguments", "status", "line"),
    [
        (("GND",), 1, "ohmtrail: GND is ground; give the net that reads short\n"),
        (("VMIAN",), 1, "VMAIN"),
        (("VMAIN", "--ohms", "low"), 2, "expected ohms"),
        (("VMAIN", "--lifted", "L9999"), 1, "L9999"),
    ],
)
def test_bad_input_is_one_line(ohmtrail, demo, arguments, status, line):
    ran = ohmtrail("inject", demo, *arguments)
    assert ran.status == status
    assert line in ran.err
    assert ran.err.count("\n") == 1
    assert ran.out == ""
