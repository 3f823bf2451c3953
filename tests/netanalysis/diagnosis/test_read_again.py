"""Measure twice, lift once: what `next` reads again before a part comes off.

That a reading which convicts alone, or fits nothing else, is taken again before work is
done for it is common practice (no source).
"""

import pytest
from _stories import BOTH_NEW, HAVE, PLAIN, RAILS, STAGES

from ohmtrail.netanalysis.diagnosis.before_power import next_check
from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.outlook import outlook
from ohmtrail.netanalysis.diagnosis.posterior import weigh_these
from ohmtrail.netanalysis.diagnosis.rank import case_of, rank, weigh_log
from ohmtrail.netanalysis.diagnosis.read_again import (
    before_a_part,
    doubtful,
    low_gate,
)

#: A driver's output that one gate convicts, with new switches in place.
GATE = "measure,,resistance,Q501.4,Q501.1,5.4,"
BEFORE = "measure,,resistance,Q501.4,Q501.1,11.8,"
BY_ONE = f"{BOTH_NEW.replace(BEFORE, '')}\n{GATE}"
WELL = "measure,,resistance,VMAIN,GND,47k,\nmeasure,,resistance,+3V3,GND,640,\n"
#: 640 on +3V3 and 31 k behind its load switch: 31.6 k from one to the other.
THROUGH = """
measure,,resistance,+3V3,GND,640,
measure,,resistance,+3V3_GPS,GND,31k,
measure,,resistance,/Ports/GPS_SW,GND,31k,
measure,,resistance,Q803.3,Q803.2,3k7,
"""


@pytest.fixture
def posterior(demo, log_of):
    return lambda rows: weigh_log(case_of(demo, log_of(rows)))


def taken(action):
    return action.action, action.mode, {action.plus, action.minus}


def test_a_part_comes_off_for_one_reading_only_after_it_was_read_twice(posterior):
    rows = BY_ONE
    suspect = ("U501",)
    assert "U501" in rank(posterior(rows)).replace
    again = before_a_part(posterior(rows), suspect, PLAIN)
    assert taken(again) == ("measure", "resistance", {"Q501.4", "Q501.1"})
    assert "alone" in again.why
    twice = posterior(f"{rows}\n{GATE}")
    assert "U501" in rank(twice).replace
    after = before_a_part(twice, suspect, PLAIN)
    assert after is None or {after.plus, after.minus} != {"Q501.4", "Q501.1"}


def test_what_other_readings_say_too_is_not_read_again_for_that(posterior):
    """VMAIN 0.9, low channels on all phases and one low gate: one slip of any of the
    channels or rails would leave the switch convicted."""
    found = posterior(RAILS + STAGES)
    again = before_a_part(found, ("Q501", "Q502"), PLAIN)
    assert again is None or {again.plus, again.minus} == {"Q501.4", "Q501.1"}


def test_nobody_is_asked_to_read_again_for_a_part_that_is_not_suspected(posterior):
    assert before_a_part(posterior(RAILS + STAGES), ("R104",), PLAIN) is None


def test_a_reading_against_ohms_law_is_read_again_and_the_slip_named(posterior):
    """640 and 31 k in series are no 3.7 k (Kirchhoff): one of the four is wrong."""
    odd = doubtful(posterior(THROUGH), HAVE)
    assert taken(odd)[:2] == ("measure", "resistance")
    rows, slip = THROUGH, {"Q803.3", "Q803.2"}
    truth = {
        frozenset(("+3V3", "GND")): "640",
        frozenset(("+3V3_GPS", "GND")): "31k",
        frozenset(("/Ports/GPS_SW", "GND")): "31k",
        frozenset(slip): "31k6",
    }
    for _ in range(6):
        odd = doubtful(posterior(rows), HAVE)
        if odd is None:
            break
        value = truth[frozenset((odd.plus, odd.minus))]
        rows += f"measure,,resistance,{odd.plus},{odd.minus},{value},\n"
    assert doubtful(posterior(rows), HAVE) is None
    assert rank(posterior(rows)).contradictions == (5,)


def test_a_third_reading_settles_two_that_disagree_and_a_fourth_is_not_asked(posterior):
    two = "measure,,resistance,+3V3,GND,640,\nmeasure,,resistance,+3V3,GND,6k4,"
    odd = doubtful(posterior(two), HAVE)
    assert taken(odd) == ("measure", "resistance", {"+3V3", "GND"})
    assert "lines 2 and 3 disagree" in odd.why
    three = f"{two}\nmeasure,,resistance,+3V3,GND,641,"
    assert doubtful(posterior(three), HAVE) is None
    assert rank(posterior(three)).contradictions == (3,)


