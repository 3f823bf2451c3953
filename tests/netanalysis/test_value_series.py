"""The E series of IEC 60063.

The decades up to E24 and "E48 2 %, E96 1 %" are those of IEC 60063 as the Python
package ``eseries`` has them (REFERENCES D); members of E48, E96 and E192 follow the
standard's formula, with 920 as its one exception.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.netanalysis.values import (
    SERIES,
    e_series,
    is_preferred,
    nearest_preferred,
    series_of,
)

E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
E24 = (*E12, 11, 13, 16, 20, 24, 30, 36, 43, 51, 62, 75, 91)


def test_coarse_series_are_those_of_the_standard():
    assert e_series(3) == (10, 22, 47)
    assert e_series(6) == (10, 15, 22, 33, 47, 68)
    assert e_series(12) == E12
    assert e_series(24) == tuple(sorted(E24))


@pytest.mark.parametrize(
    ("steps", "wrong"), [(24, 8), (12, 5), (6, 2), (3, 1), (48, 0), (96, 0), (192, 1)]
)
def test_the_formula_is_wrong_as_often_as_the_reference_counts(steps, wrong):
    """REFERENCES D, first bullet: eight of E24, five of E12 ... one of E192."""
    scale = 10 if steps <= 24 else 100
    rounded = [round(scale * 10 ** (i / steps)) for i in range(steps)]
    assert sum(a != b for a, b in zip(rounded, e_series(steps), strict=True)) == wrong


def test_which_series_holds_which():
    """REFERENCES D: E48 in E96 in E192, E12 in E24, E24 not in E96."""
    assert set(e_series(48)) < set(e_series(96)) < set(e_series(192))
    assert set(e_series(12)) < set(e_series(24))
    assert not {10 * n for n in e_series(24)} <= set(e_series(96))
    assert 920 in e_series(192)
    assert 919 not in e_series(192)
    for steps in SERIES:
        assert len(set(e_series(steps))) == steps
        assert list(e_series(steps)) == sorted(e_series(steps))


@pytest.mark.parametrize(("index", "number"), [(1, 100), (12, 130), (24, 174)])
def test_members_of_e96_by_number(index, number):
    """REFERENCES D, EIA-96 index values (two web pages have 178 and 316: wrong)."""
    assert e_series(96)[index - 1] == number


@pytest.mark.parametrize(
    ("index", "number"), [(48, 309), (68, 499), (85, 750), (96, 976)]
)
def test_more_members_of_e96(index, number):
    """REFERENCES D."""
    assert e_series(96)[index - 1] == number


@given(st.floats(1e-13, 1e9), st.sampled_from(SERIES))
def test_nearest_is_a_member_and_no_other_is_nearer(value, steps):
    near = nearest_preferred(value, steps)
    assert is_preferred(near, steps)
    scale = 10.0 if steps <= 24 else 100.0
    decade = math.floor(math.log10(value))
    rivals = [
        number / scale * 10.0 ** (decade + step)
        for number in e_series(steps)
        for step in (-1, 0, 1)
    ]
    best = min(abs(math.log(rival / value)) for rival in rivals)
    assert abs(math.log(near / value)) == pytest.approx(best, abs=1e-9)


def test_what_is_no_preferred_value():
    assert not is_preferred(104.0, 96)
    assert is_preferred(104.0, 192)
    assert not any(is_preferred(bad) for bad in (0.0, -10.0, math.inf, math.nan))
    assert (series_of(1500.0), series_of(22e-6), series_of(1002.0)) == (6, 3, None)


def test_bad_questions_are_answered_in_one_line():
    with pytest.raises(ValueError, match=r"^no series E7, expected one of 3, 6, .*$"):
        e_series(7)
    for bad in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="expected one above 0"):
            nearest_preferred(bad)
