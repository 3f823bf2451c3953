"""Every place of the way has its number on the map, once, and its step in the table."""

from collections import Counter, defaultdict

import pytest

from ohmtrail.cli.render.drawing import Text
from ohmtrail.cli.render.map_drawing import (
    PAGE_HEIGHT_MM,
    PAGE_WIDTH_MM,
    map_drawings,
)
from ohmtrail.cli.render.step_numbers import short_numbers
from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.join import join
from ohmtrail.netanalysis.probe_map.walk import make_probe_map
from ohmtrail.netanalysis.recognise import recognise

#: Type smaller than this is not read from half a metre off (common practice).
READABLE_MM = 1.6


@pytest.fixture(scope="module", params=["VMAIN", "VCORE_1V0"])
def drawn(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder)
    layout = load(folder / "sk4.kicad_pcb")
    circuit = recognise(join(load(folder / "sk4.kicad_sch"), layout, "layout"))
    sections = make_checklist(circuit, rail=request.param).sections
    steps = [step for one in sections for step in one.steps]
    way = make_probe_map(circuit.board, steps)
    return way, map_drawings(circuit, steps)


def numbers(pages):
    """Bold labels that begin with a digit, over several pages."""
    return Counter(
        item.text
        for page in pages
        for item in page.items
        if isinstance(item, Text) and item.bold and item.text[:1].isdigit()
    )


def test_every_place_is_numbered_once(drawn):
    way, pages = drawn
    places = defaultdict(list)
    for leg in way.legs:
        for stop in leg.stops:
            side = stop.place.side if stop.place.side != "both" else leg.side
            key = stop.place.name, side
            places[key] += [one.step.n for one in stop.steps]
    expected = Counter(short_numbers(steps) for steps in places.values())
    on_the_board = [page for page in pages if "the way round" not in page.title]
    assert numbers(on_the_board) == expected


def test_every_step_is_in_the_table_once(drawn):
    way, pages = drawn
    table = [page for page in pages if "the way round" in page.title]
    steps = [
        str(one.step.n) for leg in way.legs for stop in leg.stops for one in stop.steps
    ]
    assert numbers(table) == Counter(steps)


def test_pages_fit_and_can_be_read(drawn):
    _, pages = drawn
    for page in pages:
        assert page.width_mm == PAGE_WIDTH_MM
        assert page.height_mm <= PAGE_HEIGHT_MM
        for item in page.items:
            if isinstance(item, Text):
                assert item.size_mm >= READABLE_MM
                assert 0 <= item.x_mm <= page.width_mm
                assert 0 <= item.y_mm <= page.height_mm
