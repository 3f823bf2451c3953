"""A fit is as good as its best start: no neighbour's loads explain more.

Optimisation: what is called the best fit may not be worse than one that can be reached
from where another hypothesis came to rest.
"""

import numpy as np
import pytest
from _stories import FOUND, ONE_NEW_DIED, RAILS, STAGES

from ohmtrail.netanalysis.diagnosis.fit import fit
from ohmtrail.netanalysis.diagnosis.problem import rows_of
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

#: A core of a quarter of an ohm: its low side shorted, and a coil of milliohms.
LOW_SIDE = """
measure,,resistance,VCORE_1V0,GND,0.3,
measure,,four-wire,Q503.5,Q503.1,0.2445,
measure,,four-wire,C704.1,C704.2,0.2490,
"""
#: Loads in parallel on both sides of a link, all far up their ranges.
LIGHT = """
measure,,resistance,VMAIN,GND,70k,
measure,,resistance,{},GND,70k,
measure,,resistance,+5V,GND,86.5,
measure,,four-wire,C704.1,C704.2,OL,
measure,,four-wire,C712.1,C712.2,OL,
"""


@pytest.mark.parametrize(
    "rows",
    [
        RAILS,
        RAILS + STAGES,
        FOUND,
        ONE_NEW_DIED,
        LOW_SIDE,
        LIGHT.format("VIN_19V"),
        LIGHT.format("+5V"),
    ],
    ids=["rails", "stages", "found", "died", "low side", "light", "twice"],
)
def test_no_neighbours_loads_explain_more(demo, log_of, rows):
    found = weigh_log(case_of(demo, log_of(rows)))
    best = {}
    for one in found.weighed[:60]:
        best.setdefault((one.group, one.row), one)
    likely = [one for one in best.values() if one.probability > 1e-3][:12]
    lenders = [found.groups[one.group].fitted.common[one.row] for one in likely]
    for one in likely:
        group, row = found.groups[one.group], np.array([one.row])
        starts = [
            np.concatenate((common, group.fitted.fault[one.row])) for common in lenders
        ]
        rows_again = rows_of(group.batch, np.repeat(row, len(starts)))
        tried = fit(found.problem, rows_again, start=np.array(starts))
        assert tried.evidence.max() < one.evidence + 0.7, one.hypothesis.refs
