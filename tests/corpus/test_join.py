"""Two views of one real board, joined: silent exactly where the oracles agree."""

import pytest
from _oracles import (
    absent_params,
    catalogue,
    corpus,
    corpus_or_none,
    designs,
    partition_differences,
    read_oracle,
)

from ohmtrail.importers import load
from ohmtrail.netanalysis.join import join


def layout(design):
    found = sorted(design.root.parent.glob(design.root.stem + ".kicad_pcb*"))
    return found[0] if found else None


def with_layouts():
    if corpus_or_none() is None:
        return designs("kicad6+")
    found = [
        pytest.param(d, id=d.name)
        for d in catalogue("kicad6+")
        if d.pads is not None and layout(d) is not None
    ]
    return found or absent_params("the corpus has no board with schematic and layout")


@pytest.mark.parametrize("design", with_layouts())
def test_a_layout_onto_its_schematic(design):
    schematic, board = load(design.root), load(layout(design))
    joined = join(schematic, board, "layout")
    new = [u for u in joined.unused if u not in schematic.unused + board.unused]
    differ = [u for u in new if u.what == "pin that layout joins to other pins"]
    oracles_differ = partition_differences(
        read_oracle(design.netlister), read_oracle(design.pads)
    )
    assert bool(differ) == bool(oracles_differ), (differ, oracles_differ)
    missing = {u.where for u in new if u.what == "part that layout does not have"}
    placed = {p.ref for p in joined.parts if p.x_mm is not None}
    assert placed | missing == {p.ref for p in joined.parts}
    assert [(n.name, len(n.pins)) for n in joined.nets] == [
        (n.name, len(n.pins)) for n in schematic.nets
    ]


def test_boards_that_agree_are_most_of_them():
    corpus()
    agree = [
        p.id
        for p in with_layouts()
        if p.values[0] is not None
        and not partition_differences(
            read_oracle(p.values[0].netlister), read_oracle(p.values[0].pads)
        )
    ]
    assert len(agree) >= 6
