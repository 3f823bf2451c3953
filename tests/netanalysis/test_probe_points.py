"""What people type for a pad, a net, a part."""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.nearest import NotOnBoardError, nearest
from ohmtrail.netanalysis.probe_points import find_net, find_part, find_point

BOARD = board(
    """
    Q12 - - 4:G=/Core/GATE 5:D=/Power/VMAIN 1:S=GND
    U3 - - A7:VDD=/Power/VMAIN 1:X=/A/SW 2:Y=/B/SW
    R1.5 - - 1:=GND 2:=R2.1
    R2 - - 1:=/Core/GATE 2:=GND
    """
)


@pytest.mark.parametrize(
    ("asked", "net"),
    [
        ("/Power/VMAIN", "/Power/VMAIN"),
        ("VMAIN", "/Power/VMAIN"),
        ("Power/VMAIN", "/Power/VMAIN"),
        ("vmain", "/Power/VMAIN"),
        ("net:VMAIN", "/Power/VMAIN"),
        ("B/SW", "/B/SW"),
        ("Q12.5", "/Power/VMAIN"),
        ("pin:R2.1", "/Core/GATE"),
    ],
)
def test_a_net(asked, net):
    assert find_net(BOARD, asked) == net


def test_the_last_component_must_be_unique():
    with pytest.raises(NotOnBoardError, match=r"2 nets: /A/SW, /B/SW"):
        find_net(BOARD, "SW")


@pytest.mark.parametrize(
    ("asked", "pad"),
    [("Q12.4", "Q12.4"), ("U3.A7", "U3.A7"), ("R1.5.1", "R1.5.1")],
)
def test_a_pad(asked, pad):
    assert str(find_point(BOARD, asked)) == pad


def test_a_text_that_is_pad_and_net_must_be_settled():
    with pytest.raises(NotOnBoardError, match=r"say pin:R2\.1 or net:R2\.1"):
        find_point(BOARD, "R2.1")
    assert find_point(BOARD, "pin:R2.1").net == "/Core/GATE"
    assert find_point(BOARD, "net:R2.1").pin is None


@pytest.mark.parametrize(
    ("find", "asked", "near"),
    [
        (find_net, "VMIAN", "/Power/VMAIN"),
        (find_part, "Q21", "Q12"),
        (find_point, "Q12.9", "Q12.4"),
        (find_point, "pin:Q13.1", "Q12"),
    ],
)
def test_a_name_that_is_not_there_gets_the_nearest(find, asked, near):
    with pytest.raises(NotOnBoardError) as caught:
        find(BOARD, asked)
    assert near in caught.value.near
    assert near in str(caught.value)
    assert "\n" not in str(caught.value)


def test_nothing_alike_gets_no_hint():
    assert nearest("ZZZZ", ["VMAIN", "GND"]) == ()
