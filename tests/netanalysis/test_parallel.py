"""Parallel sets: what a meter cannot tell apart in circuit."""

import pytest
from _small_boards import view

from ohmtrail.netanalysis.recognise.parallel import capacitor_banks, find_parallel_sets

NMOS = "Device:Q_NMOS_GDS"


def sets(text):
    return [(s.kind, s.parts, s.gates) for s in find_parallel_sets(view(text))]


def test_gates_on_one_net():
    assert sets(
        f"""
        Q1 - {NMOS} G=g D=VIN S=SW
        Q2 - {NMOS} G=g D=VIN S=SW
        """
    ) == [("mosfet", ("Q1", "Q2"), "shared")]


def test_own_gate_resistors_from_one_driver():
    assert sets(
        f"""
        Q1 - {NMOS} G=g1 D=VIN S=SW
        Q10 - {NMOS} G=g2 D=VIN S=SW
        Q2 - {NMOS} G=g3 D=VIN S=SW
        R1 4R7 - 1:=drv 2:=g1
        R2 4R7 - 1:=drv 2:=g2
        FB1 120R@100MHz Device:FerriteBead 1:=g3 2:=drv
        R3 10k - 1:=g1 2:=SW
        """
    ) == [("mosfet", ("Q1", "Q2", "Q10"), "own resistors")]


LOOK_ALIKES = {
    "half bridge": f"""
        Q1 - {NMOS} G=g D=VIN S=SW
        Q2 - {NMOS} G=g D=SW S=GND
        """,
    "back to back, common drain": f"""
        Q1 - {NMOS} G=g D=MID S=BAT
        Q2 - {NMOS} G=g D=MID S=PACK
        """,
    "back to back, common source": f"""
        Q1 - {NMOS} G=g D=BAT S=MID
        Q2 - {NMOS} G=g D=PACK S=MID
        """,
    "one channel the other way round": f"""
        Q1 - {NMOS} G=g D=A S=B
        Q2 - {NMOS} G=g D=B S=A
        """,
    "different drives": f"""
        Q1 - {NMOS} G=g1 D=VIN S=SW
        Q2 - {NMOS} G=g2 D=VIN S=SW
        R1 4R7 - 1:=drv1 2:=g1
        R2 4R7 - 1:=drv2 2:=g2
        """,
    "only the pull-downs meet": f"""
        Q1 - {NMOS} G=g1 D=VIN S=GND
        Q2 - {NMOS} G=g2 D=VIN S=GND
        R1 100R - 1:=GND 2:=g1
        R2 100R - 1:=GND 2:=g2
        C1 10u - 1:=VIN 2:=GND
        """,
    "gate resistor too large": f"""
        Q1 - {NMOS} G=g1 D=VIN S=SW
        Q2 - {NMOS} G=g2 D=VIN S=SW
        R1 10k - 1:=drv 2:=g1
        R2 10k - 1:=drv 2:=g2
        """,
    "mate not fitted": f"""
        Q1 - {NMOS} G=g D=VIN S=SW
        Q2 - {NMOS} G=g D=VIN S=SW dnp
        """,
    "gate resistor not fitted": f"""
        Q1 - {NMOS} G=g1 D=VIN S=SW
        Q2 - {NMOS} G=g2 D=VIN S=SW
        R1 4R7 - 1:=drv 2:=g1
        R2 4R7 - 1:=drv 2:=g2 dnp
        """,
    "opposite polarity": f"""
        Q1 - {NMOS} G=g D=A S=B
        Q2 - Device:Q_PMOS_GDS G=g D=A S=B
        """,
    "antiparallel diodes": """
        D1 - Device:D K=a A=b
        D2 - Device:D K=b A=a
        """,
    "zener beside a rectifier": """
        D1 - Device:D K=a A=b
        D2 12V Device:D_Zener K=a A=b
        """,
    "capacitors": """
        C1 100n - 1:=VCC 2:=GND
        C2 100n - 1:=VCC 2:=GND
        """,
    "resistors in series": """
        R1 1k - 1:=a 2:=b
        R2 1k - 1:=b 2:=c
        """,
    "value says not fitted": """
        R1 1k - 1:=a 2:=b
        R2 DNP - 1:=a 2:=b
        """,
}


