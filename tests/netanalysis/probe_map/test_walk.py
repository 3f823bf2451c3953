"""The way round the board keeps the order that the job needs, and turns little."""

from dataclasses import replace
from itertools import pairwise, product
from math import dist

import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.board import Part, Pin, make_board
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.checklist.model import COLD, LIMITED, LOOK, POWER, Step
from ohmtrail.netanalysis.join import join
from ohmtrail.netanalysis.probe_map.walk import make_probe_map
from ohmtrail.netanalysis.recognise import recognise

PHASES = [LOOK, COLD, LIMITED, POWER]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo board with its layout, and the steps of its main rail."""
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder)
    schematic = load(folder / "sk4.kicad_sch")
    circuit = recognise(join(schematic, load(folder / "sk4.kicad_pcb"), "layout"))
    sections = make_checklist(circuit, rail="VMAIN").sections
    return circuit.board, [step for one in sections for step in one.steps]


def in_order(way):
    return [one.step for leg in way.legs for stop in leg.stops for one in stop.steps]


def test_every_step_is_gone_to_once(demo):
    board, steps = demo
    way = make_probe_map(board, steps)
    numbers = sorted(step.n for step in in_order(way))
    assert numbers + sorted(step.n for step in way.unplaced) == [s.n for s in steps]


def test_look_before_touch_rails_before_parts_power_last(demo):
    # The order of work in the trade: look, rails to ground, parts, again after the
    # repair, injection and limited power, full power (common practice, no source).
    board, steps = demo
    order = in_order(make_probe_map(board, steps))
    phases = [PHASES.index(step.phase) for step in order]
    assert phases == sorted(phases)
    cold = [step.row for step in order if step.phase == COLD]
    rails = [row in ("rail", "rail swapped", "rail diode") for row in cold]
    assert rails == sorted(rails, reverse=True)
    again = [row == "again" for row in cold]
    assert again == sorted(again)


def test_the_length_is_that_of_the_stops(demo):
    board, steps = demo
    way = make_probe_map(board, steps)
    total, before = 0.0, None
    for leg in way.legs:
        for stop in leg.stops:
            here = (stop.place.x_mm, stop.place.y_mm)
            if before is not None and before[0] == leg.side:
                total += dist(before[1], here)
            before = leg.side, here
    assert way.length_mm == pytest.approx(total)


def test_shorter_than_in_the_order_of_the_checklist(demo):
    board, steps = demo
    places = [(s.x_mm, s.y_mm) for s in steps if s.x_mm is not None]
    plain = sum(dist(a, b) for a, b in pairwise(places))
    assert make_probe_map(board, steps).length_mm < plain / 2


def pads(*places):
    """A board of one-pad parts at (x, y, side), and a cold step at each."""
    parts = [
        Part(f"TP{n}", "", (Pin(f"TP{n}", "1", f"N{n}", x_mm=x, y_mm=y, side=side),))
        for n, (x, y, side) in enumerate(places, 1)
    ]
    board = make_board(name="b", format="", version="", parts=parts)
    steps = [
        Step("", COLD, "", mode="resistance", plus=f"TP{n}.1", minus="N1", n=n)
        for n in range(1, len(places) + 1)
    ]
    return board, steps


def test_one_turn_where_no_order_asks_for_more():
    board, steps = pads(*((x, x % 3, ("top", "bottom")[x % 2]) for x in range(12)))
    way = make_probe_map(board, steps)
    assert way.turns == 1
    assert [leg.side for leg in way.legs] == ["top", "bottom"]


@pytest.mark.parametrize("needs", list(product(["t", "b", "tb"], repeat=3)))
def test_never_more_turns_than_the_order_asks_for(needs):
    # The fewest turns, by trying every order of sides within each phase.
    sides = {"t": ["top"], "b": ["bottom"], "tb": ["top", "bottom"]}
    places = [side for need in needs for side in sides[need]]
    board, steps = pads(*((float(n), 0.0, side) for n, side in enumerate(places)))
    phase = [p for p, need in zip(PHASES, needs, strict=False) for _ in need]
    steps = [replace(s, phase=p) for s, p in zip(steps, phase, strict=True)]
    orders = product(*([need, need[::-1]] for need in needs))
    fewest = min(
        sum(a != b for a, b in pairwise(text))
        for text in ("".join(order) for order in orders)
    )
    assert make_probe_map(board, steps).turns == fewest


def test_drilled_pads_need_no_turn():
    board, steps = pads((0, 0, "bottom"), (1, 0, "both"), (2, 0, "both"))
    assert make_probe_map(board, steps).turns == 0


def test_a_step_without_a_position_is_named():
    board, steps = pads((0, 0, "top"), (1, None, ""))
    way = make_probe_map(board, steps)
    assert [step.n for step in way.unplaced] == [2]
    assert [step.n for step in in_order(way)] == [1]
