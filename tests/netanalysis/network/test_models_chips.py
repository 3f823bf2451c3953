"""What a chip without power is to a meter.  Common practice, no source, unless said."""

import math

import pytest
from _small_boards import board

from ohmtrail.netanalysis.network.build import board_scene, build_network, in_hand
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.solve import Solver
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.verdict import rail_class


def network(text, **stated):
    return build_network(recognise(board(text), stated))


def ways(found, *sorts):
    return {
        (j.anode, j.cathode) for j in found.junctions if not sorts or j.sort in sorts
    }


LOGIC = "U1 - MCU:X 1:VDD=+3V3 2:GND=GND 3:PA0=SIG 4:PA1=SIG 5:PA2=OTHER"


def test_signal_pins_are_clamped_to_ground_and_supply():
    found = network(LOGIC)
    assert ways(found, "clamp") == {
        ("GND", "SIG"),
        ("SIG", "+3V3"),
        ("GND", "OTHER"),
        ("OTHER", "+3V3"),
        ("GND", "+3V3"),
    }
    assert all(j.assumed and j.because for j in found.junctions)


def test_a_clamp_to_the_supply_may_be_absent():
    found = network(LOGIC)
    upper = next(j for j in found.junctions if (j.anode, j.cathode) == ("SIG", "+3V3"))
    # Pins that stand more than their supply have none: a 3 V meter finds nothing.
    assert upper.volts_high > 3.0


def test_inputs_leak_little_and_nobody_knows_how_little():
    found = network(LOGIC)
    leaks = {r.a: r for r in found.resistances if r.b == "GND"}
    assert leaks["SIG"].ohms_low >= 10e3
    assert leaks["SIG"].ohms_high == math.inf
    assert all(r.assumed for r in found.resistances)


RAIL = """
J1 - Connector:Conn_01x03 1:={net} 2:=GND 3:=VIN
U1 - MCU:X 1:VDD={net} 2:VDD={net} 3:VDD={net} 4:GND=GND
U2 - Logic:Y 1:VCC={beyond} 2:GND=GND 3:A=SIG
FB1 600R@100MHz Device:FerriteBead 1:={net} 2:={beyond}
"""


@pytest.mark.parametrize(
    ("net", "volts"), [("+0V9", 0.9), ("+1V8", 1.8), ("+3V3", 3.3), ("+12V", 12.0)]
)
def test_all_loads_of_a_rail_together_land_in_its_class(net, volts):
    # The classes: `verdict.rail_class` (common practice), beyond a bead included.
    found = network(RAIL.format(net=net, beyond="FILTERED"))
    loads = [r for r in found.resistances if r.b == "GND" and "load" in r.because]
    assert {r.ref for r in loads} == {"U1", "U2"}
    row = rail_class(volts)
    assert 1 / sum(1 / r.ohms_low for r in loads) == pytest.approx(row.low_ohms)
    assert 1 / sum(1 / r.ohms for r in loads) == pytest.approx(row.typical_ohms)
    # Three pins of four carry three quarters.
    share = {r.ref: 1 / r.ohms for r in loads}
    assert share["U1"] == pytest.approx(3 * share["U2"])


def test_a_rail_of_unknown_voltage_may_be_anything():
    found = network("U1 - MCU:X 1:VDD=MYSTERY 2:GND=GND 3:PA0=SIG")
    (load,) = [r for r in found.resistances if r.a == "MYSTERY"]
    assert load.ohms_low <= 1.0
    assert load.ohms_high == math.inf
    assert "unknown" in load.because


def test_a_pull_up_to_a_core_rail_reads_as_a_pull_up():
    found = network(
        "U1 - MCU:X 1:VDD=+0V9 2:GND=GND 3:RESET=RST\nR1 10k Device:R 1:=+0V9 2:=RST"
    )
    for corner in ("low", "typical", "high"):
        ohms = Solver(found, corner).resistance("+0V9", "RST")
        assert 5e3 < ohms <= 10.5e3


