"""``--log FILE`` of ``expect`` and ``checklist``: the board's own log is taken in.

What a meter and its contacts may be off by (a share of 1.1, leads of 0.2 ohm, 0.1 ohm)
and the classes of rails (a core's load 0.3 to 5 ohms and more, a 5 V rail's from 50
ohms) are common practice, without a source.
"""

import json

import pytest

HEADER = "when,action,part,mode,plus,minus,value,note\n"
CORE = ("VCORE_1V0", "GND")


@pytest.fixture
def log(tmp_path):
    def write(*rows):
        path = tmp_path / f"bench{len(list(tmp_path.iterdir()))}.csv"
        path.write_text(HEADER + "\n".join(rows) + "\n", encoding="utf-8")
        return path

    return write


def expected(ohmtrail, *words, mode="resistance"):
    return ohmtrail("expect", "@three_phase", "--mode", mode, "--json", *words).json


def rail_step(ohmtrail, rail, *words):
    options = ("checklist", "@three_phase", "--rail", rail, "--json", *words)
    steps = ohmtrail(*options).json["sections"][0]["steps"]
    return next(step for step in steps if step["row"] == "rail")


def reads(net, text, mode="resistance"):
    return f",measure,,{mode},{net},GND,{text},"


def test_a_core_that_reads_2_ohms_has_no_load_of_a_third_of_an_ohm(ohmtrail, log):
    wide = expected(ohmtrail, *CORE)
    found = expected(ohmtrail, *CORE, "--log", log(reads("VCORE_1V0", "2.6")))
    # Less leads and contact, and the meter's own error (1 %, 0.2 ohm) once more.
    assert found["low"] == pytest.approx((2.6 - 0.2) / 1.1 - 0.1, rel=0.15)
    assert found["low"] > 4 * wide["low"]
    # What is usual, and how high it may read, is the rail's class as before.
    assert (found["typical"], found["high"]) == (wide["typical"], wide["high"])
    assert "line 2" in found["source"]
    assert found["warnings"] == []


@pytest.mark.parametrize("text", ["0.3", "0.02", "OL", "n/a"])
def test_a_shorted_rail_is_no_measure_of_a_healthy_one(ohmtrail, log, text):
    wide = expected(ohmtrail, *CORE)
    found = expected(ohmtrail, *CORE, "--log", log(reads("VCORE_1V0", text)))
    assert found == wide


def test_a_shorted_rail_leaves_the_checklist_as_it_is(ohmtrail, log):
    wide = rail_step(ohmtrail, "+5V")
    short = log(reads("+5V", "0.3"), reads("VCORE_1V0", "0.1"))
    assert rail_step(ohmtrail, "+5V", "--log", short) == wide


def test_the_checklist_takes_the_boards_own_readings(ohmtrail, log):
    wide = rail_step(ohmtrail, "+5V")
    found = rail_step(ohmtrail, "+5V", "--log", log(reads("+5V", "700")))
    assert wide["expect"]["low"] < 60
    assert 500 < found["expect"]["low"] < 700
    assert found["expect"]["high"] == wide["expect"]["high"]
    assert "line 2" in found["source"]


def test_a_part_off_by_the_log_is_off(ohmtrail, log):
    # The processor itself: what is left are leaks.
    gone = log(",lift,U2,,,,,")
    whole = expected(ohmtrail, *CORE)
    found = expected(ohmtrail, *CORE, "--log", gone)
    by_hand = expected(ohmtrail, *CORE, "--lifted", "U2")
    for key in ("low", "typical", "high", "because"):
        assert found[key] == by_hand[key]
    assert found["low"] > whole["low"]
    assert found["notes"][-1] == "U2 off the board by the log"
    back = log(",lift,U2,,,,,", ",fit,U2,,,,new,")
    assert expected(ohmtrail, *CORE, "--log", back) == whole


def test_a_reading_from_before_the_part_came_off_is_another_boards(ohmtrail, log):
    before = log(reads("+5V", "700"), ",lift,L101,,,,,")
    after = log(",lift,L101,,,,,", reads("+5V", "700"))
    ends = ("+5V", "GND")
    assert "line" not in expected(ohmtrail, *ends, "--log", before)["source"]
    assert "line 3" in expected(ohmtrail, *ends, "--log", after)["source"]


