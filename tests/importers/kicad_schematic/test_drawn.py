"""Where a sheet shows its parts, pins and wires."""

import pytest
from _kicad_drawing import FONT, Drawing, write
from _oracles import board_nodes, designs

from ohmtrail.importers import load
from ohmtrail.importers.kicad_schematic._extents import page_size
from ohmtrail.importers.kicad_schematic.drawn import drawn_sheets

#: A body 2.54 mm wide and 5.08 mm high, right of its middle, and a pin on its left.
SYMBOL = (
    '(symbol "t:B" (in_bom yes) (on_board yes)'
    f' (property "Reference" "U" (at 0 0 0) {FONT})'
    f' (property "Value" "B" (at 0 0 0) {FONT})'
    ' (symbol "B_0_1" (rectangle (start 0 2.54) (end 2.54 -2.54)'
    " (stroke (width 0) (type default)) (fill (type none))))"
    ' (symbol "B_1_1" (pin passive line (at -2.54 1.27 0) (length 2.54)'
    f' (name "A" {FONT}) (number "1" {FONT}))))'
)
MIDDLE = (100.0, 60.0)

#: Angle (counter-clockwise) and mirror, then by hand from the middle, y down: pin's
#: end, pin's root, body.  The library's y points up; a mirror acts after the turn,
#: "x" upside down.
PLACES = [
    (0, "", (-2.54, -1.27), (0, -1.27), (0, -2.54, 2.54, 2.54)),
    (90, "", (-1.27, 2.54), (-1.27, 0), (-2.54, -2.54, 2.54, 0)),
    (180, "", (2.54, 1.27), (0, 1.27), (-2.54, -2.54, 0, 2.54)),
    (270, "", (1.27, -2.54), (1.27, 0), (-2.54, 0, 2.54, 2.54)),
    (0, "x", (-2.54, 1.27), (0, 1.27), (0, -2.54, 2.54, 2.54)),
    (0, "y", (2.54, -1.27), (0, -1.27), (-2.54, -2.54, 0, 2.54)),
    (90, "x", (-1.27, -2.54), (-1.27, 0), (-2.54, 0, 2.54, 2.54)),
    (90, "y", (1.27, 2.54), (1.27, 0), (-2.54, -2.54, 2.54, 0)),
]


@pytest.mark.parametrize(("angle", "mirror", "end", "base", "body"), PLACES)
def test_a_turned_or_mirrored_symbol(tmp_path, angle, mirror, end, base, body):
    root = Drawing("root")
    root.library["t:B"] = SYMBOL
    root.symbol("t:B", "U1", MIDDLE, angle=angle, mirror=mirror)
    ((symbol,),) = (sheet.symbols for sheet in drawn_sheets(write(tmp_path, root)))
    (pin,) = symbol.pins
    x, y = MIDDLE
    assert (pin.x_mm - x, pin.y_mm - y) == pytest.approx(end)
    assert (pin.root_x_mm - x, pin.root_y_mm - y) == pytest.approx(base)
    near = [edge - at for edge, at in zip(symbol.body_mm, (x, y, x, y), strict=True)]
    assert near == pytest.approx(body)


def test_a_sheet_used_twice_is_drawn_once(tmp_path):
    root, child = Drawing("root"), Drawing("child")
    root.sheet("A", child, [("IN", (30.48, 30.48))])
    root.sheet("B", child, [("IN", (60.96, 30.48))])
    root.wire((20.32, 30.48), (30.48, 30.48))
    root.label("ONE", (20.32, 30.48))
    child.label("IN", (10.16, 10.16), "hierarchical_label")
    child.wire((10.16, 10.16), (20.32, 10.16))
    child.pad("R1", (20.32, 10.16))
    top, below = drawn_sheets(write(tmp_path, root, child))
    assert (top.uses, below.uses) == (("/",), ("/A/", "/B/"))
    (wire,) = below.wires
    assert wire.nets == ("/ONE", "/B/IN")
    (symbol,) = below.symbols
    assert symbol.refs == ("R1", "R11")
    assert symbol.pins[0].nets == ("/ONE", "/B/IN")


def test_a_power_symbol_is_no_part(tmp_path):
    root = Drawing("root")
    root.power("GND", (10.16, 10.16), "#PWR1")
    root.pad("R1", (10.16, 10.16))
    (sheet,) = drawn_sheets(write(tmp_path, root))
    assert [one.power for one in sheet.symbols] == [True, False]


@pytest.mark.parametrize(
    ("node", "size"),
    [
        # ISO 216, ANSI/ASME Y14.1.
        (["paper", "A4"], (297, 210)),
        (["paper", "A4", "portrait"], (210, 297)),
        (["paper", "A3"], (420, 297)),
        (["paper", "A"], (279.4, 215.9)),
        (["paper", "User", "500", "300.5"], (500, 300.5)),
        ([], (297, 210)),
    ],
)
def test_pages(node, size):
    assert page_size(node) == size


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_drawn_pins_are_the_boards_pins(design):
    """Every pin of the board is drawn, on its net; its nets are those of KiCad."""
    if design.root.suffix != ".kicad_sch":
        pytest.skip("an older format")
    drawn = {
        (ref, pin.number): net
        for sheet in drawn_sheets(design.root)
        for symbol in sheet.symbols
        if not symbol.power
        for use, ref in enumerate(symbol.refs)
        for pin in symbol.pins
        for net in [pin.nets[use]]
    }
    nodes = board_nodes(load(design.root))
    assert {key: drawn.get(key) for key in nodes} == nodes
