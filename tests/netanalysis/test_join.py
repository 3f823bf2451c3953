"""A second view of a board fills in; what it says differently is reported."""

import re

import pytest
from _oracles import board_nodes, corpus_file

from ohmtrail.importers import load
from ohmtrail.netanalysis.board import BoardError, Part, Pin, make_board
from ohmtrail.netanalysis.join import join


def board(name, **parts):
    """``R1="10k 1=VIN 2=OUT"``: value, then pins with their nets."""
    made = []
    for ref, text in parts.items():
        value, *pins = text.split()
        made.append(
            Part(
                ref,
                "" if value == "-" else value,
                tuple(Pin(ref, *(x or None for x in p.split("="))) for p in pins),
            )
        )
    return make_board(name=name, format="made", version="", parts=made)


FIRST = board("first", R1="10k 1=VIN 2=FB", R2="- 1=FB 2=GND", C1="- 1=VIN 2=GND")


def said(joined):
    return [(u.what, u.where, u.count) for u in joined.unused]


def test_the_same_board_adds_nothing():
    assert join(FIRST, FIRST, "copy.net") == FIRST


def test_other_names_of_the_same_nets_are_no_disagreement():
    other = board("o", R1="10K 1=N1 2=N2", R2="4k7 1=N2 2=N3", C1="1u 1=N1 2=N3")
    joined = join(FIRST, other, "o.net")
    assert joined.unused == ()
    assert [p.value for p in joined.parts] == ["10k", "4k7", "1u"]
    assert board_nodes(joined) == board_nodes(FIRST)


def test_a_pin_on_another_net_is_reported_and_the_first_view_stays():
    other = board("o", R1="10k 1=VIN 2=FB", R2="- 1=FB 2=VIN", C1="- 1=VIN 2=GND")
    joined = join(FIRST, other, "o.net")
    assert said(joined) == [
        ("pin that o.net joins to other pins", "R2.2: GND here, VIN there", 1)
    ]
    assert joined.part_by_ref["R2"].pin("2").net == "GND"


def test_a_pin_left_alone_there_is_reported():
    other = board("o", R1="10k 1=VIN 2=FB", R2="- 1=FB 2=", C1="- 1=VIN 2=GND")
    assert said(join(FIRST, other, "o.net")) == [
        ("pin that o.net joins to other pins", "R2.2: GND here, no net there", 1)
    ]


def test_no_net_and_a_net_of_one_pin_are_the_same():
    first = board("a", R1="1 1=A 2=", R2="1 1=A 2=B")
    other = board("b", R1="1 1=X 2=unconnected", R2="1 1=X 2=")
    assert join(first, other, "b").unused == ()


def test_missing_parts_and_pins_and_other_values_are_reported():
    other = board("o", R1="22k 1=VIN 2=FB 3=VIN", C1="- 2=GND", D9="- 1=GND")
    assert said(join(FIRST, other, "o.net")) == [
        ("part that o.net does not have", "R2", 1),
        ("pin that only o.net has", "R1.3", 1),
        ("pin that o.net does not have", "C1.1", 1),
        ("part that only o.net has", "D9", 1),
        ("value that o.net gives differently", "R1: 10k here, 22k there", 1),
    ]


def test_milli_and_mega_differ_and_kilo_has_either_case():
    first = board("a", R1="1m 1=A", R2="4K7 1=A")
    other = board("b", R1="1M 1=A", R2="4k7 1=A")
    assert said(join(first, other, "b")) == [
        ("value that b gives differently", "R1: 1m here, 1M there", 1)
    ]


def test_positions_kinds_and_pin_names_come_over():
    pins = (
        Pin("R1", "1", "A", "VIN", "power_in", 1.0, 2.0, "top"),
        Pin("R1", "2", "B"),
    )
    part = Part("R1", "10k", pins, stated_kind="resistor", x_mm=3.0, y_mm=4.0)
    other = make_board(name="o", format="m", version="", parts=[part])
    joined = join(FIRST, other, "o").part_by_ref["R1"]
    assert (joined.stated_kind, joined.x_mm, joined.y_mm) == ("resistor", 3.0, 4.0)
    assert joined.pins[0] == Pin("R1", "1", "VIN", "VIN", "power_in", 1.0, 2.0, "top")


@pytest.mark.parametrize("mine", [True, False])
def test_not_fitted_in_either_view_is_not_fitted(mine):
    def one(fitted):
        part = Part("R1", "", (Pin("R1", "1", "A"),), fitted=fitted)
        return make_board(name="b", format="m", version="", parts=[part])

    joined = join(one(mine), one(not mine), "o.net")
    assert not joined.parts[0].fitted
    where = "in o.net" if mine else "here"
    assert said(joined) == [(f"part marked not fitted only {where}", "R1", 1)]


def test_another_board_is_refused():
    with pytest.raises(BoardError, match=re.escape("o.net: has no part in common")):
        join(FIRST, board("o", X1="- 1=A"), "o.net")


def test_two_netlists_of_a_real_board_agree(tmp_path):
    """A table of a real netlist's pins, joined onto it, brings no disagreement."""
    real = load(corpus_file("boards/vesc4/design/BLDC_4.net"))
    table = tmp_path / "table.csv"
    rows = [f"{ref},{pin},{net or ''}" for (ref, pin), net in board_nodes(real).items()]
    table.write_text("ref,pin,net\n" + "\n".join(rows))
    assert join(load(table), real, "BLDC_4.net").unused == ()
    back = join(load(table), real, "BLDC_4.net")
    assert [(p.ref, p.value) for p in back.parts] == [
        (p.ref, p.value) for p in real.parts
    ]
