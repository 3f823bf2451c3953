"""Drops read while current is injected: the lowest is the short.

Ohm's law: where one current flows, drops stand to one another as resistances do,
whatever the current is.  That a supply's display is some percent off, and that the
next part's pads read a milliohm or two more than the culprit's own, is common
practice, no source.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

LOW = "measure,,resistance,net:+3V3,net:GND,1.0,\n"
PADS = {"U703": "U703.1,U703.21", "U704": "U704.8,U704.4"}


def inject(amps):
    return f"inject,,,net:+3V3,net:GND,1V {amps}A,\n"


def drop(ref, volts):
    return f"measure,,drop,{PADS[ref]},{volts},\n"


@pytest.fixture
def chances(demo, log_of):
    def of(rows):
        found = {ref: 0.0 for ref in PADS}
        for one in weigh_log(case_of(demo, log_of(rows))).weighed:
            if set(one.hypothesis.refs) <= set(found):
                for ref in one.hypothesis.refs:
                    found[ref] += one.probability
        return found

    return of


@pytest.mark.parametrize(("low", "high"), [("U703", "U704"), ("U704", "U703")])
@pytest.mark.parametrize("amps", [0.9, 0.93])
def test_the_lower_of_two_drops_points_at_the_short(chances, low, high, amps):
    """Two millivolts in 900, though the current is known to two percent only."""
    before = chances(LOW + inject(amps))
    after = chances(LOW + inject(amps) + drop(low, 0.9010) + drop(high, 0.9030))
    assert before[low] == pytest.approx(before[high], rel=0.1)
    assert after[low] > 2 * before[low]
    assert after[high] < 0.3 * before[high]


def test_drops_of_two_injections_have_two_currents(chances):
    """Set once more, the current is another: two millivolts say nothing then."""
    one = LOW + inject(0.9) + drop("U703", 0.9010)
    after = chances(one + inject(0.9) + drop("U704", 0.9030))
    assert after["U703"] == pytest.approx(after["U704"], rel=0.2)


def test_half_the_current_is_half_the_drops(chances):
    whole = chances(LOW + inject(0.9) + drop("U703", 0.9010) + drop("U704", 0.9030))
    half = chances(LOW + inject(0.45) + drop("U703", 0.4505) + drop("U704", 0.4515))
    odds = [one["U703"] / one["U704"] for one in (whole, half)]
    assert min(odds) > 20
