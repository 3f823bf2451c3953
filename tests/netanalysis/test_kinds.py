"""Part kinds: symbol, refdes class (IEEE 315), value and pins together."""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.recognise.kinds import recognise_kinds

CASES = [
    ("Q1 - Device:Q_NMOS_GDS G=a D=b S=c", "mosfet", "n-channel"),
    ("Q1 - Device:Q_PMOS_GSD G=a S=b D=c", "mosfet", "p-channel"),
    ("Q1 XX1 mylib:XX1 GATE=a DRAIN=b SOURCE=c", "mosfet", ""),
    ("Q1 BC846B mylib:SOT23 1:=a 2:=b 3:=c", "bipolar", "npn"),
    ("Q1 XX1 mylib:XX1 B=a C=b E=c", "bipolar", ""),
    ("Q1 XX1 mylib:XX1 G=a C=b E=c", "igbt", "n-channel"),
    # an unknown transistor with three pins is not guessed
    ("Q1 XX1 mylib:XX1 1:=a 2:=b 3:=c", "other", ""),
    # T is a transistor in Europe and a transformer by IEEE 315
    ("T1 BC856B - 1:=a 2:=b 3:=c", "bipolar", "pnp"),
    ("T1 - Device:Transformer_1P_1S 1:=a 2:=b 3:=c 4:=d", "transformer", ""),
    ("T1 - - 1:=a 2:=b 3:=c 4:=d 5:=e", "transformer", ""),
    ("D1 - Device:D_Schottky K=a A=b", "diode", "schottky"),
    ("D1 - Device:D_TVS A1=a A2=b", "tvs", "bidirectional"),
    ("D1 SMBJ24A Device:D_Zener K=a A=b", "tvs", ""),
    ("D1 SMBJ24CA mylib:SMB 1:=a 2:=b", "tvs", "bidirectional"),
    ("D1 12V - 1:=a 2:=b", "zener", ""),
    # a current beside the voltage is a rectifier's marking
    ("D1 100V_3A - 1:=a 2:=b", "diode", ""),
    ("D1 100V_3A Device:D_Schottky K=a A=b", "diode", "schottky"),
    ("CR1 1N4148 - 1:=a 2:=b", "diode", ""),
    ("D1 LED_GREEN - 1:=a 2:=b", "led", ""),
    ("R1 2m - 1:=a 2:=b", "resistor", "shunt"),
    ("R1 - Device:R_Shunt 1:=a 2:=b 3:=c 4:=d", "resistor", "shunt"),
    ("RN1 33 Device:R_Pack04 1:=a 2:=b 3:=c 4:=d", "resistor", "network"),
    ("C1 10u Device:C_Polarized 1:=a 2:=b", "capacitor", "polarised"),
    ("C1 10u Device:C 1:=a 2:=b", "capacitor", ""),
    ("L1 - Device:L_Core_Ferrite 1:=a 2:=b", "inductor", ""),
    ("L1 120R@100MHz - 1:=a 2:=b", "bead", ""),
    ("FB1 - Device:FerriteBead_Small 1:=a 2:=b", "bead", ""),
    ("L1 - Device:Ferrite_Bead 1:=a 2:=b", "bead", ""),
    ("F1 - Device:Polyfuse 1:=a 2:=b", "fuse", ""),
    ("JP1 - Jumper:SolderJumper_2_Open A=a B=b", "jumper", "open"),
    ("JP1 - Jumper:SolderJumper_2_Bridged A=a B=b", "jumper", "closed"),
    ("NT1 - Device:NetTie_2 1:=a 2:=b", "jumper", "net tie"),
    ("X1 8MHz - 1:=a 2:=b", "crystal", ""),
    ("X1 Phoenix - 1:=a 2:=b", "connector", ""),
    ("RV1 82V - 1:=a 2:=b", "tvs", "varistor"),
    ("U1 LM1117-3.3 Regulator_Linear:LM1117-3.3 GND=g VO=o VI=i", "chip", ""),
    ("H1 - Mechanical:MountingHole_Pad 1:=g", "other", ""),
    ("TP1 - Connector:TestPoint 1:=g", "testpoint", ""),
    ("BT1 - Device:Battery_Cell +=a -=b", "battery", ""),
    ("K1 - Relay:FINDER 1:=a 2:=b 3:=c 4:=d 5:=e", "relay", ""),
    ("SW1 - Switch:SW_Push 1:=a 2:=b", "switch", ""),
    ("ZZ9 ? - 1:=a 2:=b 3:=c", "other", ""),
]


@pytest.mark.parametrize(("line", "kind", "sort"), CASES, ids=[c[0] for c in CASES])
def test_kind(line, kind, sort):
    (found,) = recognise_kinds(board(line)).values()
    assert (found.kind, found.sort) == (kind, sort), found.because
    assert found.because


def test_a_symbol_named_like_a_part_number_is_no_test_point():
    # TP0610T is a P-channel transistor, TP1 a test point.
    (found,) = recognise_kinds(board("Q2 TP0610T t:TP0610T G=a S=b D=c")).values()
    assert found.kind == "mosfet"
