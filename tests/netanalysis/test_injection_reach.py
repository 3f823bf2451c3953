"""The volts limit of injection: never above the lowest rail that may be reached."""

import pytest
from _oracles import designs
from _small_boards import board

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.injection_reach import InjectionIndex, injection_reach
from ohmtrail.netanalysis.recognise import recognise


def reach(circuit, net):
    return injection_reach(circuit, view_of(circuit), net)


def test_through_a_high_side_the_core_sets_the_limit():
    circuit = recognise(load(named_board_path("three_phase")), {"VMAIN": 12.0})
    found = reach(circuit, "VMAIN")
    assert (found.volts_max, found.set_by) == (1.0, "VCORE_1V0")


def test_an_unknown_voltage_in_reach_gives_no_limit():
    circuit = recognise(load(named_board_path("three_phase")), {})
    found = reach(circuit, "VCORE_1V0")
    assert found.volts_max is None
    assert found.unknown == ("VMAIN",)


def test_a_switch_inside_a_chip_is_gone_through():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+12V 2:=GND
            U1 BUCK - 1:VIN=+12V 2:GND=GND 3:SW=SW 4:FB=FB 5:BOOT=BT 6:EN=+12V
            C9 100n Device:C 1:=BT 2:=SW
            L1 10u Device:L 1:=SW 2:=+3V3
            C1 22u Device:C 1:=+3V3 2:=GND
            C2 22u Device:C 1:=+12V 2:=GND
            R1 30k Device:R 1:=+3V3 2:=FB
            R2 10k Device:R 1:=FB 2:=GND
            U2 MCU - 1:VDD=+3V3 2:GND=GND
            """
        ),
        {},
    )
    assert reach(circuit, "+12V").volts_max == 3.3


def test_with_its_coil_off_a_rail_is_on_its_own():
    """No current gets past a part that is off the board."""
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=VIN 2:=GND
            U1 BUCK - 1:VIN=VIN 2:GND=GND 3:SW=SW 4:FB=FB 5:BOOT=BT 6:EN=VIN
            C9 100n Device:C 1:=BT 2:=SW
            L1 10u Device:L 1:=SW 2:=+3V3
            C1 22u Device:C 1:=+3V3 2:=GND
            C2 22u Device:C 1:=VIN 2:=GND
            R1 30k Device:R 1:=+3V3 2:=FB
            R2 10k Device:R 1:=FB 2:=GND
            U2 MCU - 1:VDD=+3V3 2:GND=GND
            U3 LDO - 1:IN=VIN 2:GND=GND 3:OUT=+1V2 4:EN=VIN
            C3 1u Device:C 1:=+1V2 2:=GND
            U4 MCU - 1:VDD=+1V2 2:GND=GND
            """
        ),
        {},
    )
    index = InjectionIndex(circuit, view_of(circuit))
    assert index.reach("+3V3").volts_max is None
    alone = index.reach("+3V3", frozenset(("L1",)))
    assert alone.rails == ("+3V3",)
    assert alone.volts_max == 3.3
    # The chip is the way as well; a capacitor is none.
    assert index.reach("+3V3", frozenset(("U1",))).volts_max == 3.3
    assert index.reach("+3V3", frozenset(("C1",))).volts_max is None


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_no_limit_is_above_any_rail_it_reaches(design):
    circuit = recognise(load(design.root), {})
    volts = {rail.net: rail.volts for rail in circuit.rails}
    for rail in circuit.rails:
        found = reach(circuit, rail.net)
        if found.volts_max is None:
            continue
        assert not found.unknown
        known = [abs(volts[net]) for net in found.rails if volts.get(net)]
        assert found.volts_max <= min(known)
        # Whatever a link joins to the rail is in reach.
        for link in circuit.links:
            for near, far in (
                (link.net_a, link.net_b),
                (link.net_b, link.net_a),
            ):
                if near in found.rails and far in volts and far not in circuit.ground:
                    assert far in found.rails


def test_a_net_that_supplies_a_chip_counts_though_nothing_calls_it_a_rail():
    # The chip behind the bead lives on an unknown voltage: no limit can be given.
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+12V 2:=GND
            C1 10u Device:C 1:=+12V 2:=GND
            Q1 NFET Device:Q_NMOS_GDS G=G1 D=+12V S=N7
            U1 CPU - VDD=N7 VSS=GND EN=E1
            """
        ),
        {},
    )
    found = reach(circuit, "+12V")
    assert "N7" in found.unknown
    assert found.volts_max is None


def test_a_statement_does_not_hide_what_a_plug_says():
    # VBUS of a plain USB plug is 5 V (USB 2.0 specification, 7.2.1); 20 V stated for
    # it may be a slip, and the lowest of all evidence counts.
    circuit = recognise(
        board(
            """
            J1 USB_B Connector:USB_B VBUS=VBUS D-=DM D+=DP GND=GND
            U1 CHIP - VDD=VBUS VSS=GND A=DM B=DP
            C1 10u Device:C 1:=VBUS 2:=GND
            """
        ),
        {"VBUS": 20.0},
    )
    found = reach(circuit, "VBUS")
    assert found.volts_max == 5.0
    assert "20 V (stated), 5 V (USB)" in found.details[0].note
