"""Suggestions held against the invented repair of the demo board.

The readings are those of ``fixtures/demo/bench_log.csv``: Q501 reads shorted in all
three terminals, on the board and in the hand; with it off the rail is free; R511 (2R2)
reads 2.3.  Verdicts: common practice, no source.
"""

import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.diagnosis.weigh import Weigher

HAVE = ("resistance", "diode", "four-wire", "drop")
COLD = """
measure,,resistance,VMAIN,GND,0.9,
measure,,resistance,VCORE_1V0,GND,0.7,
measure,,resistance,Q501.5,Q501.1,0.2,
measure,,resistance,Q501.4,Q501.1,11.8,
"""
LIFTED = f"""{COLD}
lift,Q501,,,,,
measure,,resistance,VMAIN,GND,47k,
measure,Q501,resistance,Q501.5,Q501.1,0.2,
measure,Q501,resistance,Q501.4,Q501.1,11.6,
"""


@pytest.fixture(scope="module")
def demo_log(demo, tmp_path_factory):
    path = write_demo(tmp_path_factory.mktemp("log"))[0].parent / "bench_log.csv"
    return read_log(path.read_text("utf-8"), demo.board, "bench_log.csv")


@pytest.fixture(scope="module")
def whole(demo, demo_log):
    return Weigher(demo, demo_log, HAVE)


@pytest.fixture
def weigher(demo, log_of):
    return lambda rows, have=HAVE: Weigher(demo, log_of(rows), have)


@pytest.mark.parametrize(
    ("text", "verdict", "line"),
    [
        ("Q501", "fits", None),
        ("Q501 shorted", "fits", None),
        ("the gate of Q501 is punched", "fits", None),
        ("both switches of the pair", "fits", None),
        ("the high sides of phase 2", "fits", None),
        ("Q502 weakened", "fits", None),
        # VMAIN reads 47k with Q501 off: nothing else on it is shorted.
        ("Q502 shorted", "contradicted", 18),
        ("both switches of the pair shorted", "contradicted", 18),
        ("all input caps shorted", "contradicted", 18),
        ("C106", "contradicted", 18),
        ("high-side FETs of phase C dead", "contradicted", 18),
        # Driver output to switch node: 5k0 with Q501 off.
        ("the driver", "contradicted", 23),
        # Across R511: 2.3.
        ("R511 open", "contradicted", 24),
        ("bad gate resistor", "contradicted", 24),
        ("R511 drifted", "contradicted", 24),
        ("R512", "open", None),
        ("R513 open", "open", None),
        ("the load on VCORE_1V0", "open", None),
        ("the driver of phase B", "open", None),
    ],
)
def test_verdicts(whole, text, verdict, line):
    found = whole.weigh(text)
    assert found.verdict == verdict
    assert (line in found.by) if line else found.by == ()
    assert (found.decider is not None) == (verdict == "open")


def test_the_decider_is_the_reading_across_the_part(whole):
    decider = whole.weigh("R513 open").decider
    assert {decider.plus, decider.minus} == {"R513.1", "R513.2"}
    assert decider.mode == "resistance"


def test_the_driver_of_the_low_sides_was_never_read(whole):
    """U501.5 reads well; of U501.6, which drives Q503 and Q504, no line tells."""
    decider = whole.weigh("the driver of phase B").decider
    assert "U501.6" in (decider.plus, decider.minus)


def test_a_point_that_cannot_be_reached_is_not_asked_for(weigher):
    before = weigher(LIFTED).weigh("R511 open").decider
    assert {before.plus, before.minus} == {"R511.1", "R511.2"}
    after = weigher(f"{LIFTED}\nmeasure,,resistance,R511.2,R511.1,n/a,")
    decider = after.weigh("R511 open").decider
    assert decider is None or {decider.plus, decider.minus} != {"R511.1", "R511.2"}


def test_open_with_nothing_that_decides(weigher):
    """Diode mode alone cannot read across a gate resistor here: no guess is made."""
    found = weigher(LIFTED, ("voltage",)).weigh("R511 open")
    assert found.verdict == "open"
    assert found.decider is None


def test_without_readings_all_is_open(weigher):
    found = weigher("look,Q501,,,,ok,").weigh("Q501 shorted")
    assert (found.verdict, found.by) == ("open", ())


def test_mates_are_open_until_one_is_lifted(weigher):
    """In parallel both read shorted: one of them is not told from the other."""
    rows = "measure,,resistance,VMAIN,GND,0.9,\nmeasure,,resistance,Q501.5,Q501.1,0.2,"
    found = weigher(rows)
    assert found.weigh("Q501 or Q502").verdict != "contradicted"
    assert found.weigh("Q502 shorted").verdict == "open"
    assert found.weigh("Q502 shorted").decider is not None


def test_a_weakened_part_that_carried_nothing_is_open(whole):
    found = whole.weigh("Q404 weakened")
    assert (found.verdict, found.by, found.decider) == ("open", (), None)


def test_several_meanings_have_one_verdict_only_if_they_agree(whole):
    found = whole.weigh("the 5V regulator")
    assert len(found.meanings) == 2
    assert found.verdict == "open"


def test_probabilities_are_probabilities(whole):
    for text in ("Q501", "R511 open", "Q502 shorted"):
        assert 0.0 <= whole.weigh(text).probability <= 1.0 + 1e-9


def test_too_many_ways_are_open_not_contradicted(whole):
    """Any pins of five chips at once: nothing is concluded from some of them."""
    found = whole.weigh("U101, U201, U202, U301 and U701 shorted")
    assert (found.verdict, found.by, found.decider) == ("open", (), None)
    assert "too many ways" in found.meanings[0].because[0]


def test_each_way_in_which_a_part_can_be_bad_needs_its_line(whole):
    """Q601: its channel by line 18 (VMAIN is free), its gate by line 14 (4k97)."""
    assert {14, 18} <= set(whole.weigh("Q601").by)
