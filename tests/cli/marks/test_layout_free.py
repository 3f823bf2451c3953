"""Where a legend may stand: what other drawings take, whatever their version."""

import pytest

from ohmtrail.cli.marks.layout_free import beside, drawn_around


@pytest.mark.parametrize(
    ("item", "box"),
    [
        (b"(gr_line (start 1 2) (end 5 -3) (layer L))", (1, -3, 5, 2)),
        (b'(gr_rect\n\t(start 1 2)\n\t(end 5 3)\n\t(layer "L"))', (1, 2, 5, 3)),
        (b"(gr_circle (center 10 10) (end 12 10) (layer L))", (8, 8, 12, 12)),
        (b"(gr_arc (start 0 0) (mid 1 1) (end 2 0) (layer L))", (0, 0, 2, 1)),
        (b"(gr_poly (pts (xy 0 0) (xy 9 0) (xy 9 4)) (layer L))", (0, 0, 9, 4)),
    ],
)
def test_boxes_of_drawings(item, box):
    assert drawn_around(b"(kicad_pcb (version 4) " + item + b")") == [box]


def test_a_text_reaches_both_ways_and_down_its_lines():
    (box,) = drawn_around(
        rb'(kicad_pcb (gr_text "ab\ncdef (x)" (at 10 20) (layer L)'
        rb" (effects (font (size 2 2)))))"
    )
    assert box == (10 - 16, 20 - 6.8, 10 + 16, 20 + 6.8)


@pytest.mark.parametrize(
    ("paper", "corner"),
    [
        (b'(paper "A4")', (297, 210)),
        (b"(page A3)", (420, 297)),
        (b'(paper "A4" portrait)', (210, 297)),
        (b'(paper "User" 200.5 150)', (200.5, 150)),
    ],
)
def test_the_title_block_is_at_the_lower_right(paper, corner):
    """Sizes of pages: ISO 216."""
    (box,) = drawn_around(b"(kicad_pcb " + paper + b")")
    assert box[2:] == corner
    assert box[0] < corner[0] - 100


def test_sides_are_tried_in_order():
    board, size = (0.0, 0.0, 50.0, 40.0), (30.0, 20.0)
    right, below, left = (60, 0, 61, 1), (10, 50, 11, 51), (-20, 5, -19, 6)
    above = (5, -15, 6, -14)
    assert beside(board, size, 5, []) == (55, 0)
    assert beside(board, size, 5, [right]) == (0, 45)
    assert beside(board, size, 5, [right, below]) == (-35, 0)
    assert beside(board, size, 5, [right, below, left]) == (0, -25)
    assert beside(board, size, 5, [right, below, left, above]) == (66, 0)
