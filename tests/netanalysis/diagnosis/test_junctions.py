"""Kilo-ohms across silicon that nobody knows are no leak; ohms are a short.

TRADE: an ohmmeter's test voltage may wake a junction, and then reads what it likes
(common practice); a diode's forward drop at 0.1 mA is 0.2 to 0.5 V (from memory), which
is kilo-ohms (Ohm).
"""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.diagnosis.junctions import Junctions
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.recognise import recognise

BOOT, NODE = "Net-(U201-BOOT)", "/Supplies/SW_5V"


@pytest.fixture
def chance(demo, log_of):
    def of(ref, rows):
        found = weigh_log(case_of(demo, log_of(rows)))
        return sum(w.probability for w in found.weighed if ref in w.hypothesis.refs)

    return of


def test_kilohms_at_a_bootstrap_node_convict_nobody(chance):
    once = f"measure,,resistance,{NODE},{BOOT},9.2k,\n"
    back = f"measure,,resistance,{BOOT},{NODE},10.4k,\n"
    before = chance("C215", "")
    assert chance("C215", once + back + once + back) < 5 * before


def test_ohms_at_a_bootstrap_node_convict_what_lies_there(chance):
    rows = 2 * f"measure,,resistance,{NODE},{BOOT},3.1,\n"
    assert chance("C215", rows) + chance("U201", rows) > 0.9


def test_where_it_is_known_what_a_net_carries_a_reading_counts(demo):
    junctions = Junctions(demo, view_of(demo))
    assert junctions.across(NODE, BOOT)
    assert junctions.across(BOOT, "GND")
    # A rail, a switch node, a gate, and a resistor's two ends.
    assert not junctions.across("VMAIN", "GND")
    assert not junctions.across(NODE, "GND")
    chain = next(s for s in demo.stages if s.gate_chains).gate_chains[0]
    view = view_of(demo)
    gate, source = (
        view.net_with_role(chain.switch, role) for role in ("gate", "source")
    )
    assert not junctions.across(gate, source)
    for part in demo.board.parts:
        ends = [pin.net for pin in part.pins if pin.net]
        fitted = part.ref not in demo.unfitted
        if fitted and view.kind(part.ref) == "resistor" and len(set(ends)) == 2:
            assert not junctions.across(*ends)


def test_a_gate_of_no_known_stage_still_counts():
    circuit = recognise(
        board(
            """
            Q1 NFET Device:Q_NMOS_GDS G=g D=d S=s
            U1 Driver - HG=g HS=s VCC=v GND=GND
            """
        )
    )
    assert not circuit.stages
    assert not Junctions(circuit, view_of(circuit)).across("g", "s")
