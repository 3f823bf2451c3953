"""The s-expression reader loses nothing and accepts nothing that is not closed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._sexpr import Grammar

WORDS = st.from_regex(r"[a-z0-9_.+-]{1,8}", fullmatch=True)
TREES = st.recursive(
    st.lists(WORDS, min_size=1, max_size=3),
    lambda inner: st.lists(st.one_of(WORDS, inner), min_size=1, max_size=4).map(
        lambda items: ["g", *items]
    ),
    max_leaves=12,
)


def written(tree) -> str:
    """Write a tree as a person would, strings quoted now and then."""
    if isinstance(tree, str):
        return tree if len(tree) % 2 else f'"{tree}"'
    return "(" + " ".join(written(item) for item in tree) + ")"


@given(TREES)
def test_what_is_written_is_read(tree):
    assert Grammar().parse(written(tree), "x") == tree


@given(TREES)
def test_a_file_cut_short_is_refused(tree):
    text = written(["file", tree, ["uuid", "1"]])
    grammar = Grammar(skip=["uuid"])
    grammar.parse(text, "x")
    for end in range(1, len(text)):
        with pytest.raises(ParseError):
            grammar.parse(text[:end], "x")


def test_a_group_that_is_skipped_does_not_close_the_one_around_it():
    with pytest.raises(ParseError) as caught:
        Grammar(skip=["uuid"]).parse("(a\n(b 1)\n(uuid 2)", "x.kicad_sch")
    assert str(caught.value) == (
        "x.kicad_sch:3: found end of file, expected ')' for the '(' of line 1"
    )
