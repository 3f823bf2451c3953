"""Parts as the drawing has them, and forms that KiCad 9's netlister cannot read.

Expected values of the later forms (KiCad 10) follow KiCad's file format notes:
local power symbols, jumper pins, several pad numbers on one drawn pin.
"""

import pytest
from _kicad_drawing import FONT, Drawing, write

from ohmtrail.importers.kicad_schematic import IMPORTER
from ohmtrail.netanalysis.board import Unused

KICAD_10 = 20260101
#: More digits than Python turns into a number.
LONG = f"[1-{'9' * 5000}]"


def nets(board):
    return {net.name: sorted(pin.key for pin in net.pins) for net in board.nets}


def test_values_fields_and_sheets(tmp_path):
    root, child = Drawing("root"), Drawing("child")
    pins = [
        ("1", "G", "input", 0, 0),
        ("2", "D", "passive", 0, 5.08),
        ("2", "D", "passive", 5.08, 5.08),
    ]
    extra = f'(property "ki_keywords" "switch nmos" (at 0 0 0) {FONT})'
    child.lib("t:FET", pins, extra=extra)
    fields = "".join(
        f'(property "{key}" "{text}" (at 0 0 0) {FONT})'
        for key, text in [
            ("Footprint", "t:SO8"),
            ("Description", "30 V switch"),
            ("MPN", "X-1"),
        ]
    )
    child.symbol("t:FET", "Q1", (10, 10), value="X1", extra=fields)
    root.sheet("Phase A", child)
    root.sheet("Phase B", child, flags="(in_bom yes) (on_board yes) (dnp yes)")
    board = IMPORTER.read(write(tmp_path, root, child))
    assert board.sheets == ("/", "/Phase A/", "/Phase B/")
    assert board.version == "20250114 eeschema 9.0"
    assert board.format == "kicad_schematic"
    first, second = board.parts
    assert (first.ref, first.value, first.library) == ("Q1", "X1", "t:FET")
    assert (first.footprint, first.description) == ("t:SO8", "30 V switch")
    assert (first.keywords, first.fields) == ("switch nmos", (("MPN", "X-1"),))
    assert (first.sheet, first.fitted) == ("/Phase A/", True)
    assert (second.ref, second.sheet, second.fitted) == ("Q11", "/Phase B/", False)
    assert [(p.number, p.name, p.electrical) for p in first.pins] == [
        ("1", "G", "input"),
        ("2", "D", "passive"),
    ]


def test_units_are_one_part_and_absent_units_have_no_pins(tmp_path):
    root = Drawing("root")
    root.lib("t:M", [(str(n), "A", "input", 0, 0, n) for n in (1, 2, 3)])
    root.symbol("t:M", "U1", (10, 10), unit=2)
    root.symbol("t:M", "U1", (30, 10), unit=1)
    (part,) = IMPORTER.read(write(tmp_path, root)).parts
    assert [pin.number for pin in part.pins] == ["1", "2"]


def test_functions_chosen_on_pins(tmp_path):
    root = Drawing("root")
    root.lib(
        "t:U",
        [("1", "PA1", "bidirectional", 0, 0, 1, 1, False, [("GATE", "output")])],
    )
    root.symbol("t:U", "U1", (10, 10), functions=[("1", "GATE")])
    (part,) = IMPORTER.read(write(tmp_path, root)).parts
    assert (part.pins[0].name, part.pins[0].electrical) == ("GATE", "output")


def test_parts_left_out_are_counted(tmp_path):
    root = Drawing("root")
    root.symbol("t:P", "R1", (10, 10), flags="(in_bom yes) (on_board no) (dnp no)")
    root.symbol("t:P", "R2", (10, 10))
    root.symbol("t:GONE", "U1", (30, 10))
    root.raw("(hologram (at 1 2))")
    board = IMPORTER.read(write(tmp_path, root))
    assert [part.ref for part in board.parts] == ["R2", "U1"]
    assert board.unused == (
        Unused("part marked as not on the board", "R1", 1),
        Unused("symbol missing in lib_symbols, its pins are unknown", "U1", 1),
        Unused("unknown group (hologram ...)", "root.kicad_sch", 1),
    )


