"""What is said of a reading when one part alone is suspected (common practice)."""

from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

LOW = "measure,,resistance,+5V_FAN,GND,1.5,\nmeasure,,resistance,+5V_FAN,GND,1.5,\n"
ALONE = f"{LOW}lift,C802,,,,,\nmeasure,,resistance,+5V_FAN,GND,1.5,\n"


def test_one_suspect_is_not_told_apart_from_itself(demo, log_of):
    def said(rows):
        action = next_action(weigh_log(case_of(demo, log_of(rows))), ("four-wire",))
        assert action.action == "measure"
        return action.why

    assert "it tells apart D801, C802" in said(LOW)
    assert "it speaks for D801 or against" in said(ALONE)
