"""What joins what on one sheet, as KiCad 5's netlister has it.

Source of the rules: KiCad 5 documentation, "Eeschema", chapters on connections,
labels, buses and power ports; the corpus tests hold them against real netlists.
"""

import pytest
from _drawn import junction, label, part, wire

#: R1 at (1000, 1000): pin 1 at y 850, pin 2 at y 1150.  R2 stands 1000 beside it.
R1, R2 = part("R1", 1000, 1000), part("R2", 2000, 1000)


def test_a_wire_joins_at_its_ends(project):
    nets = project.nets(R1, R2, wire(1000, 850, 2000, 850))
    assert nets == {
        "Net-(R1-Pad1)": "R1.1 R2.1",
        "Net-(R1-Pad2)": "R1.2",
        "Net-(R2-Pad2)": "R2.2",
    }


def test_pins_at_one_place_join(project):
    assert "R1.2 R2.1" in project.nets(R1, part("R2", 1000, 1300)).values()


@pytest.mark.parametrize(("mark", "joined"), [("", False), (junction(1000, 500), True)])
def test_crossing_wires_join_by_a_junction_only(project, mark, joined):
    nets = project.nets(
        R1, part("R2", 2000, 650), wire(1000, 850, 1000, 0),
        wire(0, 500, 2000, 500), mark,
    )  # fmt: skip
    assert ("R1.1 R2.1" in nets.values()) is joined


@pytest.mark.parametrize(("mark", "joined"), [("", False), (junction(1500, 850), True)])
def test_an_end_on_a_wire_needs_a_junction(project, mark, joined):
    nets = project.nets(
        R1, part("R2", 1500, 1500), wire(1000, 850, 2000, 850),
        wire(1500, 850, 1500, 1350), mark,
    )  # fmt: skip
    assert ("R1.1 R2.1" in nets.values()) is joined


def test_wires_that_overlap_are_one(project):
    nets = project.nets(R1, R2, wire(1000, 850, 1600, 850), wire(2000, 850, 1400, 850))
    assert "R1.1 R2.1" in nets.values()


def test_a_pin_in_the_middle_of_a_wire_touches_nothing(project):
    nets = project.nets(R1, R2, wire(500, 850, 2000, 850))
    assert "R1.1 R2.1" not in nets.values()


@pytest.mark.parametrize("x", [1000, 1500, 2000])
def test_a_label_names_the_wire_that_it_lies_on(project, x):
    nets = project.nets(R1, R2, wire(1000, 850, 2000, 850), label("IN", x, 850))
    assert nets["/IN"] == "R1.1 R2.1"


def test_a_label_on_a_slanted_wire(project):
    nets = project.nets(R1, wire(1000, 850, 1300, 450), label("IN", 1150, 650))
    assert nets["/IN"] == "R1.1"


def test_equal_labels_join_on_a_sheet(project):
    nets = project.nets(R1, R2, label("A", 1000, 850), label("A", 2000, 1150))
    assert nets["/A"] == "R1.1 R2.2"


def test_labels_are_told_apart_by_case(project):
    nets = project.nets(R1, R2, label("a", 1000, 850), label("A", 2000, 1150))
    assert nets["/a"] == "R1.1"
    assert nets["/A"] == "R2.2"


def test_a_graphic_line_joins_nothing(project):
    nets = project.nets(R1, R2, wire(1000, 850, 2000, 850, "Notes"))
    assert "R1.1 R2.1" not in nets.values()


@pytest.mark.parametrize(
    ("matrix", "pin_1", "pin_2"),
    [
        ("1    0    0    -1", (1000, 850), (1000, 1150)),
        ("0    1    1    0", (1150, 1000), (850, 1000)),
        ("-1   0    0    1", (1000, 1150), (1000, 850)),
        ("0    -1   -1   0", (850, 1000), (1150, 1000)),
        ("1    0    0    1", (1000, 1150), (1000, 850)),
    ],
)
def test_rotation_and_mirror(project, matrix, pin_1, pin_2):
    nets = project.nets(
        part("R1", 1000, 1000, matrix=matrix),
        label("ONE", *pin_1),
        label("TWO", *pin_2),
    )
    assert nets == {"/ONE": "R1.1", "/TWO": "R1.2"}