def test_power_makes_another_board(ohmtrail, log):
    died = log(reads("+5V", "700"), ",power,,,,,died,")
    assert "line" not in expected(ohmtrail, "+5V", "GND", "--log", died)["source"]


def test_the_checklist_says_what_is_off(ohmtrail, log):
    gone = log(",lift,L101,,,,,")
    ran = ohmtrail("checklist", "@three_phase", "--rail", "VCORE_1V0", "--log", gone)
    assert "not known: the board with L101 on it: off by the log" in ran.out
    assert "L101 is off the board" in ran.out


def test_a_good_boards_log_and_its_own(ohmtrail, log, tmp_path):
    good = tmp_path / "good.csv"
    good.write_text(HEADER + reads("VCORE_1V0", "5.1") + "\n")
    ends = (*CORE, "--good", good)
    alone = expected(ohmtrail, *ends)
    found = expected(ohmtrail, *ends, "--log", log(reads("VCORE_1V0", "5.0")))
    # Boards of one model differ by 1.3, this board from itself by 1.1.
    assert alone["low"] < found["low"] < 5.0
    assert found["high"] == alone["high"]
    assert found["source"].startswith("good board, line 2; ")
    # A leak on this board does not unsettle what the good one reads.
    leaky = log(reads("VCORE_1V0", "1.2"))
    assert expected(ohmtrail, *ends, "--log", leaky) == alone


def test_a_sister_stage_of_this_board(ohmtrail, log):
    # The pull-down of phase 2's gate, read where nothing is wrong.
    ends = ("Q101.4", "Q101.1")
    wide = expected(ohmtrail, *ends)
    sister = log(f",measure,,resistance,Q201.4,Q201.1,{wide['typical']:.0f},")
    found = expected(ohmtrail, *ends, "--log", sister)
    assert found["source"].startswith("sister stages of this board, line 2")
    assert wide["low"] < found["low"] <= wide["typical"]
    punctured = log(",measure,,resistance,Q201.4,Q201.1,11.8,")
    assert expected(ohmtrail, *ends, "--log", punctured) == wide


@pytest.mark.parametrize("command", ["expect", "checklist"])
def test_a_bad_row_and_a_missing_file_are_one_line(ohmtrail, log, command, tmp_path):
    words = ("GND", "+5V", "--mode", "diode") if command == "expect" else ()
    bad = log(reads("+5V", "700"), reads("VNOWHERE", "2"))
    ran = ohmtrail(command, "@three_phase", *words, "--log", bad)
    assert (ran.status, ran.out) == (1, "")
    assert ran.err.startswith(f"ohmtrail: {bad}:3: found no net 'VNOWHERE'")
    assert len(ran.err.splitlines()) == 1
    ran = ohmtrail(command, "@three_phase", *words, "--log", tmp_path / "none.csv")
    assert (ran.status, ran.out) == (1, "")
    assert len(ran.err.splitlines()) == 1


def test_what_reads_oddly_in_the_log_is_a_warning(ohmtrail, log):
    odd = log(reads("VCORE_1V0", "0.3", "drop"))
    ran = ohmtrail(
        *("expect", "@three_phase", "--mode", "resistance", "+5V", "GND"),
        *("--log", odd, "--json"),
    )
    assert ran.status == 0
    assert len(ran.err.splitlines()) == 1
    (said,) = json.loads(ran.out)["warnings"]
    assert said["what"] == "line 2: a drop is read with no injection in the log"


def test_both_probes_on_one_net_is_a_warning(ohmtrail, log):
    """A slip of the probe, or a question about copper: it tells of no part."""
    odd = log(",measure,,resistance,+5V,+5V,3,")
    ran = ohmtrail("next", "@three_phase", "--log", odd, "--json")
    (said,) = json.loads(ran.out)["warnings"]
    assert said["what"] == "line 2: both probes are on +5V: this tells of no part"


def test_the_meter_file_counts_for_expect(ohmtrail, tmp_path):
    meter = tmp_path / "meter.toml"
    meter.write_text("[diode]\ntest_amps = 0.2e-3\nopen_volts = 3.0\n")
    ends = ("GND", "+5V")
    usual = expected(ohmtrail, *ends, mode="diode")
    ran = ohmtrail(
        *("expect", "@three_phase", "--mode", "diode", *ends, "--json"),
        *("--meter", meter),
    )
    # A fifth of the current: less across the same parts.
    assert ran.json["typical"] < usual["typical"]
    assert ran.json["warnings"] == []