def test_an_isolator_keeps_its_two_sides_apart():
    found = network(
        "J1 - Connector:Conn_01x04 1:=GND 2:=GNDI 3:=+3V3 4:=+5V_I\n"
        "U1 - Isolator:Z 1:VDD1=+3V3 2:GND1=GND 3:INA=A 4:OUTB=B 5:EN1=C 6:NC=n6 "
        "7:NC=n7 8:GND1=GND 9:GND2=GNDI 10:NC=n10 11:NC=n11 12:EN2=D 13:INB=BI "
        "14:OUTA=AI 15:GND2=GNDI 16:VDD2=+5V_I\n"
        "U2 - MCU:X 1:VDD=+5V_I 2:GND=GNDI 3:PA0=AI\n"
        "U3 - MCU:X 1:VDD=+3V3 2:GND=GND 3:PA0=A"
    )
    near, far = {"GND", "+3V3", "A", "B", "C"}, {"GNDI", "+5V_I", "AI", "BI", "D"}
    for anode, cathode in ways(found):
        assert not ({anode, cathode} & near and {anode, cathode} & far)
    assert Solver(found, "low").resistance("GND", "GNDI") == math.inf


BUCK = """
J1 - Connector:Conn_01x03 1:=VIN 2:=GND 3:=+5V
U1 buck Regulator_Switching:B 1:VIN=VIN 2:GND=GND 3:SW=SW 4:BST=BST 5:FB=FB 6:EN=VIN
C1 100n Device:C 1:=BST 2:=SW
L1 10uH Device:L 1:=SW 2:=+5V
C2 22u Device:C 1:=+5V 2:=GND
C3 22u Device:C 1:=VIN 2:=GND
R1 52k3~1% Device:R 1:=+5V 2:=FB
R2 10k~1% Device:R 1:=FB 2:=GND
"""


def test_a_regulator_has_its_switches_body_diodes_inside():
    found = network(BUCK)
    assert ways(found, "body") == {("GND", "SW"), ("SW", "VIN")}


def test_a_linear_regulator_leads_back_from_output_to_input():
    found = network(
        "J1 - Connector:Conn_01x03 1:=+5V 2:=GND 3:=+3V3\n"
        "U1 LDO Regulator_Linear:L 1:GND=GND 2:VOUT=+3V3 3:VIN=+5V\n"
        "C1 1u Device:C 1:=+5V 2:=GND\nC2 1u Device:C 1:=+3V3 2:=GND\n"
        "U2 - MCU:X 1:VDD=+3V3 2:GND=GND 3:PA0=SIG"
    )
    assert ("+3V3", "+5V") in ways(found, "body")


HALF = """
J1 - Connector:Conn_01x04 1:=VIN 2:=GND 3:=+12V 4:=VOUT
U1 driver Driver_FET:D 1:VDD=+12V 2:HB=BOOT 3:HO=HO 4:HS=SW 5:HI=HI 6:LI=LI 7:VSS=GND 8:LO=LO
R1 4R7 Device:R 1:=HO 2:=GH
R2 4R7 Device:R 1:=LO 2:=GL
Q1 - Device:Q_NMOS_GDS 1:G=GH 2:D=VIN 3:S=SW
Q2 - Device:Q_NMOS_GDS 1:G=GL 2:D=SW 3:S=GND
L1 10uH Device:L 1:=SW 2:=VOUT
C1 100n Device:C 1:=BOOT 2:=SW
C2 100u Device:C 1:=VOUT 2:=GND
"""  # noqa: E501


def test_a_high_side_driver_floats_on_its_switch_node():
    found = network(HALF)
    high = [r for r in found.resistances if {r.a, r.b} == {"HO", "SW"}]
    low = [r for r in found.resistances if {r.a, r.b} == {"LO", "GND"}]
    # "Kilo-ohms or a diode drop" (common practice).
    for found_paths in (high, low):
        assert len(found_paths) == 1
        assert 1e3 <= found_paths[0].ohms_low
        assert found_paths[0].ohms_high == math.inf
    assert ("SW", "HO") in ways(found, "clamp")
    assert ways(found, "body") == {("SW", "VIN"), ("GND", "SW")}


def test_every_element_says_why():
    for text in (LOGIC, BUCK, HALF, RAIL.format(net="+1V8", beyond="B")):
        found = network(text)
        for one in (*found.resistances, *found.junctions):
            assert one.because
            if isinstance(one, Resistance):
                assert one.ohms_low <= one.ohms <= one.ohms_high
            else:
                assert one.volts_low <= one.volts <= one.volts_high


def test_a_chip_in_the_hand_keeps_its_clamps():
    hand = in_hand(board_scene(recognise(board(LOGIC), {})), "U1")
    assert ("U1.2", "U1.3") in ways(hand)
    assert ("U1.2", "U1.4") in ways(hand)
    assert set(hand.nodes) == {f"U1.{k}" for k in range(1, 6)}
