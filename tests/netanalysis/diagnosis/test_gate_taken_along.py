"""A punched gate and what it took along explain together what neither does alone.

TRADE: drain-to-gate punch-through takes driver and gate resistor.  An open resistor
leaves the mate's gate free, so the dead gate alone contradicts the mate, and the open
resistor alone contradicts the gate.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.rank import case_of, rank, weigh_log


@pytest.mark.parametrize("core", ["0.1", "0.3"])
def test_an_open_gate_resistor_is_no_second_failure(demo, log_of, core):
    """The core's chip is not convicted beside a low side that explains its rail."""
    found = weigh_log(
        case_of(
            demo,
            log_of(
                f"""
                measure,,resistance,VMAIN,GND,149k,
                measure,,resistance,VCORE_1V0,GND,{core},
                measure,,resistance,Q503.4,Q503.1,8.7,
                measure,,resistance,Q504.4,Q504.1,3.873k,
                measure,,resistance,Q504.4,Q504.1,3.873k,
                measure,,resistance,R513.1,R513.2,3.879k,
                measure,,resistance,R513.1,R513.2,3.879k,
                """
            ),
        )
    )
    assert set(found.weighed[0].hypothesis.refs) == {"Q503", "R513"}
    chip = sum(w.probability for w in found.weighed if "U701" in w.hypothesis.refs)
    assert chip < 0.05
    assert "U701" not in rank(found).replace


@pytest.mark.parametrize("ohms", ["0.3", "8.7"])
@pytest.mark.parametrize("gate", ["Q503.4,Q503.1", "Q504.4,Q504.1"])
def test_the_same_set_of_faults_counts_once(demo, log_of, gate, ohms):
    """Also where every set that a gate leads to was weighed before."""
    found = weigh_log(case_of(demo, log_of(f"measure,,resistance,{gate},{ohms},\n")))
    sets = [frozenset(one.hypothesis.faults) for one in found.weighed]
    assert len(sets) == len(set(sets))
