"""Packages of two transistors: each half's body diode stands as its channel has it.

A P-channel's body diode conducts from drain to source, an N-channel's from source to
drain (any textbook on MOSFETs; from memory).
"""

from dataclasses import replace

import pytest
from _small_boards import board

from ohmtrail.netanalysis.board import make_board
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.network.build import build_network
from ohmtrail.netanalysis.polarity import is_p_type
from ohmtrail.netanalysis.recognise import recognise

PAIR = """
J1 - Connector:Conn_01x02 1:=+5V 2:=GND
Q1 PAIR Device:Q_Dual_NMOS_PMOS_S1G1D2S2G2D1 S1=GND G1=IN D2=OUT S2=+5V G2=IN D1=OUT
U1 LOGIC - VDD=+5V VSS=GND Y=IN
J2 - Connector:Conn_01x02 1:=OUT 2:=GND
C1 10u Device:C 1:=+5V 2:=GND
"""
TWO_P = """
J1 - Connector:Conn_01x02 1:=+5V 2:=GND
# Six pins without names: source, gate, other drain, as SOT-363 has them.
Q1 TWIN - 1:=+5V 2:=GA 3:=B 4:=+5V 5:=GB 6:=A
R1 10k Device:R 1:=GA 2:=+5V
R2 10k Device:R 1:=GB 2:=+5V
U1 LOGIC - VDD=+5V VSS=GND A=GA B=GB
C1 10u Device:C 1:=A 2:=GND
C2 10u Device:C 1:=B 2:=GND
C3 10u Device:C 1:=+5V 2:=GND
U2 LOADS - VDD=A VDD2=B VSS=GND
"""


def described(text, ref, words):
    made = board(text)
    parts = [
        replace(part, description=words) if part.ref == ref else part
        for part in made.parts
    ]
    return make_board(name="small", format="test", version="", parts=parts)


def bodies(circuit):
    return {
        (one.anode, one.cathode)
        for one in build_network(circuit).junctions
        if one.ref == "Q1" and one.sort == "body"
    }


def test_an_n_and_a_p_channel_in_one_package():
    circuit = recognise(board(PAIR), {})
    assert bodies(circuit) == {("GND", "OUT"), ("OUT", "+5V")}
    view = view_of(circuit)
    assert [is_p_type(view, "Q1", unit) for unit in view.units("Q1")] == [False, True]


@pytest.mark.parametrize("words", ["Dual P-Channel MOSFET", "dual P-channel, 20 V"])
def test_two_p_channels_in_one_package(words):
    circuit = recognise(described(TWO_P, "Q1", words), {})
    assert circuit.kinds["Q1"].sort.startswith("p-channel")
    assert bodies(circuit) == {("A", "+5V"), ("B", "+5V")}
    switches = [one for one in circuit.stages if "Q1" in one.high_side]
    assert {(one.input, one.output) for one in switches} == {("+5V", "A"), ("+5V", "B")}
    steps = make_checklist(circuit, part="Q1").sections[0].steps
    diodes = [step for step in steps if "body diode" in step.title.casefold()]
    assert {(step.plus, step.minus) for step in diodes} == {
        ("Q1.6", "Q1.1"),
        ("Q1.3", "Q1.4"),
    }
