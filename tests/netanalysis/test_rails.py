"""Supply rails: names, volts, what makes them and what they feed."""

import pytest
from _small_boards import rails

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.rail_names import is_supply_name, volts_from_name

VOLTS = {
    "+3V3": 3.3,
    "3V3_SYS": 3.3,
    "VCC_5V": 5.0,
    "+1V1": 1.1,
    "1.8V": 1.8,
    "P5V0": 5.0,
    "VDD_1V8": 1.8,
    "12V": 12.0,
    "-12V": -12.0,
    "+5V_USB": 5.0,
    "/Core/3P3V": 3.3,
    "VIN": None,
    "VBUS": None,
    "EN_3V3": None,
    "5V_PG": None,
    "3V3_SENSE": None,
    "5V_VIN": None,
    "U3V3": None,
    "ADC1_IN12": None,
    "Net-(U1-3V3)": None,
}


@pytest.mark.parametrize(("name", "volts"), VOLTS.items())
def test_volts_in_a_name(name, volts):
    assert volts_from_name(name) == volts


@pytest.mark.parametrize("name", ["USB_D+", "EN_5V", "SDA", "PWM+", "VREF"])
def test_signals_are_no_supplies(name):
    assert not is_supply_name(name)


LDO = """
    J1 BarrelJack - 1:=VIN 2:=GND
    C1 10u - 1:=VIN 2:=GND
    U1 {} Regulator_Linear:X GND=GND VO={} VI=VIN
    C2 10u - 1:={} 2:=GND
    U2 MCU - VDD={} GND=GND PA0=x
"""


@pytest.mark.parametrize(
    ("number", "volts"),
    [
        ("LM1117-3.3", 3.3),
        ("AP2127K-3.3", 3.3),
        ("XC6206P332MR", 3.3),
        ("AP1117-50", 5.0),
        ("L7805", 5.0),
        ("TLV70233PDBV", 3.3),
        ("MCP1824T-1802E", 1.8),
        ("TPS7A0518P", 1.8),
        ("TCR2EF115", 1.15),
        ("LM317", None),
        ("TPS79601", None),
    ],
)
def test_fixed_regulators(number, volts):
    found = rails(LDO.format(number, "OUT", "OUT", "OUT"))["OUT"]
    assert found.volts == volts
    assert found.source == "U1"
    assert found.loads == ("U2",)


def test_tree_of_a_small_board():
    found = rails(LDO.format("LM1117-3.3", "+3V3", "+3V3", "+3V3"))
    assert found["VIN"].source == "J1"
    assert found["VIN"].volts is None
    assert found["VIN"].feeds == ("+3V3",)
    assert found["+3V3"].volts == 3.3


def test_part_number_is_finer_than_a_shortened_name():
    assert rails(LDO.format("TLV70233", "+3V", "+3V", "+3V"))["+3V"].volts == 3.3


def test_stated_volts_win():
    text = LDO.format("LM1117-3.3", "+3V3", "+3V3", "+3V3")
    assert rails(text, **{"+3V3": 3.0})["+3V3"].volts == 3.0
    assert rails(text, VIN=19.0)["VIN"].volts == 19.0


def test_volts_go_through_a_bead_and_not_through_a_diode():
    found = rails(
        """
        J1 Terminal - 1:=+12V 2:=GND
        FB1 600R - 1:=+12V 2:=QUIET
        C1 10u - 1:=QUIET 2:=GND
        D1 - Device:D K=ORED A=+12V
        C2 10u - 1:=ORED 2:=GND
        U1 X - VDD=QUIET GND=GND A=x
        U2 X - VDD=ORED GND=GND A=y
        """
    )
    assert found["QUIET"].volts == 12.0
    assert found["QUIET"].source == "FB1"
    assert found["ORED"].volts is None
    assert found["ORED"].source == "D1"


def test_names_that_disagree_across_links_are_not_believed():
    # two beads from one input, each named for the converter behind it
    found = rails(
        """
        J1 Terminal - 1:=VIN 2:=GND
        FB1 600R - 1:=VIN 2:=IN_5V
        FB2 600R - 1:=VIN 2:=IN_3V3
        C1 10u - 1:=IN_5V 2:=GND
        C2 10u - 1:=IN_3V3 2:=GND
        U1 X - VIN=IN_5V GND=GND SW=a
        U2 X - VIN=IN_3V3 GND=GND SW=b
        """
    )
    assert [found[n].volts for n in ("VIN", "IN_5V", "IN_3V3")] == [None] * 3


