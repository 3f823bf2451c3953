"""``part`` says what the value text means: SI numbers, units in the keys.

Codes as in tests/netanalysis/test_value_marks.py; the boards are made up.
"""

import pytest

TABLE = """ref,pin,net,value,kind
R1,1,A,10k 1% 1/4W,resistor
R1,2,B,,
R2,1,A,104,resistor
R2,2,B,,
C1,1,A,22u/25V X5R,capacitor
C1,2,B,,
FB1,1,A,600R@100MHz 0.2R DCR 1A,bead
FB1,2,B,,
L1,1,A,,inductor
L1,2,B,,
U1,1,A,LM0815,chip
U1,2,B,,
"""


@pytest.fixture
def told(ohmtrail, tmp_path):
    path = tmp_path / "board.csv"
    path.write_text(TABLE)
    return lambda ref: ohmtrail("part", path, ref, "--json").json


def test_a_resistor(told):
    part = told("R1")
    assert (part["ohms"], part["tolerance"], part["watts_max"]) == (10e3, 0.01, 0.25)
    assert part["marks"] == ["103", "1002", "01C"]
    assert "value_unclear" not in part


def test_a_capacitor(told):
    part = told("C1")
    assert (part["farads"], part["volts_max"]) == (22e-6, 25.0)
    assert part["dielectric"] == "X5R"


def test_a_bead(told):
    part = told("FB1")
    assert (part["impedance_ohms"], part["hertz"]) == (600.0, 100e6)
    assert (part["ohms"], part["amps_max"]) == (0.2, 1.0)


def test_a_doubtful_value_has_no_number(told):
    part = told("R2")
    assert "ohms" not in part
    assert part["value_readings"] == [104.0, 100e3]
    assert "code" in part["value_unclear"]


def test_what_has_no_value(told):
    assert told("L1")["value_unclear"] == "no value"
    assert "value_unclear" not in told("U1")


def test_the_screen_says_what_to_look_for_on_the_chip(ohmtrail, tmp_path):
    path = tmp_path / "board.csv"
    path.write_text(TABLE)
    assert "a chip of this value is marked 103, 1002, 01C" in (
        ohmtrail("part", path, "R1").out
    )
    assert "104 ohm or the code for 100000 ohm" in ohmtrail("part", path, "R2").out
