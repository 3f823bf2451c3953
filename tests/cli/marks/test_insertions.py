"""What is put into a file comes out again, to the byte."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.cli.marks.insertions import Insertion, insert, spans_of, take_out

SOME = st.lists(st.tuples(st.integers(0, 99), st.binary(max_size=8)), max_size=6)


@given(st.binary(max_size=60), SOME)
def test_taking_out_undoes_inserting(original, wanted):
    some = [Insertion(place % (len(original) + 1), data) for place, data in wanted]
    marked = insert(original, some)
    assert len(marked) == len(original) + sum(len(data) for _, data in wanted)
    assert take_out(marked, spans_of(some)) == original


def test_insertions_of_one_place_keep_their_order():
    some = [Insertion(2, b"<1>"), Insertion(0, b"<0>"), Insertion(2, b"<2>")]
    assert insert(b"abc", some) == b"<0>ab<1><2>c"


def test_a_place_outside_is_refused():
    with pytest.raises(ValueError, match="found offset 4"):
        insert(b"abc", [Insertion(4, b"x")])


@pytest.mark.parametrize("spans", [[(2, 9)], [(1, 2), (2, 1)], [(-1, 1)]])
def test_spans_that_do_not_fit_are_refused(spans):
    with pytest.raises(ValueError, match="found a span"):
        take_out(b"abcd", spans)
