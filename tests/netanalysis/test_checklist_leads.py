"""Which lead goes where: channels, sides, packages, grounds behind a shunt."""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short import find_short

P_LOAD_SWITCH = """
    J1 - Connector:Conn_01x02 1:=+12V 2:=GND
    Q1 PFET Device:Q_PMOS_GSD G=PG S=+12V D=+12V_SW
    R1 100k Device:R 1:=+12V 2:=PG
    Q2 NFET Device:Q_NMOS_GSD G=EN S=GND D=PG
    C1 10u Device:C 1:=+12V_SW 2:=GND
    U9 MCU X:MCU 1:VCC=+12V_SW 2:GND=GND 3:EN=EN
"""
DUAL_BUCK = """
    J1 - Connector:Conn_01x02 1:=+12V 2:=GND
    Q1 DUAL X:DUAL_NMOS 1:S1=SW 2:G1=HG 3:S2=GND 4:G2=LG 5:D2=SW 6:D1=+12V
    U1 C X:CTRL 1:VIN=+12V 2:GND=GND 3:HDRV=HG 4:LDRV=LG 5:SW=SW 6:BST=BST 7:FB=FB
    C3 100n Device:C 1:=BST 2:=SW
    L1 4u7 Device:L 1:=SW 2:=+5V
    C1 22u Device:C 1:=+12V 2:=GND
    C2 22u Device:C 1:=+5V 2:=GND
    R1 52k3 Device:R 1:=+5V 2:=FB
    R2 10k Device:R 1:=FB 2:=GND
"""


def steps_of(text, **chosen):
    circuit = recognise(board(text), {})
    if "stage" in chosen:
        chosen["stage"] = circuit.stages[chosen["stage"]]
    checklist = make_checklist(circuit, **chosen)
    return [step for section in checklist.sections for step in section.steps]


def leads(steps, title, mode):
    return [
        (s.plus, s.minus) for s in steps if s.mode == mode and s.title.startswith(title)
    ]


def test_a_p_channel_body_diode_conducts_from_drain_to_source():
    steps = steps_of(P_LOAD_SWITCH, stage=0)
    assert leads(steps, "Body diodes", "diode") == [("Q1.3", "Q1.2")]
    # In resistance the leads stand against the diode.
    assert leads(steps, "Switches", "resistance") == [("Q1.2", "Q1.3")]


def test_both_transistors_of_one_package_are_read():
    steps = steps_of(DUAL_BUCK, stage=0)
    assert leads(steps, "Body diodes", "diode") == [("Q1.1", "Q1.6"), ("Q1.3", "Q1.5")]
    assert leads(steps, "Switches", "resistance") == [
        ("Q1.6", "Q1.1"),
        ("Q1.5", "Q1.3"),
    ]
    assert leads(steps, "Gate to source", "resistance") == [
        ("Q1.2", "Q1.1"),
        ("Q1.4", "Q1.3"),
    ]


def test_one_phase_alone_has_no_sisters_to_speak_of():
    (node,) = [
        s for s in steps_of(DUAL_BUCK, stage=0) if s.title.startswith("Switch n")
    ]
    assert "one phase" not in node.why


def test_a_chip_is_read_against_its_own_ground_pin_not_a_sense_pin():
    steps = steps_of(
        """
        J1 - Connector:Conn_01x02 1:=+5V 2:=GND
        U1 AMP X:AMP 1:V+=+5V 2:IN-=SHUNT 3:GND=GND
        R1 2m Device:R 1:=SHUNT 2:=GND
        C1 100n Device:C 1:=+5V 2:=GND
        """,
        rail="+5V",
    )
    chip = [
        (s.plus, s.minus) for s in steps if s.mode == "four-wire" and "U1" in s.parts
    ]
    assert ("U1.1", "U1.3") in chip


def test_a_low_side_switch_is_likelier_to_hold_an_output_down_than_its_mate_above():
    # Shorted, the upper one only ties the output to an input that is high when cold.
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=VIN 2:=GND
            C1 10u Device:C 1:=VIN 2:=GND
            Q1 NFET Device:Q_NMOS_GDS G=GH D=VIN S=SW
            Q2 NFET Device:Q_NMOS_GDS G=GL D=SW S=GND
            L1 2u2 Device:L 1:=SW 2:=VOUT
            C2 22u Device:C 1:=VOUT 2:=GND
            """
        ),
        {},
    )
    prior = {one.ref: one.prior for one in find_short(circuit, "VOUT").parts}
    assert prior["Q2"] > prior["Q1"] > prior["C2"]
    # From the input's side both hold it down only together with something else.
    prior = {one.ref: one.prior for one in find_short(circuit, "VIN").parts}
    assert prior["Q1"] > prior["Q2"]


@pytest.mark.parametrize("text", [P_LOAD_SWITCH, DUAL_BUCK])
def test_every_stage_says_what_to_do_before_power_and_never_that_it_is_safe(text):
    circuit = recognise(board(text), {})
    for stage in circuit.stages:
        checklist = make_checklist(circuit, stage=stage)
        steps = [step for section in checklist.sections for step in section.steps]
        titles = [step.title for step in steps]
        assert any("before power" in title for title in titles)
        order = [step.phase for step in steps]
        assert order == sorted(
            order, key=["look", "cold", "limited power", "power"].index
        )
        said = " ".join(f"{s.title} {s.why} {s.if_low} {s.if_high}" for s in steps)
        assert "safe" not in said
    assert any("safe" in words and "No list" in words for words in checklist.cautions)
