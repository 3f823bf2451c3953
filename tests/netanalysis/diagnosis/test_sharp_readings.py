"""Four-wire readings are sharp to a ten-thousandth: the fit has to follow them.

Series resistance: at a low-side switch a core reads its load and a coil's winding.
That a power coil has some tens of milliohms is common practice, no source.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.rank import case_of, rank, weigh_log


@pytest.mark.parametrize("winding_ohms", [0.035, 0.1, 0.2])
@pytest.mark.parametrize("core_ohms", [2.0, 5.0])
def test_a_coils_winding_convicts_no_switch(demo, log_of, core_ohms, winding_ohms):
    both = core_ohms + winding_ohms
    found = weigh_log(
        case_of(
            demo,
            log_of(
                f"""
                measure,,resistance,VCORE_1V0,GND,{core_ohms},
                measure,,four-wire,Q503.5,Q503.1,{both:.4f},
                measure,,four-wire,Q504.5,Q504.1,{both - 0.0005:.4f},
                measure,,resistance,VMAIN,GND,47k,
                measure,,resistance,+3V3,GND,640,
                """
            ),
        )
    )
    likeliest = found.weighed[0]
    assert likeliest.hypothesis.faults == ()
    assert found.doubted(likeliest).max() < 0.5
    assert not rank(found).contradictions