def test_a_net_without_labels_is_named_by_its_first_pin_as_text(project):
    nets = project.nets(
        part("R2", 1000, 1000), part("R10", 2000, 1000), wire(1000, 850, 2000, 850)
    )
    assert nets["Net-(R10-Pad1)"] == "R10.1 R2.1"


def test_names_that_lost_are_kept(project):
    board = project.load(
        R1, label("B", 1000, 850), label("A", 1000, 850),
        label("RAIL", 1000, 850, "GLabel"),
    )  # fmt: skip
    net = board.part_by_ref["R1"].pin("1").net
    assert net == "RAIL"
    assert board.net_by_name[net].aliases == ("/A", "/B")


# Buses -------------------------------------------------------------------------


def test_labels_of_a_bus_join_its_members_by_name(project):
    nets = project.nets(
        R1, R2, wire(0, 0, 3000, 0, "Bus"), label("D[0..3]", 500, 0),
        label("D2", 1000, 850), label("D2", 2000, 850), label("D3", 2000, 1150),
    )  # fmt: skip
    assert nets["/D2"] == "R1.1 R2.1"
    assert nets["/D3"] == "R2.2"


def test_two_names_of_one_bus_join_number_by_number(project):
    nets = project.nets(
        R1, R2, wire(0, 0, 3000, 0, "Bus"), label("D[7..0]", 500, 0),
        label("Q[0..7]", 900, 0), label("D2", 1000, 850), label("Q2", 2000, 850),
        label("Q3", 2000, 1150),
    )  # fmt: skip
    assert nets["/D2"] == "R1.1 R2.1"
    assert nets["/Q3" if "/Q3" in nets else "/D3"] == "R2.2"


def test_a_bus_label_on_a_wire_is_reported(project):
    board = project.load(R1, wire(1000, 850, 1000, 0), label("D[0..3]", 1000, 500))
    (found,) = board.unused
    assert found.what == "bus label on a wire, which it does not name"
    assert found.where.startswith("board.sch:")


# Parts -------------------------------------------------------------------------


def test_units_of_a_part_are_one_part(project):
    board = project.load(
        part("U1", 1000, 1000, "Amp", unit=1), part("U1", 3000, 1000, "Amp", unit=2),
        part("U1", 5000, 1000, "Amp", unit=3),
    )  # fmt: skip
    (amp,) = board.parts
    assert [pin.number for pin in amp.pins] == ["3", "1", "5", "7", "8", "4"]
    assert amp.pin("3").electrical == "input"
    assert amp.pin("8").name == "V+"
    assert board.unused == ()


def test_a_unit_that_is_not_drawn_is_reported(project):
    board = project.load(part("U1", 1000, 1000, "Amp", unit=1))
    assert [pin.number for pin in board.parts[0].pins] == ["3", "1"]
    assert [(u.what, u.where) for u in board.unused] == [
        ("part of which not every unit is drawn", "U1")
    ]


def test_the_other_drawing_of_a_gate_has_its_pins_elsewhere(project):
    for convert, y in ((1, 1000), (2, 900)):
        nets = project.nets(
            part("U1", 1000, 1000, "Amp", unit=2, convert=convert),
            label("OUT", 1300, y),
        )
        assert nets["/OUT"] == "U1.7"


def test_value_fields_and_library_name(project):
    (resistor,) = project.load(part("R1", 0, 0, value=r"3\"3 \\ x")).parts
    assert resistor.value == r'3"3 \ x'
    assert resistor.field("MPN") == "Maker-R1"
    assert resistor.library == "R"
    assert resistor.footprint == ""


def test_parts_without_a_number_stay_apart(project):
    board = project.load(part("R?", 1000, 1000), part("R?", 2000, 1000))
    assert len(board.parts) == 2
    assert len(board.nets) == 4
    assert [(u.what, u.count) for u in board.unused] == [
        ("part without a number, one was given", 2)
    ]


def test_one_reference_on_two_parts_is_reported(project):
    board = project.load(R1, part("R1", 2000, 1000), label("A", 2000, 850))
    what = {u.what: u.where for u in board.unused}
    assert what["reference that several parts have, taken as one part"] == "R1"
    assert what["pin drawn on two nets, the first one kept"].startswith("R1.1 also on")