def test_a_place_that_a_lifted_coil_leaves_open_contradicts_nothing(posterior):
    """A switch node reads its rail through the coil, and next to nothing without."""
    rows = "measure,,resistance,+5V,GND,1k9,\nmeasure,,resistance,U201.6,GND,1k9,\n"
    off = f"{rows}lift,L201,,,,,\nmeasure,,resistance,U201.6,GND,2.509M,"
    assert rank(posterior(off)).contradictions == ()
    assert doubtful(posterior(off), HAVE) is None
    # but nothing was lifted here
    still = f"{rows}measure,,resistance,U201.6,GND,2.509M,"
    assert rank(posterior(still)).contradictions == (3, 4)


def test_what_cannot_be_read_as_it_was_is_not_asked_for(posterior):
    """Parts were changed since, the mode is not at hand, or nobody can get there."""
    assert doubtful(posterior(f"{THROUGH}\nlift,L201,,,,,"), HAVE) is None
    assert doubtful(posterior(THROUGH), ("four-wire",)) is None
    odd = doubtful(posterior(THROUGH), HAVE)
    away = f"measure,,resistance,{odd.plus},{odd.minus},n/a,"
    other = doubtful(posterior(f"{THROUGH}\n{away}"), HAVE)
    assert other is None or {other.plus, other.minus} != {odd.plus, odd.minus}


def test_a_part_in_the_hand_is_read_again_there_or_not_at_all(posterior):
    """Two readings of Q501 in the hand that disagree, and a third that fails."""
    gate = "measure,Q501,resistance,Q501.4,Q501.1,{},off the board\n"
    rows = f"{RAILS}lift,Q501,,,,,\n{gate.format('11.6')}{gate.format('4k98')}"
    odd = doubtful(posterior(rows), HAVE)
    assert (odd.part, odd.plus, odd.minus) == ("Q501", "Q501.4", "Q501.1")
    assert doubtful(posterior(rows + gate.format("n/a")), HAVE) is None
    assert doubtful(posterior(f"{rows}fit,Q501,,,,new,"), HAVE) is None


def test_next_asks_before_it_lifts(posterior):
    rows = BY_ONE
    action = None
    for _ in range(12):
        action = next_action(posterior(rows), PLAIN)
        if action.action != "measure":
            break
        value = "5.4" if {action.plus, action.minus} == {"Q501.4", "Q501.1"} else "n/a"
        rows += f"\nmeasure,,{action.mode},{action.plus},{action.minus},{value},"
    assert action.action in ("lift", "replace")
    assert rows.count(GATE) == 2


#: Its resistor R511 open, the punched gate of Q501 hides from its mate, which reads
#: well; the short of VMAIN is repaired (C211).
HIDDEN = """
measure,,resistance,VMAIN,GND,0.9,
lift,C211,,,,,
measure,C211,resistance,C211.1,C211.2,0.8,off the board
measure,,resistance,VMAIN,GND,47k,
measure,,resistance,Q501.4,Q501.1,5.4,
measure,,resistance,Q502.4,Q502.1,4k98,
measure,,resistance,U501.5,Q501.1,4k98,
measure,,resistance,Q501.4,Q501.1,5.4,
measure,,resistance,Q502.4,Q502.1,4k98,
"""


def test_a_gate_that_reads_low_twice_is_never_powered(posterior):
    found = posterior(HIDDEN)
    assert {"Q501", "R511"} <= set(rank(found).suspects[0].parts)
    assert next_action(found, PLAIN).action != "power"


def test_not_even_where_nothing_explains_it(posterior):
    """Only that all is well, or that C211 was the one, is thought of here."""
    every = posterior(HIDDEN)
    few = [
        one.hypothesis
        for one in every.weighed
        if one.hypothesis.refs in ((), ("C211",))
    ]
    action = low_gate(weigh_these(every.case, few))
    assert (action.action, action.part) == ("lift", "Q501")
    low = "measure,,resistance,Q501.4,Q501.1,5.4,"
    once = HIDDEN.replace(low, "", 1)
    assert low_gate(weigh_these(posterior(once).case, few)) is None
    # of three one is a slip
    good = "measure,,resistance,Q501.4,Q501.1,4k98,\n"
    slip = f"{once}{good}{good}"
    assert low_gate(weigh_these(posterior(slip).case, few)) is None
    # it was off before, and reads no better
    back = f"{HIDDEN}lift,Q501,,,,,\nfit,Q501,,,,same,\n"
    assert low_gate(weigh_these(posterior(back).case, few)).action == "stop"


def test_a_lifted_switch_is_measured_before_it_goes_back(posterior):
    rows = WELL + "lift,Q501,,,,,\n"
    action = next_check(outlook(posterior(rows)), PLAIN)
    assert (action.part, action.plus, action.minus) == ("Q501", "Q501.4", "Q501.1")
    rows += "measure,Q501,resistance,Q501.4,Q501.1,OL,off the board\n"
    assert next_check(outlook(posterior(rows)), PLAIN).action == "fit"
    rows = rows.replace(",OL,off", ",n/a,off")
    assert next_check(outlook(posterior(rows)), PLAIN).action == "fit"
