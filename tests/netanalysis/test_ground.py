"""Ground nets by name, by copper, and on boards that call it otherwise."""

import pytest
from _small_boards import view

from ohmtrail.netanalysis.recognise.ground import is_ground_name


@pytest.mark.parametrize(
    "name",
    [
        "GND",
        "/Power/PGND",
        "AGND",
        "GNDA",
        "DGND",
        "VSS",
        "0V",
        "GND_PWR",
        "GNDPWR",
        "0",
    ],
)
def test_ground_names(name):
    assert is_ground_name(name)


@pytest.mark.parametrize(
    "name",
    ["CHASSIS", "EARTH", "GND_SENSE", "SHIELD_GND", "VCC", "BKGND_LIGHT", "EGND"],
)
def test_names_of_other_nets(name):
    assert not is_ground_name(name)


def test_main_ground_is_the_one_with_most_pins():
    found = view(
        """
        C1 1u - 1:=V 2:=PGND
        C2 1u - 1:=V 2:=AGND
        C3 1u - 1:=V 2:=AGND
        """
    ).ground
    assert found == ("AGND", "PGND")


def test_a_negative_rail_that_a_net_tie_joins_is_ground():
    found = view(
        """
        C1 1u - 1:=V 2:=GND
        C2 1u - 1:=V 2:=GND
        NT1 - Device:NetTie_2 1:=GND 2:=BAT-
        J1 BATT - 1:=BAT- 2:=V
        """
    ).ground
    assert found == ("GND", "BAT-")


def test_the_top_of_a_shunt_is_not_ground():
    found = view(
        """
        R1 1m - 1:=GND 2:=PACK-
        C1 1u - 1:=V 2:=GND
        """
    ).ground
    assert found == ("GND",)


def test_a_board_without_the_word_ground():
    found = view(
        """
        C1 1u - 1:=BATT+ 2:=BATT-
        C2 1u - 1:=BATT+ 2:=BATT-
        R1 1k - 1:=x 2:=BATT-
        """
    ).ground
    assert found == ("BATT-",)


def test_vss_beside_gnd_may_be_a_negative_supply():
    text = """
        C1 1u - 1:=VDD 2:=GND
        C2 1u - 1:=VSS 2:=GND
        U1 OPAMP - V+=VDD V-=VSS OUT=o
    """
    assert view(text).ground == ("GND",)
    assert view(text + "R1 0R - 1:=VSS 2:=GND").ground == ("GND", "VSS")


def test_vss_alone_is_ground():
    assert view("C1 1u - 1:=VDD 2:=VSS\nU1 X - A=VDD B=VSS C=x").ground == ("VSS",)


@pytest.mark.parametrize("order", ["12", "21"])
def test_ties_behind_ties_whatever_their_order_in_the_file(order):
    # A net tie is copper (its symbol says so): what lies behind two is ground as well.
    ties = {
        "1": "NT1 - Device:NetTie_2 1:=GND 2:=STAR",
        "2": "NT2 - Device:NetTie_2 1:=STAR 2:=QUIET",
    }
    found = view(
        "\n".join(ties[one] for one in order)
        + """
        C1 1u - 1:=V 2:=GND
        C2 1u - 1:=V 2:=GND
        U1 CHIP - VDD=V GND=STAR
        U2 CHIP - VDD=V GND=QUIET
        """
    )
    assert set(found.ground) == {"GND", "STAR", "QUIET"}
