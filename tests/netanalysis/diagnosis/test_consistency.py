"""Conflicts and diagnoses of a bench log, beside its probabilities.

Board and readings: the invented repair of the demo board.  That a conflict is a set
of parts of which not all are good, and a diagnosis hits all conflicts: Reiter 1987.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.consistency import consistency
from ohmtrail.netanalysis.diagnosis.hitting_sets import minimal_hitting_sets
from ohmtrail.netanalysis.diagnosis.rank import rank, weigh_log

LOW = "measure,,resistance,VMAIN,GND,0.9,"
GATE = "measure,,resistance,Q501.4,Q501.1,11.8,"
LIFT = """
lift,Q501,,,,,
measure,,resistance,VMAIN,GND,47k,
"""
HAND = """
measure,Q501,resistance,Q501.5,Q501.1,0.2,
measure,Q501,resistance,Q501.4,Q501.1,11.6,
"""


@pytest.fixture(scope="module")
def view_of_log(demo, log_of):
    def made(rows, **options):
        return consistency(Case(demo, log_of(rows)), **options)

    return made


def refs(parts):
    return {ref for ref, _ in parts}


def test_a_low_rail_is_one_conflict(view_of_log):
    found = view_of_log(LOW)
    (conflict,) = found.conflicts
    assert conflict.line == 2
    # The drawing: capacitors, both inputs of the switches, the boost's switch.
    assert refs(conflict.parts) >= {"C106", "C503", "Q501", "Q502", "Q401", "U201"}
    # Not what hangs on a rail behind a regulator, nor the load that may read low.
    assert not refs(conflict.parts) & {"C218", "U703", "R511"}
    assert len(found.diagnoses) == len(conflict.parts)


def test_a_healthy_reading_is_no_conflict(view_of_log):
    assert view_of_log("measure,,resistance,VMAIN,GND,15k,").conflicts == ()
    # A core rail may read this by its load alone (REFERENCES I).
    assert view_of_log("measure,,resistance,VCORE_1V0,GND,0.7,").conflicts == ()


def test_two_conflicts_leave_what_hits_both(view_of_log):
    found = view_of_log(f"{LOW}\n{GATE}")
    assert [conflict.line for conflict in found.conflicts] == [2, 3]
    assert refs(found.conflicts[1].parts) == {"Q501", "Q502", "U501"}
    assert {frozenset(refs(one)) for one in found.diagnoses} == {
        frozenset({"Q501"}),
        frozenset({"Q502"}),
    }


def test_lifting_clears_the_others_by_line(view_of_log):
    found = view_of_log(LOW + LIFT)
    assert found.against("C106") == (4,)
    assert found.against("Q501") == ()
    assert {frozenset(refs(one)) for one in found.diagnoses} == {frozenset({"Q501"})}


def test_the_hand_convicts(view_of_log):
    found = view_of_log(LOW + LIFT + HAND)
    assert refs(found.conflicts[-1].parts) == {"Q501"}
    assert found.diagnoses == (frozenset({("Q501", 0)}),)


def test_an_open_part_is_contradicted_by_the_reading_across_it_alone(view_of_log):
    gate = view_of_log(f"{LOW}\n{GATE}")
    assert gate.against("R511") == ()
    across = view_of_log(f"{LOW}\n{GATE}\nmeasure,,resistance,R511.1,R511.2,2.3,")
    assert across.against("R511") == (4,)


def test_a_line_that_is_not_believed(view_of_log):
    found = view_of_log(LOW + LIFT, without=[4])
    assert found.against("C106") == ()


def test_diagnoses_hit_all_conflicts(view_of_log):
    found = view_of_log(LOW + LIFT + HAND + GATE.replace("Q501", "Q401"))
    for diagnosis in found.diagnoses:
        assert all(diagnosis & conflict.parts for conflict in found.conflicts)
    whole = minimal_hitting_sets([one.parts for one in found.conflicts])
    assert set(found.diagnoses) <= set(whole)


def test_nothing_read_nothing_said(view_of_log):
    found = view_of_log("look,Q501,,,,burnt,")
    assert (found.conflicts, found.diagnoses) == ((), ())
    assert found.against("Q501") == ()


@pytest.mark.parametrize("rows", [LOW, f"{LOW}\n{GATE}", LOW + LIFT, LOW + LIFT + HAND])
def test_both_views_agree(demo, log_of, rows):
    """The likeliest explanation is a diagnosis, and no diagnosis is acquitted."""
    case = Case(demo, log_of(rows))
    found = consistency(case)
    best = rank(weigh_log(case)).suspects[0]
    assert any(refs(one) <= set(best.parts) for one in found.diagnoses)
    for diagnosis in found.diagnoses:
        assert all(not found.against(ref, piece) for ref, piece in diagnosis)
