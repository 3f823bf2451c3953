"""Parallel sets of the labelled boards: exactly those, with the gates right.

The labels say "n/a" for the gates of parts that have none.
"""

import pytest
from _labels import labelled, show

LABELLED = labelled()


@pytest.mark.parametrize("one", LABELLED)
def test_sets_are_exactly_those_of_the_labels(one):
    wanted = {
        (s["kind"], frozenset(s["parts"]), s["gates"] if s["gates"] != "n/a" else None)
        for s in one.labels["parallel_sets"]
    }
    found = {(s.kind, frozenset(s.parts), s.gates) for s in one.circuit.parallel_sets}
    show(f"{one.name}: {len(found & wanted)} of {len(wanted)} sets, {len(found)} found")
    assert found == wanted


@pytest.mark.parametrize("one", LABELLED)
def test_look_alikes_stay_apart(one):
    for group in one.labels["not_parallel"]:
        for found in one.circuit.parallel_sets:
            together = set(group) & set(found.parts)
            assert len(together) < 2, f"{found.parts}: {found.because}"


@pytest.mark.parametrize("one", LABELLED)
def test_every_set_gives_a_reason_and_only_fitted_parts(one):
    for found in one.circuit.parallel_sets:
        assert found.because
        assert len(found.parts) > 1
        assert all(one.board.part_by_ref[ref].fitted for ref in found.parts)
