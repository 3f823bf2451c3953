"""A layout beside the schematic of the same commit: two ways to one board."""

import pytest
from _oracles import board_nodes, designs, partition_differences, unknown_pins

from ohmtrail.importers import load
from ohmtrail.netanalysis.join import join

#: The layout is of an earlier state of the design than the schematic: other parts
#: have the same references (U1 is a microcontroller there, a regulator here).
OTHER_STATE = {"skidl-example"}


def _layout(design):
    for suffix in (".kicad_pcb", ".kicad_pcb.gz"):
        path = design.root.with_suffix(suffix)
        if path.exists() and path.stat().st_size > 100:
            return path
    return None


def _both(other_state=False):
    return [
        param
        for param in designs("kicad6+", "kicad_demo")
        if param.values[0] is None
        or (
            _layout(param.values[0])
            and (param.values[0].name in OTHER_STATE) == other_state
        )
    ]


@pytest.mark.parametrize("design", _both())
def test_layout_and_schematic_say_the_same(design):
    schematic, layout = load(design.root), load(_layout(design))
    # In one demo project KiCad's own netlister disagrees with the layout.
    known = partition_differences(layout, design.netlister) if design.netlister else []
    assert partition_differences(layout, board_nodes(schematic)) == known
    assert len(known) <= (1 if "RoyalBlue54L-Feather" in design.root.name else 0)
    only_layout, _ = unknown_pins(layout, board_nodes(schematic))
    nodes = board_nodes(layout)
    # Mounting holes and shield pads may be tied to a net on the layout alone.
    assert all(
        nodes[key] is None or key[0] not in schematic.part_by_ref for key in only_layout
    )
    for part in layout.parts:
        drawn = schematic.part_by_ref.get(part.ref)
        if drawn is None:
            continue
        assert (part.value, part.fitted) == (drawn.value, drawn.fitted), part.ref
        assert part.sheet == drawn.sheet, part.ref
        for pin in part.pins:
            there = drawn.pin(pin.number)
            if there is not None and pin.name:
                assert pin.name == there.name, pin.key


@pytest.mark.parametrize("design", _both())
def test_a_joined_layout_places_every_part_that_it_has(design):
    schematic, layout = load(design.root), load(_layout(design))
    both = join(schematic, layout, "layout")
    for part in both.parts:
        there = layout.part_by_ref.get(part.ref)
        if there is None:
            continue
        assert (part.x_mm, part.y_mm, part.side) == (there.x_mm, there.y_mm, there.side)
        for pin in part.pins:
            pad = there.pin(pin.number)
            assert pad is None or (pin.x_mm, pin.side) == (pad.x_mm, pad.side)
    known = partition_differences(layout, design.netlister) if design.netlister else []
    doubts = [note for note in both.unused if "joins to other pins" in note.what]
    assert bool(doubts) == bool(known), doubts


@pytest.mark.parametrize("design", _both(other_state=True))
def test_a_layout_of_another_state_is_reported(design):
    both = join(load(design.root), load(_layout(design)), "layout")
    where = [u.where for u in both.unused if u.what.startswith("value that")]
    assert "U1: NCP1117-3.3_SOT223 here, ESP32-S3-MINI-1 there" in where
    assert any("joins to other pins" in note.what for note in both.unused)
