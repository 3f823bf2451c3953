"""Low-resistance links: what carries a short from net to net (TRADE: links)."""

import pytest
from _small_boards import board, view

from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short_index import ShortIndex


def links(text):
    return [(x.ref, x.net_a, x.net_b, x.ohms, x.always) for x in view(text).links]


@pytest.mark.parametrize(
    ("line", "ohms", "always"),
    [
        ("L1 1uH - 1:=a 2:=b", None, True),
        ("FB1 600R@100MHz - 1:=a 2:=b", None, True),
        ("F1 5A Device:Fuse 1:=a 2:=b", None, True),
        ("R1 0R - 1:=a 2:=b", 0.0, True),
        ("R1 5m - 1:=a 2:=b", 0.005, True),
        ("NT1 - Device:NetTie_2 1:=a 2:=b", 0.0, True),
        ("JP1 - Jumper:SolderJumper_2_Bridged A=a B=b", 0.0, True),
        # may be open: a header jumper can be pulled, a switch thrown
        ("JP1 - Jumper:Jumper_2_Bridged A=a B=b fp:PinHeader_1x02", None, False),
        ("JP1 - Jumper:Jumper_2 A=a B=b", None, False),
        ("SW1 - Switch:SW_Push 1:=a 2:=b", None, False),
        # drawing and footprint disagree
        (
            "JP1 - Jumper:SolderJumper_2_Bridged A=a B=b fp:SolderJumper_Open",
            None,
            False,
        ),
    ],
)
def test_link(line, ohms, always):
    ((_, a, b, found, certain),) = links(line)
    assert ({a, b}, found, certain) == ({"a", "b"}, ohms, always)


@pytest.mark.parametrize(
    "line",
    [
        "R1 10R - 1:=a 2:=b",
        "R1 DNP - 1:=a 2:=b",
        "R1 0R - 1:=a 2:=b dnp",
        "C1 1u - 1:=a 2:=b",
        "D1 - Device:D K=a A=b",
        "JP1 - Jumper:SolderJumper_2_Open A=a B=b",
        "L1 1uH - 1:=a 2:=a",
    ],
)
def test_no_link(line):
    assert links(line) == []


def test_each_element_of_an_array_joins_its_own_pair():
    found = links("RN1 0 Device:R_Pack02 1:R1.1=a 2:R2.1=b 3:R2.2=c 4:R1.2=d")
    assert {(x[1], x[2]) for x in found} == {("a", "d"), ("b", "c")}


def test_common_mode_choke_joins_each_line_to_itself():
    usual = links("FL1 - Device:L_CommonMode 1:=DP 2:=CDP 3:=CDN 4:=DN")
    assert {(x[1], x[2]) for x in usual} == {("DP", "CDP"), ("CDN", "DN")}
    crossed = links("FL1 - Device:L_CommonMode 1:=D_P 2:=D_N 3:=C_N 4:=C_P")
    assert {frozenset(x[1:3]) for x in crossed} == {
        frozenset(("D_P", "C_P")),
        frozenset(("D_N", "C_N")),
    }


def test_four_terminal_shunt_conducts_between_its_force_pins():
    found = view("R1 2m Device:R_Shunt 1:=a 2:=s1 3:=s2 4:=b").links
    assert [(x.net_a, x.net_b, x.ohms) for x in found] == [
        ("a", "b", 0.002),
        ("a", "s1", 0.0),
        ("b", "s2", 0.0),
    ]


def test_current_sensors_conduct_through_the_chip():
    hall = links("U1 ACX - IP+=a IP+=a IP-=b IP-=b GND=GND VCC=v OUT=o")
    assert [x[:3] for x in hall] == [("U1", "a", "b")]


def test_a_copper_bridge_is_there_whatever_the_parts_list_says():
    line = "JP1 - Jumper:SolderJumper_2_Bridged A=a B=b dnp"
    assert len(links(line)) == 1


def test_symbol_names_that_state_their_windings():
    found = links("L1 - Device:L_Coupled_1324 1:=a 2:=b 3:=c 4:=d")
    assert {(x[1], x[2]) for x in found} == {("a", "c"), ("b", "d")}


def test_feed_through_filters_conduct_past_ground():
    text = """
        C1 1u - 1:=a 2:=GND
        C2 1u - 1:=b 2:=GND
        FL1 NFM - 1:=a 2:=GND 3:=b
        C3 - Device:C_Feedthrough 1:=b 2:=GND 3:=c
    """
    assert {(x[0], x[1], x[2], x[4]) for x in links(text)} == {
        ("FL1", "a", "b", True),
        ("C3", "b", "c", True),
    }


def test_a_header_between_two_supplies_may_carry_a_jumper():
    text = """
        C1 1u - 1:=a 2:=GND
        C2 1u - 1:=b 2:=GND
        J1 Conn Connector:Conn_01x02 1:=a 2:=b fp:PinHeader_1x02
        J2 Conn Connector:Conn_01x02 1:=a 2:=GND fp:PinHeader_1x02
    """
    assert links(text) == [("J1", "a", "b", None, False)]


@pytest.mark.parametrize(
    ("pins", "expected"),
    [
        # KiCad's own transformer symbols: AA AB, SA SB SC SD, and SC for a tap.
        ("AA=a AB=b SA=c SB=d", {("a", "b"), ("c", "d")}),
        (
            "AA=a AB=b SA=c SB=d SC=e SD=f",
            {("a", "b"), ("c", "d"), ("e", "f")},
        ),
        ("AA=a AB=b SA=c SB=d SC=e", {("a", "b"), ("c", "d"), ("d", "e")}),
        # Common practice, no source: ends counted, or marked with their sign.
        ("P1=a P2=b S1=c S2=d", {("a", "b"), ("c", "d")}),
        ("PRI+=a PRI-=b SEC+=c SEC-=d", {("a", "b"), ("c", "d")}),
    ],
)
def test_windings_conduct_from_end_to_end(pins, expected):
    found = links(f"T1 - Device:Transformer_X {pins}")
    assert {tuple(sorted((a, b))) for _, a, b, _, _ in found} == expected


def test_taps_of_a_shunt_without_a_value_tell_nothing_of_its_ohms():
    # The copper of a tap is 0 ohm, what lies between the taps is not (Kelvin's
    # four-terminal connection; any textbook).
    circuit = recognise(
        board(
            """
            J1 - - 1:=VIN 2:=GND
            R1 - Device:R_Shunt 1:=VIN 2:=SP 3:=SN 4:=VOUT
            U1 SENSE - IN+=SP IN-=SN V+=VIN GND=GND
            """
        )
    )
    assert ShortIndex(circuit).view.ohms("R1") is None