def test_a_pin_drawn_on_two_nets_is_reported(tmp_path):
    root = Drawing("root")
    root.lib("t:W", [("1", "A", "passive", 0, 0), ("1", "A", "passive", 0, 5.08)])
    root.symbol("t:W", "U1", (10.16, 50.8))
    root.label("X", (10.16, 50.8))
    root.label("Y", (10.16, 45.72))
    board = IMPORTER.read(write(tmp_path, root))
    assert nets(board) == {"/X": ["U1.1"]}
    assert board.unused == (
        Unused("pin drawn on two nets, one kept", "U1.1 also on /Y", 1),
    )


def test_parts_without_final_reference_keep_their_connections(tmp_path):
    root = Drawing("root")
    root.wire((10, 10), (30, 10))
    root.symbol("t:P", "R?", (10, 10))
    root.symbol("t:P", "C?", (30, 10))
    board = IMPORTER.read(write(tmp_path, root))
    assert nets(board) == {"Net-(C?-Pad1)": ["C?.1", "R?.1"]}


def test_parts_without_a_number_are_parts_of_their_own(tmp_path):
    """KiCad numbers them later, each its own; only units go together."""
    root = Drawing("root")
    for row, net in ((10.16, "X"), (20.32, "Y"), (30.48, "Z")):
        root.symbol("t:P", "R?", (10.16, row))
        root.label(net, (10.16, row))
    board = IMPORTER.read(write(tmp_path, root))
    assert nets(board) == {"/X": ["R?.1"], "/Y": ["R?2.1"], "/Z": ["R?3.1"]}
    assert board.unused == (
        Unused("part without a number, one was given", "R?2, R?3", 2),
    )


@pytest.mark.parametrize("text", ["{", "[]", "\0"])
def test_a_damaged_project_file_is_reported(text, tmp_path):
    root = Drawing("root")
    root.symbol("t:P", "R1", (10.16, 10.16))
    root.label("${RAIL}", (10.16, 10.16))
    path = write(tmp_path, root)
    path.with_suffix(".kicad_pro").write_text(text)
    (found,) = IMPORTER.read(path).unused
    assert found.what.startswith("project file that cannot be read")
    assert found.where == "root.kicad_pro"


@pytest.mark.parametrize("form", ["junction", "bus entry"])
def test_the_drawing_is_joined_where_lines_are_not_cut(form, tmp_path):
    """KiCad's editor cuts lines there and joins them; see known_differences."""
    root = Drawing("root")
    if form == "junction":
        root.wire((10.16, 10.16), (50.8, 10.16))
        root.pad("R1", (10.16, 10.16))
        root.pad("R2", (50.8, 10.16))
        root.pad("R3", (30.48, 10.16))
        root.junction((30.48, 10.16))
        assert nets(IMPORTER.read(write(tmp_path, root))) == {
            "Net-(R1-Pad1)": ["R1.1", "R2.1", "R3.1"]
        }
        return
    child = Drawing("child")
    child.label("D[0..1]", (10.16, 10.16), "hierarchical_label")
    child.pad("R1", (30.48, 10.16), "D0")
    root.bus((50.8, 10.16), (50.8, 81.28))
    root.label("B[0..1]", (50.8, 10.16))
    root.entry((48.26, 20.32))
    root.sheet("sub", child, [("D[0..1]", (50.8, 81.28))])
    root.pad("R2", (10.16, 40.64), "B0")
    board = IMPORTER.read(write(tmp_path, root, child))
    assert nets(board) == {"/B0": ["R1.1", "R2.1"]}


