"""Likely ends: what they leave out, and what they must never touch.

The expected values follow from the stated spread (logarithmic, as far above the usual
value as below it) and from the laws of parallel resistances; there is no outside
source for the spread itself.
"""

import math
import random
from dataclasses import replace

import pytest
from _small_boards import board

from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.expect import expect
from ohmtrail.netanalysis.network.likely import LIKELY, at_least, likely_network
from ohmtrail.netanalysis.network.load_classes import is_load
from ohmtrail.netanalysis.network.scene import Range
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.network.tolerance import Corners
from ohmtrail.netanalysis.recognise import recognise

LEAK = Range(2e3, 100e3, math.inf)
RAIL = """
J1 - Connector:Conn_01x02 1:=+3V3 2:=GND
U1 - MCU:X 1:VDD=+3V3 2:GND=GND 3:PA0=S
R1 10k Device:R 1:=S 2:=GND
"""


def _leaky(count):
    """A marked 10k beside so many paths that may be there or not."""
    marked = Resistance("R1", "A", "B", 10e3, 9.5e3, 10.5e3)
    assumed = [
        Resistance(f"U{k}", "A", "B", 100e3, 2e3, math.inf, "", True, at_least(LEAK))
        for k in range(count)
    ]
    return Network(("A", "B"), (marked, *assumed))


def test_one_path_counts_at_its_own_quantile():
    # 2k (100k / 2k) ^ (2 * 5 %) beside 9.5k.
    alone = 2e3 * 50**0.1
    found = Corners(likely_network(_leaky(1))).range("A", "B")
    assert found.ohms_low == pytest.approx(1 / (1 / 9.5e3 + 1 / alone))
    assert found.ohms_low_likely >= found.ohms_low


@pytest.mark.parametrize("count", [1, 2, 3, 6])
def test_nineteen_healthy_boards_of_twenty_read_within(count):
    low = Corners(likely_network(_leaky(count))).range("A", "B").ohms_low_likely
    rng = random.Random(f"leaks {count}")
    inside = 0
    for _ in range(4000):
        siemens = 1 / (10e3 * rng.uniform(0.95, 1.05))
        siemens += sum(1 / (2e3 * 50 ** (2 * rng.random())) for _ in range(count))
        inside += 1 / siemens >= low
    assert inside >= 0.945 * 4000  # 4,000 draws tell it to a third of a percent


def test_marked_parts_stay_at_their_worst():
    marked = Network(("A", "B"), (_leaky(0).resistances))
    assert likely_network(marked) is marked


def test_a_rails_low_end_is_its_class():
    solved = SolvedBoard(recognise(board(RAIL), {}))
    loads = [one for one in solved.network.resistances if is_load(one)]
    likely = [one for one in solved.likely.network.resistances if is_load(one)]
    assert loads
    assert [one.ohms_low for one in likely] == [one.ohms_low for one in loads]
    assert all(one.ohms_high < math.inf for one in likely)


def test_the_board_itself_keeps_the_whole_range():
    """Other answers rest on it: what is possible, not what is usual."""
    solved = SolvedBoard(recognise(board(RAIL), {}))
    before = solved.network
    assert LIKELY in expect(solved, "resistance", "S", "GND").notes
    assert solved.network is before
    worst = [replace(one, likely=None) for one in before.resistances]
    whole = SolvedBoard(
        solved.circuit, network=replace(before, resistances=tuple(worst))
    )
    wide = expect(whole, "resistance", "S", "GND")
    assert LIKELY not in wide.notes
    assert wide.low < expect(solved, "resistance", "S", "GND").low
