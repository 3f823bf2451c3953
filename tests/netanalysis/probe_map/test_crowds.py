"""Crowded points get a window, lone ones none; landmarks are large and apart."""

import random
from math import dist

import pytest

from ohmtrail.netanalysis.board import Part, Pin, make_board
from ohmtrail.netanalysis.circuit import Circuit, Kind
from ohmtrail.netanalysis.probe_map.bodies import bodies, extent, landmarks
from ohmtrail.netanalysis.probe_map.crowds import crowded_windows


def windows(points, most=14, least=3):
    return crowded_windows(
        points, 2.0, join_mm=5.0, margin_mm=1.0, most=most, least=least
    )


@pytest.mark.parametrize("seed", range(4))
def test_every_crowded_point_is_in_one_window(seed):
    chance = random.Random(seed)
    points = [(chance.uniform(0, 60), chance.uniform(0, 60)) for _ in range(300)]
    found = windows(points, least=1)
    members = [one for window in found for one in window.members]
    assert len(members) == len(set(members))
    crowded = {
        n
        for n, a in enumerate(points)
        if any(dist(a, b) < 2.0 for m, b in enumerate(points) if m != n)
    }
    assert set(members) >= crowded
    for window in found:
        assert len(crowded.intersection(window.members)) <= 14
        for one in window.members:
            if one not in crowded:
                continue
            x, y = points[one]
            assert window.left + 1 <= x + 1e-9
            assert x <= window.right - 1 + 1e-9
            assert window.top + 1 <= y + 1e-9
            assert y <= window.bottom - 1 + 1e-9


def test_lone_points_need_no_window():
    assert windows([(10.0 * n, 0.0) for n in range(9)]) == ()


def test_a_lone_point_in_a_window_belongs_to_it():
    corners = [(0.0, 0.0), (1.0, 0.0), (4.5, 0.0), (5.5, 0.0), (2.0, 5.0), (3.0, 5.0)]
    (window,) = crowded_windows(
        [*corners, (2.5, 2.5), (20.0, 2.5)], 2.0, join_mm=5.5, margin_mm=1.0
    )
    assert sorted(window.members) == [0, 1, 2, 3, 4, 5, 6]


def test_many_points_on_one_spot_are_cut_up():
    found = windows([(1.0, 1.0)] * 40)
    assert sorted(one for window in found for one in window.members) == list(range(40))
    assert all(len(window.members) <= 14 for window in found)


def box(ref, x, y, size, side="top"):
    """A part with a land at each end of a square."""
    ends = [(x - size / 2, y - size / 2), (x + size / 2, y + size / 2)]
    pins = tuple(
        Pin(ref, str(n), "N", x_mm=px, y_mm=py, side=side, land_mm=(1.0, 1.0))
        for n, (px, py) in enumerate(ends, 1)
    )
    return Part(ref, "", pins, side=side)


def test_landmarks_are_large_seen_and_apart():
    parts = [
        box("U1", 10, 10, 9),
        box("U2", 12, 10, 8.9),  # beside U1: no help
        box("J1", 90, 50, 8),
        box("U3", 50, 50, 20, side="bottom"),
        box("C1", 50, 10, 30),  # large, but a capacitor like many
    ]
    board = make_board(name="b", format="", version="", parts=parts)
    kinds = {"U": "chip", "J": "connector", "C": "capacitor"}
    circuit = Circuit(
        board, kinds={part.ref: Kind(kinds[part.ref[0]], "") for part in parts}
    )
    boxes = bodies(board)
    assert [one.ref for one in landmarks(circuit, boxes, "top", 2)] == ["U1", "J1"]
    assert [one.ref for one in landmarks(circuit, boxes, "bottom")] == ["U3"]


def test_a_body_reaches_around_its_lands():
    board = make_board(name="b", format="", version="", parts=[box("U1", 10, 10, 4)])
    (body,) = bodies(board)
    assert body.left <= 7.5
    assert body.right >= 12.5
    assert body.middle == pytest.approx((10, 10))


def test_extent_is_that_of_the_outline_or_of_the_parts():
    parts = [box("U1", 10, 10, 4)]
    bare = make_board(name="b", format="", version="", parts=parts)
    left, top, right, bottom = extent(bare)
    assert left < 8
    assert top < 8
    assert right > 12
    assert bottom > 12
    edged = make_board(
        name="b", format="", version="", parts=parts, outline_mm=[((0, 0), (30, 20))]
    )
    assert extent(edged) == (0, 0, 30, 20)
    nothing = make_board(
        name="b", format="", version="", parts=[Part("R1", "", (Pin("R1", "1", "N"),))]
    )
    assert extent(nothing) is None
