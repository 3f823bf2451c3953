"""Power pins, and sheets within sheets.  Sources as in test_wires.py."""

import pytest
from _drawn import drawing, label, part, sheet, shown, wire

R1, R2 = part("R1", 1000, 1000), part("R2", 2000, 1000)


def power(x, y, value="GND", ref="#PWR01"):
    return part(ref, x, y, "GND", value=value)


def test_a_power_symbol_gives_its_pins_name_not_its_value(project):
    nets = project.nets(R1, power(1000, 1150, value="GNDA"))
    assert nets["GND"] == "R1.2"


def test_power_symbols_are_no_parts(project):
    assert [p.ref for p in project.load(R1, power(1000, 1150)).parts] == ["R1"]


def test_hidden_power_pins_are_global(project):
    project.write("sub.sch", drawing(part("R3", 1000, 1000), label("V+", 1000, 850)))
    nets = project.nets(
        part("U1", 1000, 1000, "Amp", unit=3), sheet("sub", "sub.sch", "5A000001")
    )
    # The local label V+ of another sheet joins the power pin of this name.
    assert nets["V+"] == "R3.1 U1.8"


def test_a_local_label_alone_stays_on_its_sheet(project):
    project.write("sub.sch", drawing(part("R3", 1000, 1000), label("X", 1000, 850)))
    nets = project.nets(R1, label("X", 1000, 850), sheet("sub", "sub.sch", "5A000001"))
    assert nets["/X"] == "R1.1"
    assert nets["/sub/X"] == "R3.1"


def test_global_labels_join_everywhere(project):
    project.write(
        "sub.sch", drawing(part("R3", 1000, 1000), label("X", 1000, 850, "GLabel"))
    )
    nets = project.nets(
        R1, label("X", 1000, 850, "GLabel"), sheet("sub", "sub.sch", "5A000001")
    )
    assert nets["X"] == "R1.1 R3.1"


def test_a_sheet_used_twice_has_two_sets_of_parts(project):
    uses = [("/5A000001", "R3"), ("/5A000002", "R4")]
    inside = drawing(
        part("R3", 1000, 1000, uses=uses), label("IN", 1000, 850, "HLabel")
    )
    project.write("amp.sch", inside)
    board = project.load(
        R1, R2,
        sheet("left", "amp.sch", "5A000001", ("IN", 1000, 850)),
        sheet("right", "amp.sch", "5A000002", ("IN", 2000, 850)),
    )  # fmt: skip
    nets = shown(board)
    assert nets["/left/IN"] == "R1.1 R3.1"
    assert nets["/right/IN"] == "R2.1 R4.1"
    assert board.sheets == ("/", "/left/", "/right/")
    assert board.part_by_ref["R4"].sheet == "/right/"


def test_a_bus_enters_a_sheet_member_by_member(project):
    project.write(
        "sub.sch",
        drawing(
            part("R3", 1000, 1000),
            label("D1", 1000, 850),
            label("D0", 1000, 1150),
            label("D[0..1]", 0, 0, "HLabel"),
        ),
    )
    nets = project.nets(
        R1, label("A1", 1000, 850), label("A0", 1000, 1150),
        wire(0, 0, 500, 0, "Bus"), label("A[0..1]", 200, 0),
        sheet("sub", "sub.sch", "5A000001", ("D[0..1]", 500, 0)),
    )  # fmt: skip
    assert nets["/A1"] == "R1.1 R3.1"
    assert nets["/A0"] == "R1.2 R3.2"


@pytest.mark.parametrize(("version", "name"), [(4, "/OUT"), (2, "/sub/IN")])
def test_which_name_wins_depends_on_the_program(project, version, name):
    """KiCad 4 preferred hierarchical labels, KiCad 5 the higher sheet.

    Seen in the corpus: vesc4 (KiCad 4), mppt-2420-hc (KiCad 5).
    """
    project.write(
        "sub.sch", drawing(part("R3", 1000, 1000), label("IN", 1000, 850, "HLabel"))
    )
    nets = project.nets(
        R1, label("OUT", 1000, 850),
        sheet("sub", "sub.sch", "5A000001", ("IN", 1000, 850)), version=version,
    )  # fmt: skip
    assert nets[name] == "R1.1 R3.1"


def test_global_labels_of_version_1_were_hierarchical(project):
    project.write(
        "sub.sch",
        drawing(part("R3", 1000, 1000), label("X", 1000, 850, "GLabel"), version=1),
    )
    nets = project.nets(
        R1, label("X", 1000, 850, "GLabel"), sheet("sub", "sub.sch", "5A000001"),
        version=1,
    )  # fmt: skip
    assert nets["/X"] == "R1.1"
    assert nets["/sub/X"] == "R3.1"


def test_file_names_with_backslashes(project):
    (project.folder / "more").mkdir()
    project.write("more/sub.sch", drawing(part("R3", 1000, 1000)))
    board = project.load(sheet("sub", "more\\\\sub.sch", "5A000001"))
    assert [p.ref for p in board.parts] == ["R3"]
