"""A reading that says "at least this much" is met or not; how nearly tells nothing.

Law: what every explanation of a log meets leaves their odds as they were (conditional
probability).  Where a range ends, or a bound is just met, nothing may depend on the
side at which a fit came to rest.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

BASE = "measure,,resistance,VMAIN,GND,47k,\n"


@pytest.fixture
def evidence(demo, log_of):
    def of(rows):
        found = weigh_log(case_of(demo, log_of(rows)))
        return {
            one.hypothesis.faults: one.evidence
            for one in found.weighed
            if len(one.hypothesis.faults) < 2
        }

    return of


@pytest.mark.parametrize("pads", ["C704.1,C704.2", "C723.1,C723.2", "C712.1,C712.2"])
def test_a_rail_beyond_the_milliohm_meter_convicts_nobody(evidence, pads):
    """Whether its usual load is far above the meter's range, at its end, or below."""
    before = evidence(BASE)
    after = evidence(f"{BASE}measure,,four-wire,{pads},OL,\n")
    change = {faults: after[faults] - before[faults] for faults in before}
    healthy = change[()]
    assert healthy > -2.5
    assert max(change.values()) < healthy + 0.5


@pytest.mark.parametrize("ohms", ["58k", "60k", "62k"])
def test_the_end_of_a_range_is_no_cliff(evidence, ohms):
    """An input of 60 kohm is at the end of what is usual; so is one of 58 or 62."""
    found = evidence(f"measure,,resistance,VMAIN,GND,{ohms},\n")
    usual = evidence("measure,,resistance,VMAIN,GND,40k,\n")
    assert found[()] == pytest.approx(usual[()], abs=1.0)