def test_usb_is_five_volts_only_where_nothing_can_ask_for_more():
    text = """
        J1 USB_C Connector:USB_C_Receptacle VBUS=VB GND=GND CC1=cc1 CC2=cc2
        C1 10u - 1:=VB 2:=GND
        {}
    """
    plain = "R1 5k1 - 1:=cc1 2:=GND\nR2 5k1 - 1:=cc2 2:=GND"
    clever = "U1 PD - CC1=cc1 CC2=cc2 GND=GND"
    assert rails(text.format(plain))["VB"].volts == 5.0
    assert rails(text.format(clever))["VB"].volts is None
    terminal = "J1 Terminal - 1:=VBUS 2:=GND\nC1 10u - 1:=VBUS 2:=GND"
    assert rails(terminal)["VBUS"].volts is None


def test_a_bias_pin_of_one_chip_is_no_rail():
    found = rails(
        """
        U1 BUCK - VIN=VIN VCC=VCC SW=sw GND=GND FB=fb
        C1 1u - 1:=VCC 2:=GND
        C2 10u - 1:=VIN 2:=GND
        J1 Terminal - 1:=VIN 2:=GND
        """
    )
    assert set(found) == {"VIN"}


def test_converter_output_has_the_controller_as_source():
    text = """
        J1 Terminal - 1:=VIN 2:=GND
        C1 10u - 1:=VIN 2:=GND
        U1 CTL - VIN=VIN HG=h LG=l SW=sw GND=GND FB=fb
        Q1 - Device:Q_NMOS_GDS G=h D=VIN S=sw
        Q2 - Device:Q_NMOS_GDS G=l D=sw S=GND
        L1 1uH - 1:=sw 2:=out
        R1 2m - 1:=out 2:=VCORE
        C2 100u - 1:=VCORE 2:=GND
    """
    stage = Stage(
        "synchronous buck at sw",
        "synchronous buck",
        ("sw",),
        "VIN",
        "out",
        "VIN",
        "VCORE",
        controller="U1",
        driver="U1",
        high_side=("Q1",),
        low_side=("Q2",),
        inductors=("L1",),
    )
    found = rails(text, stage)
    assert found["VCORE"].source == "U1"
    assert "VCORE" in found["VIN"].feeds
    assert "sw" not in found


FILTERED = """
    P1 Conn_01x06 Connector:Conn_01x06 1:={usb} 2:=GND 3:=D- 4:=D+ 5:=s1 6:=s2
    J9 Conn_01x06 Connector:Conn_01x06 1:=VDD 2:=GND 3:=MISO 4:=MOSI 5:=SCK 6:=RST
    L1 Bead Device:FerriteBead 1:={usb} 2:=VDD
    R8 10 Device:R 1:=VDD 2:=AVDD
    C1 1u Device:C 1:=VDD 2:=GND
    C3 100n Device:C 1:=VDD 2:=GND
    C2 1u Device:C 1:=AVDD 2:=GND
    U1 MCU - VDD=VDD AVDD=AVDD GND=GND PB1=MISO PB2=MOSI PB3=SCK RST=RST
"""


def test_a_filter_resistor_feeds_from_the_rail_that_has_a_source():
    found = rails(FILTERED.format(usb="USB_VBUS"))
    sources = {net: rail.source for net, rail in found.items()}
    assert sources == {"USB_VBUS": "P1", "VDD": "L1", "AVDD": "R8"}
    assert found["VDD"].feeds == ("AVDD",)
    assert found["AVDD"].feeds == ()


def test_two_rails_of_unknown_source_do_not_feed_each_other():
    text = "\n".join(
        line
        for line in FILTERED.splitlines()
        if " Conn" not in line and "L1" not in line
    )
    found = rails(text)
    assert found["AVDD"].source == "R8"  # the one with fewer parts is the filtered one
    assert found["VDD"].source is None
    assert found["AVDD"].feeds == ()
