"""What the meter should read, on boards small enough to work out by hand."""

import itertools
import math

import pytest
from _small_boards import board

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.network.board_state import AS_DRAWN
from ohmtrail.netanalysis.network.expect import MODES, expect, expect_many
from ohmtrail.netanalysis.network.expect_ohms import ohms_between
from ohmtrail.netanalysis.network.junction_solve import resistance_shown
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.recognise import recognise


def circuit(text, **stated):
    return recognise(board(text), stated)


LADDER = """
J1 - Connector:Conn_01x02 1:=VIN 2:=GND
R33 10R~1% Device:R 1:=VIN 2:=MID
R34 100R~1% Device:R 1:=VIN 2:=FAR
L3 10uH Device:L 1:=FAR 2:=MID
R1 1k~1% Device:R 1:=MID 2:=GND
"""


def test_a_resistor_with_others_across_it_reads_less():
    found = expect(circuit(LADDER), "resistance", "R33.1", "R33.2")
    # 10 ohm beside 100 ohm and a coil of milliohms: 10 * 100 / 110 = 9.09 (Ohm).
    assert found.typical == pytest.approx(1000 / 110, rel=1e-3)
    assert found.low < 9.0 < 9.2 < found.high
    assert found.because[:2] == ("R33", "R34")
    assert "L3" in found.because
    assert "R1" not in found.because
    assert found.unit == "ohms"
    assert "10R 1%" in found.source


def test_lifting_what_lies_across_leaves_the_marked_value():
    one = circuit(LADDER)
    found = expect(one, "resistance", "R33.1", "R33.2", lifted=["R34"])
    assert found.typical == pytest.approx(10.0)
    assert found.because == ("R33",)
    # Its own lands stay points of their nets: with R33 off the detour remains.
    off = expect(one, "resistance", "R33.1", "R33.2", lifted=["R33"])
    assert off.typical == pytest.approx(100.0, rel=1e-2)
    # All three corners fall in the range without and with a part.
    assert off.low < 100 < off.high


def test_the_range_holds_the_meters_error_too():
    found = expect(circuit("R1 100k~1% Device:R 1:=A 2:=B"), "resistance", "A", "B")
    # 1 % of the part and 1 % of a handheld's reading, two counts of 400 k / 4000.
    assert found.low == pytest.approx(99e3 * 0.99 - 200, rel=1e-6)
    assert found.high == pytest.approx(101e3 * 1.01 + 200, rel=1e-6)


def test_nothing_between_two_nets_reads_open():
    found = expect(
        circuit("C1 1u Device:C 1:=A 2:=B\nR1 1k Device:R 1:=A 2:=C"),
        "resistance",
        "A",
        "B",
    )
    assert (found.typical, found.high) == (math.inf, math.inf)
    assert found.because == ()
    assert "no path" in found.source


def test_a_diode_across_a_resistor_reads_less_one_way_and_says_to_swap():
    one = circuit("R1 47k~1% Device:R 1:=A 2:=B\nD1 SS34 Device:D_Schottky 1:K=B 2:A=A")
    forward = expect(one, "resistance", "A", "B")
    back = expect(one, "resistance", "B", "A")
    assert forward.typical < 1e3 < back.typical
    assert "D1" in forward.because
    assert any("wakes" in note for note in forward.notes)
    assert any("swap" in note for note in forward.notes)
    assert forward.swap


def test_silicon_sleeps_beside_a_small_resistor():
    one = circuit("R1 100R~1% Device:R 1:=A 2:=B\nD1 1N4148 Device:D 1:K=B 2:A=A")
    found = expect(one, "resistance", "A", "B")
    assert found.typical == pytest.approx(100.0, rel=1e-3)
    assert found.notes == ()
    assert found.swap == ""


@pytest.mark.parametrize(("count", "shift"), [(1, 0.0), (2, 0.019), (4, 0.038)])
def test_body_diodes_in_parallel_read_lower(count, shift):
    lines = "\n".join(
        f"Q{k} - Device:Q_NMOS_GDS 1:G=G 2:D=D 3:S=S" for k in range(1, count + 1)
    )
    found = expect(circuit(lines), "diode", "S", "D")
    # Common practice: some 0.42 V, and n Vt ln N less for N of them (Shockley).
    assert found.typical == pytest.approx(0.42 - shift, abs=2e-3)
    assert found.low < 0.36
    assert found.high <= 0.72
    assert set(found.because) == {f"Q{k}" for k in range(1, count + 1)}
    assert expect(circuit(lines), "diode", "D", "S").typical == math.inf


