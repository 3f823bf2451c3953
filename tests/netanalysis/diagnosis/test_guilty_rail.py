"""Where the short is once a link has come off: a lifted link joins nothing.

A lifted link is half-split (US Army subcourse IT0338, frame 16); that a supply is put
where the short still is, is common practice (no source).
"""

import pytest

from ohmtrail.netanalysis.diagnosis.injecting import where_to_inject
from ohmtrail.netanalysis.diagnosis.lifts import guilty_rail
from ohmtrail.netanalysis.diagnosis.outlook import outlook
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

JOINED = """
measure,,resistance,VMAIN,GND,30k,
measure,,resistance,+5V,GND,4.0,
measure,,resistance,+5V,GND,4.0,
"""
BEAD_OFF = f"{JOINED}lift,FB802,,,,,\n"


@pytest.fixture
def seen(demo, log_of):
    def of(rows):
        return outlook(weigh_log(case_of(demo, log_of(rows))), acting=True)

    return of


@pytest.mark.parametrize(
    ("near_ohms", "beyond_ohms", "guilty"),
    [("900", "4.1", "+5V_SONAR"), ("4.0", "20k", "+5V")],
)
def test_the_side_that_stays_low_is_the_guilty_one(
    seen, near_ohms, beyond_ohms, guilty
):
    view = seen(
        f"{BEAD_OFF}measure,,resistance,+5V,GND,{near_ohms},\n"
        f"measure,,resistance,+5V_SONAR,GND,{beyond_ohms},\n"
    )
    assert guilty_rail(view) == (guilty, "GND")
    place = where_to_inject(view, None)
    assert place is not None
    assert place.net == guilty
    assert place.ohms == pytest.approx(4.0, abs=0.2)


def test_a_switch_node_left_alone_is_told_by_the_rail_it_fed(seen):
    view = seen(
        "measure,,resistance,VCORE_1V0,GND,0.1,\nlift,L401,,,,,\n"
        "measure,,resistance,VCORE_1V0,GND,15,\n"
        "measure,,resistance,/Core/Phase A/SW,GND,0.1,\n"
    )
    assert guilty_rail(view) == ("VCORE_1V0", "GND")
