"""Real boards with pin names, symbols and descriptions taken away.

What is left is what an IPC-2581 file holds: values, footprints, net names.  The
boards are those without a layout in `test_same_board`; none was looked at while
the rules for nameless chips were written.
"""

import functools
from collections import Counter
from dataclasses import replace

from _labels import show
from _oracles import catalogue, corpus
from _same_board import BOARDS, compare

from ohmtrail.importers import load
from ohmtrail.importers._errors import ImporterError
from ohmtrail.netanalysis.board import make_board
from ohmtrail.netanalysis.recognise import recognise

#: Small boards say nothing about chips.
PARTS_MIN = 20


def without_names(board):
    parts = [
        replace(
            part,
            library="",
            description="",
            keywords="",
            fields=(),
            pins=tuple(replace(pin, name="", electrical="") for pin in part.pins),
        )
        for part in board.parts
    ]
    return make_board(
        name=board.name,
        format=board.format,
        version=board.version,
        parts=parts,
        net_order=(net.name for net in board.nets),
    )


@functools.cache
def figures():
    corpus()
    total = Counter()
    for design in catalogue("kicad6+", "kicad5", "kicad4", "eagle", "kicad_demo"):
        if design.name in BOARDS:
            continue
        try:
            board = load(design.root)
        except ImporterError:
            continue  # reading it is another test's business
        if len(board.parts) < PARTS_MIN:
            continue
        found = compare(recognise(board), recognise(without_names(board)))
        show(f"{design.name}: {found.line()}")
        for key, counts in (("stages", found.stages), ("sets", found.sets)):
            total[key, "right"] += counts[0]
            total[key, "all"] += counts[1]
            total[key, "more"] += counts[2]
    show(str(dict(total)))
    return total


def test_parallel_sets_do_not_need_names():
    total = figures()
    assert total["sets", "all"] > 0
    assert total["sets", "right"] == total["sets", "all"]
    assert total["sets", "more"] == 0


def test_most_stages_do_not_need_names():
    """Reached: 46 of 62, and 5 that the named board does not have."""
    total = figures()
    assert total["stages", "right"] >= 0.7 * total["stages", "all"]
    assert total["stages", "more"] <= 0.1 * total["stages", "all"]