def test_local_power_symbols(tmp_path):
    root, child = Drawing("root", KICAD_10), Drawing("child", KICAD_10)
    for drawing, ref in ((root, "R"), (child, "C")):
        drawing.power("VL", (10, 10), f"#PWR{ref}1", "(power local)")
        drawing.pad(f"{ref}1", (10, 10))
        drawing.power("VG", (30, 10), f"#PWR{ref}2", "(power global)")
        drawing.pad(f"{ref}2", (30, 10))
    root.sheet("sub", child)
    assert nets(IMPORTER.read(write(tmp_path, root, child))) == {
        "/VL": ["R1.1"],
        "VG": ["C2.1", "R2.1"],
        "/sub/VL": ["C1.1"],
    }


@pytest.mark.parametrize(
    "extra",
    ['(jumper_pin_groups ("1" "2"))', "(duplicate_pin_numbers_are_jumpers yes)"],
)
def test_jumper_pins_join_their_nets(extra, tmp_path):
    root = Drawing("root", KICAD_10)
    second = "2" if "groups" in extra else "1"
    pins = [("1", "A", "passive", 0, 0), (second, "A", "passive", 20, 0)]
    root.lib("t:J", pins, extra=extra)
    root.symbol("t:J", "J1", (10, 10))
    root.pad("R1", (10, 10), "X")
    root.pad("R2", (30, 10))
    (net,) = IMPORTER.read(write(tmp_path, root)).nets
    assert net.name == "/X"
    assert {"R1.1", "R2.1"} <= {pin.key for pin in net.pins}


@pytest.mark.parametrize(
    ("number", "pads"),
    [
        ("[1-3,7]", ["1", "2", "3", "7"]),
        ("[A1,B2]", ["A1", "B2"]),
        ("[A9-A11]", ["A9", "A10", "A11"]),
        ("[]", ["[]"]),
        # KiCad 10, ExpandStackedPinNotation: the letters of both ends are the same
        # and the numbers grow, or it is no such list (from memory).
        ("[A1-3]", ["[A1-3]"]),
        ("[3-1]", ["[3-1]"]),
        (LONG, [LONG]),
    ],
)
def test_several_pads_on_one_drawn_pin(number, pads, tmp_path):
    root = Drawing("root", KICAD_10)
    root.lib("t:S", [(number, "GND", "power_in", 0, 0)])
    root.symbol("t:S", "U1", (10, 10))
    root.label("GND", (10, 10), "global_label")
    (part,) = IMPORTER.read(write(tmp_path, root)).parts
    assert [pin.number for pin in part.pins] == pads
    assert {pin.net for pin in part.pins} == {"GND"}


def test_derived_symbols_have_their_parents_pins(tmp_path):
    root = Drawing("root")
    root.lib("base", [("1", "G", "input", 0, 0)])
    root.library["t:kid"] = (
        f'(symbol "t:kid" (extends "base") (property "Value" "kid" (at 0 0 0) {FONT}))'
    )
    root.symbol("t:kid", "Q1", (10, 10))
    root.label("X", (10, 10))
    assert nets(IMPORTER.read(write(tmp_path, root))) == {"/X": ["Q1.1"]}


def test_recognised_by_content():
    assert IMPORTER.sniff(b"(kicad_sch (version 20230121)")
    assert IMPORTER.sniff(b"\xef\xbb\xbf\r\n(kicad_sch")
    assert not IMPORTER.sniff(b"(kicad_pcb (version 20230121)")
    assert not IMPORTER.sniff(b"")


def test_two_global_names_on_one_wire_are_told(tmp_path):
    """KiCad's rule check: both names are on the same items, one is used."""
    root = Drawing("root")
    root.pad("R1", (10, 10), "VIN", kind="global_label")
    root.wire((10, 10), (20, 10))
    root.label("BATT", (20, 10), "global_label")
    board = IMPORTER.read(write(tmp_path, root))
    (net,) = board.nets
    assert (net.name, net.aliases) == ("BATT", ("VIN",))
    assert Unused("further global name of net BATT", "VIN") in board.unused
