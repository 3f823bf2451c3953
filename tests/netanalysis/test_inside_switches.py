"""Switches inside chips: what lies beyond one, and how it is read at the pins."""

from _small_boards import board

from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.network.build import build_network
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short import find_short

BUCK = """
J1 - Connector:Conn_01x02 1:=VIN_12V 2:=GND
U1 STEP1 Regulator_Switching:STEP1 VIN=VIN_12V SW=SW GND=GND FB=+5V
L1 33u Device:L 1:=SW 2:=+5V
D1 - Device:D_Schottky A=GND K=SW
C1 100u Device:C 1:=VIN_12V 2:=GND
C2 220u Device:C 1:=+5V 2:=GND
U2 LOGIC - VDD=+5V VSS=GND A=N1
"""
BOOST = """
J1 - Connector:Conn_01x02 1:=+5V 2:=GND
U1 UP1 Regulator_Switching:UP1 VIN=+5V SW=SW GND=GND FB=FB EN=+5V
L1 10u Device:L 1:=+5V 2:=SW
D1 - Device:D_Schottky A=SW K=+12V
C1 10u Device:C 1:=+5V 2:=GND
C2 10u Device:C 1:=+12V 2:=GND
R1 100k Device:R 1:=+12V 2:=FB
R2 10k Device:R 1:=FB 2:=GND
U2 AMP - VDD=+12V VSS=GND A=N1
"""
#: The same with both switches inside: its output pin is there too.
BOTH_INSIDE = BOOST.replace("D1 - Device:D_Schottky A=SW K=+12V\n", "").replace(
    "EN=+5V", "EN=+5V VOUT=+12V"
)


def inside(text, rail):
    sections = make_checklist(recognise(board(text), {}), rail=rail).sections
    return [
        step
        for section in sections
        for step in section.steps
        if step.row.startswith("inside")
    ]


def test_a_catch_diode_leaves_the_upper_switch_inside_the_chip():
    # "Integrated regulators" are among the switches that may be shorted, and an
    # asynchronous one differs by its diode alone (the trade; common practice).
    suspects = {one.ref: one for one in find_short(recognise(board(BUCK)), "+5V").parts}
    assert suspects["C1"].via == ("L1", "U1")
    assert suspects["C1"].assumes == ("U1",)
    assert suspects["C2"].assumes == ()


def test_a_diode_in_the_upper_place_is_the_only_way_up():
    # The chip of a boost converter with a diode holds the switch to ground alone.
    suspects = {
        one.ref: one for one in find_short(recognise(board(BOOST)), "+12V").parts
    }
    assert suspects["C1"].assumes == ("D1",)


def test_the_upper_switch_of_a_buck_is_read_from_input_to_node():
    (step,) = inside(BUCK, "+5V")
    assert (step.plus, step.minus) == ("U1.1", "U1.2")


def test_the_coil_of_a_boost_is_never_read_as_its_switch():
    # From input to switch pin lies the coil: some milliohms, on every healthy board
    # (TRADE: links conduct direct current; common practice).
    assert inside(BOOST, "+12V") == []
    (step,) = inside(BOTH_INSIDE, "+12V")
    assert (step.plus, step.minus) == ("U1.6", "U1.2")
    assert step.expect.low > 100


def test_a_controller_whose_switches_are_not_known_holds_none():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=VIN_12V 2:=GND
            U1 CTRL - VIN=VIN_12V UGATE=HG LGATE=LG PHASE=SW GND=GND FB=+1V0 BOOT=BT
            Q1 MYSTERY - 1:=HG 2:=X1 3:=X2
            L1 1u Device:L 1:=SW 2:=+1V0
            C1 10u Device:C 1:=+1V0 2:=GND
            C2 10u Device:C 1:=VIN_12V 2:=GND
            """
        )
    )
    half = [stage for stage in circuit.stages if "SW" in stage.switch_nodes]
    assert [(stage.kind, stage.high_side) for stage in half] == [
        ("synchronous buck", ())
    ]
    # Body diodes are where the switches are; outer ones stand in their own package.
    junctions = build_network(circuit).junctions
    assert not [one for one in junctions if one.ref == "U1" and one.sort == "body"]
