"""Edges of boards and sizes of lands, as the formats write them.

Points on arcs are worked out by hand: all arcs here are quarters or halves of circles
around (0, 0), so every point is at the radius and in the right quarter.
"""

from math import hypot

import pytest

from ohmtrail.importers import ParseError, load

KICAD = """\
(kicad_pcb (version {version}) {drawings}
 (footprint "x:y" (layer "F.Cu") (at 50 50 {turn})
  (property "Reference" "R1") (property "Value" "1k")
  (pad "1" smd rect (at -1 0 {turn}) (size 2 0.5) (layers "F.Cu"))
  (pad "2" smd rect (at 1 0 {turn}) (size 2 0.5) (layers "F.Cu"))))
"""


def kicad(tmp_path, drawings="", version=20211014, turn=0):
    path = tmp_path / "x.kicad_pcb"
    path.write_text(KICAD.format(version=version, drawings=drawings, turn=turn))
    return load(path)


def on_arc(line, radius, right, down):
    """Whether all points are on the circle and in one quarter (y down)."""
    for x, y in line:
        assert hypot(x, y) == pytest.approx(radius)
        assert x * right >= -1e-9
        assert y * down >= -1e-9
    return True


def test_kicad_line_and_rectangle(tmp_path):
    board = kicad(
        tmp_path,
        '(gr_line (start 0 0) (end 30 0) (layer "Edge.Cuts"))'
        '(gr_rect (start 1 2) (end 3 5) (layer "Edge.Cuts"))'
        '(gr_line (start 0 0) (end 9 9) (layer "F.SilkS"))',
    )
    assert board.outline_mm == (
        ((0, 0), (30, 0)),
        ((1, 2), (3, 2), (3, 5), (1, 5), (1, 2)),
    )


# KiCad's file format: an arc goes from start through mid to end.
@pytest.mark.parametrize("mid", ["3 4", "4 3"])
def test_kicad_arc_through_three_points(tmp_path, mid):
    text = f'(gr_arc (start 5 0) (mid {mid}) (end 0 5) (layer "Edge.Cuts"))'
    (line,) = kicad(tmp_path, text).outline_mm
    assert line[0] == pytest.approx((5, 0))
    assert line[-1] == pytest.approx((0, 5))
    assert on_arc(line, 5, 1, 1)


def test_kicad_arc_the_long_way_round(tmp_path):
    text = '(gr_arc (start 5 0) (mid -3 -4) (end 0 5) (layer "Edge.Cuts"))'
    (line,) = kicad(tmp_path, text).outline_mm
    assert line[-1] == pytest.approx((0, 5))
    assert any(x < -4.5 for x, _ in line)
    assert any(y < -4.5 for _, y in line)


# Before version 6 "start" is the centre, "end" the start, and angles turn right.
def test_kicad_5_arc(tmp_path):
    text = '(gr_arc (start 0 0) (end 5 0) (angle 90) (layer "Edge.Cuts"))'
    (line,) = kicad(tmp_path, text, version=20171130).outline_mm
    assert line[-1] == pytest.approx((0, 5))
    assert on_arc(line, 5, 1, 1)


def test_kicad_circle_closes(tmp_path):
    text = '(gr_circle (center 10 10) (end 13 14) (layer "Edge.Cuts"))'
    (line,) = kicad(tmp_path, text).outline_mm
    assert line[0] == pytest.approx(line[-1])
    assert {round(hypot(x - 10, y - 10), 6) for x, y in line} == {5.0}


@pytest.mark.parametrize(
    ("turn", "extent"), [(0, (2, 0.5)), (90, (0.5, 2)), (180, (2, 0.5))]
)
def test_kicad_lands_turn_with_their_part(tmp_path, turn, extent):
    # In a board file the angle of a pad is that on the board.
    (part,) = kicad(tmp_path, turn=turn).parts
    assert part.pins[0].land_mm == pytest.approx(extent)


def test_a_coordinate_that_is_none_has_its_line(tmp_path):
    with pytest.raises(ParseError, match=r"x\.kicad_pcb:1: found 'no' in \(start"):
        kicad(tmp_path, '(gr_line (start no 0) (end 3 0) (layer "Edge.Cuts"))')


EAGLE = """\
<?xml version="1.0" encoding="utf-8"?>
<eagle version="9.6.2"><drawing><board>
<plain>
<wire x1="5" y1="0" x2="0" y2="5" width="0" layer="20" curve="90"/>
<wire x1="0" y1="0" x2="1" y2="0" width="0" layer="21"/>
<circle x="0" y="0" radius="3" width="0" layer="20"/>
</plain>
<libraries><library name="l"><packages><package name="p">
<smd name="1" x="-1" y="0" dx="2" dy="0.5" layer="1"/>
<smd name="2" x="1" y="0" dx="2" dy="0.5" layer="1" rot="R90"/>
<pad name="3" x="3" y="0" drill="0.8" diameter="1.5"/>
</package></packages></library></libraries>
<elements><element name="R1" library="l" package="p" value="" x="10" y="10"
 rot="R90"/></elements>
<signals/>
</board></drawing></eagle>
"""


def test_eagle_edges_and_lands(tmp_path):
    path = tmp_path / "x.brd"
    path.write_text(EAGLE)
    board = load(path)
    arc, circle = board.outline_mm
    # Curves turn left in EAGLE, where y points up; here it points down.
    assert arc[0] == pytest.approx((5, 0))
    assert arc[-1] == pytest.approx((0, -5))
    assert on_arc(arc, 5, 1, -1)
    assert {round(hypot(x, y), 6) for x, y in circle} == {3.0}
    lands = {pin.number: pin.land_mm for pin in board.part_by_ref["R1"].pins}
    assert lands["1"] == pytest.approx((0.5, 2))
    assert lands["2"] == pytest.approx((2, 0.5))
    assert lands["3"] == pytest.approx((1.5, 1.5))


def test_edges_of_no_board(tmp_path):
    # Expected behaviour: common practice, no source.
    text = '(gr_circle (center 0 0) (end 1 0) (layer "Edge.Cuts"))' * 6000
    with pytest.raises(ParseError, match=r"x\.kicad_pcb:1: found edges of more than"):
        kicad(tmp_path, text)
    wires = '<circle x="0" y="0" radius="3" width="0" layer="20"/>' * 6000
    path = tmp_path / "x.brd"
    path.write_text(EAGLE.replace("<plain>", "<plain>" + wires))
    with pytest.raises(ParseError, match=r"x\.brd:\d+: found edges of more than"):
        load(path)
