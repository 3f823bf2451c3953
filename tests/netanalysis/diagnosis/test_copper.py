"""What copper adds between two pads: a contact on a sheet near by, a strip far away.

Point contact on a sheet: (sheet / pi) ln(distance / contact).  Pouillet's law: a strip
adds by its length.  Half a milliohm a square is 35 um of copper at 1.72e-8 ohm m.
"""

import numpy as np
import pytest

from ohmtrail.netanalysis.diagnosis.copper import copper_ways


def squares(apart_mm):
    return copper_ways(np.array([apart_mm], float), carries=True)[0, 1] / 0.5e-3


def test_near_by_it_grows_by_the_logarithm():
    doubled = squares(4.0) - squares(2.0)
    assert doubled == pytest.approx(np.log(2) / np.pi, rel=0.3)


def test_far_away_it_grows_by_the_length():
    """From one decimetre to two: some squares, not the quarter of the logarithm."""
    first, second = squares(200) - squares(100), squares(300) - squares(200)
    assert first == pytest.approx(second, rel=0.1)
    assert first > 5 * np.log(2) / np.pi


def test_farther_pads_never_read_less():
    ways = copper_ways(np.linspace(0, 300, 50), carries=True)[:, 1]
    assert (np.diff(ways) > 0).all()
