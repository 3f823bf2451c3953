"""Is a reading a short?  Limits are common practice; the cases name their source."""

import math

import pytest
from _small_boards import board

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.verdict import judge

BOARD = """
J1 - Connector:Conn_01x04 1:=+12V 2:=GND 3:=+1V0 4:=MYSTERY
U1 CPU - VDD=+1V0 VSS=GND
C1 10u Device:C 1:=+12V 2:=GND
C2 10u Device:C 1:=MYSTERY 2:=GND
C3 10u Device:C 1:=+1V0 2:=GND
"""


def verdict(net, ohms, **stated):
    return judge(recognise(board(BOARD), stated), net, ohms)


@pytest.mark.parametrize(
    ("net", "ohms", "expected"),
    [
        # "A processor core rail at 0.6 ohms is not a short by itself; a 12 V rail
        # at 3 ohms is" (common practice).
        ("+1V0", 0.6, "cannot tell"),
        ("+12V", 3.0, "short"),
        # 1.2 ohms seen on a new board's 1.2 V rail (users of large logic chips).
        ("+1V0", 1.2, "cannot tell"),
        # 10 to 15 ohms is usual of a large logic chip's 1.0 V rail (same).
        ("+1V0", 12.0, "normal"),
        ("+12V", 20e3, "normal"),
        ("+12V", math.inf, "normal"),
        ("+12V", 0.0, "short"),
        # In between nobody can tell without another reading.
        ("+12V", 200.0, "cannot tell"),
    ],
)
def test_a_reading(net, ohms, expected):
    found = verdict(net, ohms)
    assert found.verdict == expected
    assert found.because
    # A doubt always comes with the reading that decides.
    assert (found.measure is None) == (expected != "cannot tell")


def test_without_a_voltage_there_is_no_verdict_on_a_low_reading():
    assert verdict("MYSTERY", 0.5).verdict == "cannot tell"
    assert "--nominal" in verdict("MYSTERY", 0.5).because[0]
    assert verdict("MYSTERY", 0.5, MYSTERY=12.0).verdict == "short"


def test_a_lower_reading_is_never_more_normal():
    order = {"short": 0, "cannot tell": 1, "normal": 2}
    for net in ("+1V0", "+12V", "MYSTERY"):
        ranks = [order[verdict(net, 10 ** (k / 4)).verdict] for k in range(-12, 24)]
        assert ranks == sorted(ranks)


def test_the_deciding_reading_fits_the_bench():
    circuit = recognise(board(BOARD), {})
    assert judge(circuit, "+1V0", 0.6, have=("resistance", "diode")).measure.mode == (
        "diode"
    )
    assert judge(circuit, "+1V0", 0.6).measure.mode == "four-wire"


def test_a_switch_node_is_judged_by_the_rail_beyond_its_coil():
    circuit = recognise(load(named_board_path("three_phase")), {})
    # 10 ohms at 1 V: what a core rail honestly reads (common practice).
    assert judge(circuit, "SW1", 12.0).verdict == "normal"
    assert judge(circuit, "SW1", 0.6).verdict == "cannot tell"
    assert judge(circuit, "SW1", 0.0).verdict == "short"


@pytest.mark.parametrize("have", [("resistance",), ("resistance", "diode")])
def test_the_reading_that_decides_needs_no_meter_that_is_not_there(have):
    circuit = recognise(load(named_board_path("three_phase")), {})
    measure = judge(circuit, "VCORE_1V0", 0.6, None, have).measure
    assert measure is not None
    assert measure.mode in have


@pytest.mark.parametrize("ohms", [-0.01, -0.02, -0.1])
def test_a_dead_short_may_read_under_zero_with_the_leads_nulled(ohms):
    # Nulled leads: contact differs from one reading to the next (common practice).
    assert verdict("+12V", ohms).verdict == "short"