@pytest.mark.parametrize("text", LOOK_ALIKES.values(), ids=LOOK_ALIKES)
def test_look_alikes_are_not_grouped(text):
    assert sets(text) == []


def test_two_pairs_that_share_drain_and_source_but_not_the_drive():
    assert sets(
        f"""
        Q1 - {NMOS} G=g1 D=A S=B
        Q2 - {NMOS} G=g1 D=A S=B
        Q3 - {NMOS} G=g2 D=A S=B
        Q4 - {NMOS} G=g2 D=A S=B
        """
    ) == [("mosfet", ("Q1", "Q2"), "shared"), ("mosfet", ("Q3", "Q4"), "shared")]


def test_pin_order_does_not_matter_for_what_has_none():
    assert sets(
        """
        R1 4R7 - 1:=a 2:=GND
        R2 4R7 - 1:=GND 2:=a
        L1 1uH - 1:=sw 2:=out
        L2 1uH - 1:=out 2:=sw
        F1 5A Device:Fuse 1:=a 2:=b
        F2 5A Device:Fuse 1:=a 2:=b
        """
    ) == [
        ("fuse", ("F1", "F2"), None),
        ("inductor", ("L1", "L2"), None),
        ("resistor", ("R1", "R2"), None),
    ]


def test_four_terminal_shunts_by_their_force_pins():
    assert sets(
        """
        R1 1m Device:R_Shunt 1:=a 2:=s1 3:=s2 4:=b
        R2 1m Device:R_Shunt 1:=a 2:=s3 3:=s4 4:=b
        U1 X - IN+=s1 IN-=s2
        """
    ) == [("resistor", ("R1", "R2"), None)]


def test_diodes_the_same_way_round():
    assert sets(
        """
        D1 - Device:D_Schottky K=out A=sw
        D2 - Device:D_Schottky K=out A=sw
        D3 - Device:D_TVS A1=out A2=GND
        D4 - Device:D_TVS A1=GND A2=out
        """
    ) == [("diode", ("D1", "D2"), None), ("tvs", ("D3", "D4"), None)]


def test_regulators_with_input_and_output_in_common():
    text = "{} LM1117-5.0 Regulator_Linear:LM1117-5.0 GND=GND VO={} VI=V12"
    assert sets(f"{text.format('U1', 'V5')}\n{text.format('U2', 'V5')}") == [
        ("chip", ("U1", "U2"), None)
    ]
    assert sets(f"{text.format('U1', 'V5')}\n{text.format('U2', 'V5B')}") == []


def test_capacitor_banks_are_kept_apart():
    banks = capacitor_banks(
        view("C1 1u - 1:=V 2:=GND\nC2 1u - 1:=GND 2:=V\nC3 1u - 1:=W 2:=GND")
    )
    assert banks == {("GND", "V"): ("C1", "C2")}


def test_gates_over_an_array_whose_pins_say_which_belong_together():
    # Resistors of an array end where their names say (R1.1 and R1.2), whatever the
    # order of the pins; EAGLE libraries pair 1 with 2 (common practice, no source).
    assert sets(
        f"""
        Q1 - {NMOS} G=GA D=VIN S=OUT
        Q2 - {NMOS} G=GB D=VIN S=OUT
        RN1 10R - 1:R1.1=DRV 2:R1.2=GA 3:R2.1=DRV 4:R2.2=GB 5:R3.1=X 6:R3.2=Y
        U1 DRIVER - VCC=VIN GND=GND OUT=DRV
        """
    ) == [("mosfet", ("Q1", "Q2"), "own resistors")]
