"""A chip's own load and a short of its pin draw their current at the same pads.

Kirchhoff: no reading elsewhere on the board can tell the two apart, however often it is
taken; only how usual each is can.
"""

import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log
from ohmtrail.netanalysis.join import join
from ohmtrail.netanalysis.recognise import recognise

CORE = """
measure,,resistance,VCORE_1V0,GND,0.7,
measure,,four-wire,C704.1,C704.2,0.6837,
"""
BEYOND_THE_COIL = """
measure,,four-wire,Q503.5,Q503.1,0.6851,
measure,,four-wire,Q504.5,Q504.1,0.6850,
"""


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory):
    """The demo board with its layout: where every pad is."""
    files = write_demo(tmp_path_factory.mktemp("demo"))
    layout = next(one for one in files if one.suffix == ".kicad_pcb")
    return recognise(join(load(files[0]), load(layout), layout.name))


@pytest.fixture
def against_healthy(laid_out, log_of):
    def of(ref, rows):
        found = weigh_log(case_of(laid_out, log_of(rows, laid_out)))
        mine = [w.evidence for w in found.weighed if w.hypothesis.refs == (ref,)]
        healthy = next(w.evidence for w in found.weighed if not w.hypothesis.faults)
        return max(mine) - healthy

    return of


@pytest.mark.parametrize("times", [1, 2, 6])
def test_readings_beyond_the_coil_convict_no_chip(against_healthy, times):
    before = against_healthy("U701", CORE)
    after = against_healthy("U701", CORE + times * BEYOND_THE_COIL)
    assert after == pytest.approx(before, abs=0.4)
