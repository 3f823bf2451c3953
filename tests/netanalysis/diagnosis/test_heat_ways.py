"""What gets hot behind a shorted switch: the current goes on from there.

Kirchhoff: what is fed into a rail and passes a shorted high side takes what ties the
switch node to ground, or the load beyond the coil.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.heat_ways import Fed
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

LOW = """
measure,,resistance,VMAIN,GND,0.9,
measure,,resistance,VCORE_1V0,GND,0.7,
measure,,four-wire,Q501.5,Q501.1,0.1420,
"""


@pytest.fixture
def chance(demo, log_of):
    def of(hot, *refs):
        rows = f"{LOW}inject,{hot},,VMAIN,GND,0.8V 0.9A,\n"
        found = weigh_log(case_of(demo, log_of(rows)))
        return sum(
            one.probability
            for one in found.weighed
            if set(refs) & set(one.hypothesis.refs)
        )

    return of


def test_a_hot_low_side_behind_a_shorted_high_side_is_a_suspect(chance):
    low = "Q503", "Q504"
    assert chance("Q503", *low) > 20 * chance("", *low)
    assert chance("Q503", *low) > 20 * chance("U701", *low)


def test_a_hot_high_side_that_the_current_passes_is_the_suspect(chance):
    assert chance("Q501", "Q501") > 0.8
    assert chance("", "Q501") < 0.3


@pytest.fixture
def ways(demo, log_of):
    case = case_of(demo, log_of(""))
    fed = Fed(case, "VMAIN", "GND", off=frozenset())

    def of(*wanted):
        faults = [
            next(f for f in case.faults if (f.ref, f.name) == one) for one in wanted
        ]
        return fed.ways(faults)

    return of


def test_without_a_fault_the_loads_of_the_rail_take_the_current(ways):
    found = ways()
    assert not found.sinks
    assert not found.passed
    assert "U701" not in found.loads
    assert all(found.of_loads(ref) == 1.0 for ref in found.loads)


def test_through_a_high_side_the_core_takes_it(ways):
    found = ways(("Q501", "drain-source short"))
    assert not found.sinks
    assert found.passed == ("Q501",)
    assert "U701" in found.loads
    assert 0 < found.of_loads("Q501") < found.of_loads("U701") < 1


def test_through_both_switches_ground_takes_it(ways):
    both = ("Q501", "drain-source short"), ("Q503", "drain-source short")
    found = ways(*both)
    assert [one.ref for one in found.sinks] == ["Q503"]
    assert found.passed == ("Q501",)
    assert sum(found.chances().values()) == pytest.approx(1.0)
    assert ways(*reversed(both)).chances() == found.chances()


def test_a_low_side_alone_is_out_of_reach(ways):
    found = ways(("Q503", "drain-source short"))
    assert not found.sinks
    assert found.loads == ways().loads


def test_heat_at_the_load_clears_no_lesser_short_that_a_lift_found(demo, log_of):
    """Rayleigh: a good capacitor off the board raises nothing, this one 0.389 to 0.413.

    It is some six ohms beside a core of 0.41: the core takes the current, and is warm.
    """
    rows = """
    measure,,resistance,VCORE_1V0,GND,0.4,
    measure,,four-wire,C704.1,C704.2,0.3887,
    measure,,four-wire,C705.1,C705.2,0.3889,
    inject,U701,,VCORE_1V0,GND,1V 2.57A,
    power,,,VIN_19V,GND,limit,
    lift,C704,,,,,
    measure,,four-wire,C705.1,C705.2,0.4132,
    """
    found = weigh_log(case_of(demo, log_of(rows)))
    assert found.weighed[0].hypothesis.refs == ("C704",)
    assert found.weighed[0].probability > 0.7