def test_a_milliamp_through_a_resistor_hides_the_diode():
    one = circuit("R1 10R Device:R 1:=A 2:=B\nD1 1N4148 Device:D 1:K=B 2:A=A")
    found = expect(one, "diode", "A", "B")
    assert found.typical == pytest.approx(0.010, abs=1e-5)
    assert found.because[0] == "R1"


def test_a_powered_rail_reads_its_nominal_voltage():
    one = circuit(
        "J1 - Connector:Conn_01x02 1:=+12V 2:=GND\n"
        "U1 - MCU:X 1:VDD=ODD 2:GND=GND 3:PA0=S\n"
        "U2 - Driver:Y 1:VCC=+12V 2:GND=GND 3:IN=T"
    )
    found = expect(one, "voltage", "+12V", "GND")
    assert (found.low, found.typical, found.high) == pytest.approx((11.4, 12.0, 12.6))
    assert found.unit == "volts"
    lost = expect(one, "voltage", "ODD", "GND")
    assert (lost.low, lost.typical, lost.high) == (None, None, None)
    assert "--nominal" in lost.source


def test_a_drop_is_not_told_without_a_current():
    found = expect(circuit(LADDER), "drop", "VIN", "MID")
    assert found.typical is None
    assert "current" in found.source


def test_a_rail_never_reads_below_its_class_on_a_healthy_board():
    # A core may read an ohm or less, a 12 V rail may not (CP).
    text = """
    J1 - Connector:Conn_01x03 1:=+12V 2:=GND 3:=+0V9
    U1 - MCU:X 1:VDD=+0V9 2:GND=GND 3:PA0=S
    U2 - Driver:Y 1:VCC=+12V 2:GND=GND 3:IN=T
    """
    core = expect(circuit(text), "resistance", "+0V9", "GND")
    assert core.low <= 0.6
    assert core.assumed
    # Tens of ohms at most, as a rule (CP): a rail of many chips is no open circuit.
    assert 30 < core.high < 100
    assert expect(circuit(text), "resistance", "+12V", "GND").low > 300


def test_one_net_reads_nothing():
    found = expect(circuit(LADDER), "four-wire", "R33.1", "R34.1")
    assert found.typical == 0.0
    assert found.high < 0.01


def test_what_is_asked_of_no_board():
    one = circuit(LADDER)
    with pytest.raises(NotOnBoardError, match="R99"):
        expect(one, "resistance", "R99.1", "GND")
    with pytest.raises(NotOnBoardError, match="R99"):
        expect(one, "resistance", "VIN", "GND", lifted=["R99"])
    with pytest.raises(ValueError, match="resistance, diode"):
        expect(one, "smell", "VIN", "GND")


def test_many_at_once_are_what_they_are_one_by_one():
    one = recognise(load(named_board_path("three_phase")), {})
    nets = [net.name for net in one.board.nets][:9]
    wanted = [(mode, a, b) for mode in MODES for a, b in itertools.pairwise(nets)]
    solved = SolvedBoard(one)
    together = expect_many(solved, wanted)
    for asked, found in zip(wanted, together, strict=True):
        alone = expect(SolvedBoard(one), *asked, swap=False)
        assert alone.because == found.because
        for which in ("low", "typical", "high"):
            a, b = getattr(alone, which), getattr(found, which)
            assert a == b or a == pytest.approx(b, rel=1e-9)


def test_low_is_never_above_typical_nor_that_above_high():
    one = recognise(load(named_board_path("three_phase")), {})
    nets = [net.name for net in one.board.nets]
    wanted = [(mode, a, b) for mode in MODES[:3] for a in nets[:6] for b in nets[6:]]
    for found in expect_many(SolvedBoard(one), wanted):
        assert found.low <= found.typical * 1.001
        assert found.typical <= found.high * 1.001


def test_a_lifted_board_is_kept_for_the_next_question():
    solved = SolvedBoard(circuit(LADDER))
    assert solved.lifted(["R34"]) is solved.lifted(["R34"])
    assert solved.lifted([]) is solved
    assert solved.lifted(["R34"]).state == AS_DRAWN.lift(["R34"])


@pytest.mark.parametrize("mode", ["resistance", "four-wire"])
def test_sleeping_junctions_are_rightly_left_out(mode):
    """The short cut against the full solution in every range of the meter."""
    one = recognise(load(named_board_path("three_phase")), {})
    solved = SolvedBoard(one)
    nets = [net.name for net in one.board.nets]
    pairs = [(a, b) for a in nets[:5] for b in nets[5:15]]
    for pair, found in zip(pairs, ohms_between(solved, mode, pairs), strict=True):
        full = resistance_shown(
            solved.ohm_junctions("typical"), *pair, solved.meter, mode=mode
        )
        # Within the meter's own accuracy, which the range allows for.
        assert found.typical == full.ohms or found.typical == pytest.approx(
            full.ohms, rel=0.01
        )
