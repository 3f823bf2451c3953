"""Laws that hold for every log: probabilities, order, lifting, n/a, looks.

Sum of probabilities and independence of order: definition of conditional
probability.  Lifting: Rayleigh's monotonicity law.  Looks: common practice, no source.
"""

import random

import numpy as np
import pytest
from _stories import FOUND, HAVE, ONE_NEW_DIED, PLAIN, RAILS, STAGES

from ohmtrail.netanalysis.diagnosis.batch import make_batch
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.problem import predict
from ohmtrail.netanalysis.diagnosis.rank import case_of, rank, weigh_log
from ohmtrail.netanalysis.diagnosis.readings import State


@pytest.fixture
def posterior(demo, log_of):
    return lambda rows: weigh_log(case_of(demo, log_of(rows)))


@pytest.mark.parametrize(
    "rows",
    ["", RAILS, RAILS + STAGES, FOUND, ONE_NEW_DIED, "look,Q501,,,,burnt,"],
    ids=["empty", "rails", "stages", "found", "died", "look"],
)
def test_probabilities_sum_to_one(posterior, rows):
    found = posterior(rows)
    assert sum(one.probability for one in found.weighed) == pytest.approx(1.0)
    assert all(0.0 <= one.probability <= 1.0 + 1e-12 for one in found.weighed)


@pytest.mark.parametrize("rows", ["", RAILS, RAILS + STAGES])
def test_healthy_is_what_all_suspects_leave(posterior, rows):
    """However many suspects there are, and however little each of them has."""
    found = posterior(rows)
    suspected = sum(w.probability for w in found.weighed if w.hypothesis.faults)
    assert rank(found).healthy == pytest.approx(1 - suspected, abs=1e-5)


@pytest.mark.parametrize("seed", range(3))
def test_order_inside_an_epoch_does_not_matter(posterior, seed):
    rows = (RAILS + STAGES).strip().splitlines()
    rows = [row for row in rows if row]
    shuffled = rows[:]
    random.Random(seed).shuffle(shuffled)

    def chances(lines):
        found = posterior("\n".join(lines))
        made = {}
        for one in found.weighed:
            key = frozenset((f.ref, f.name, f.pin, n) for f, n in one.hypothesis.faults)
            made[key] = made.get(key, 0.0) + one.probability
        return made

    first, second = chances(rows), chances(shuffled)
    for key in set(first) | set(second):
        assert first.get(key, 0.0) == pytest.approx(second.get(key, 0.0), abs=2e-3)


@pytest.mark.parametrize("ref", ["Q501", "L501", "C503", "U201", "R511"])
def test_lifting_never_lowers_a_resistance(demo, log_of, ref):
    """Whatever is faulty: a part that goes takes paths away and adds none."""
    case = case_of(demo, log_of(RAILS + STAGES + f"lift,{ref},,,,,\n" + RAILS))
    states = (State(), State(off=frozenset({ref})))
    some = [fault for fault in case.faults if fault.paths][::7]
    hypotheses = [Hypothesis(), *(Hypothesis(((fault, 0),)) for fault in some)]
    batch, row = make_batch(case, hypotheses, states)
    numbers = case.numbers(case.readings, case.states)
    common = np.broadcast_to(
        numbers.common_log, (len(batch.path), len(numbers.common_log))
    )
    fault = 0.5 * (batch.low + batch.high)
    columns = np.unique(numbers.column)
    before, after = (
        predict(numbers, batch, common, fault, columns, s)[0][row] for s in (0, 1)
    )
    assert (after >= before * (1 - 1e-6)).all()


@pytest.mark.parametrize("have", [HAVE, PLAIN], ids=["four-wire", "plain"])
def test_a_point_that_was_not_reached_is_never_asked_for_again(posterior, have):
    rows = RAILS + STAGES
    refused = set()
    for _ in range(10):
        action = next_action(posterior(rows), have)
        if action.action != "measure":
            break
        points = frozenset((action.plus, action.minus)), action.part
        assert points not in refused
        refused.add(points)
        part = action.part or ""
        rows += f"measure,{part},{action.mode},{action.plus},{action.minus},n/a,\n"
    assert refused


def share(ranking, ref):
    return sum(one.probability for one in ranking.suspects if ref in one.parts)


def test_a_burnt_look_is_used(posterior):
    plain = rank(posterior(RAILS))
    burnt = rank(posterior(RAILS + "look,C503,,,,burnt,\n"))
    assert share(burnt, "C503") > 3 * share(plain, "C503")
    fine = rank(posterior(RAILS + "look,C503,,,,ok,\n"))
    assert share(fine, "C503") <= share(plain, "C503")


def test_a_burnt_look_outweighs_no_reading(posterior):
    """C503 looks burnt, but the short went with Q501, which reads shorted in hand."""
    found = rank(posterior(FOUND + "look,C503,,,,burnt,\n"))
    assert found.suspects[0].parts == ("Q501",)
    assert share(found, "Q501") > 0.99
    assert set(found.replace) == {"Q501", "Q502"}


def test_a_wrong_line_is_named_and_sinks_nobody(posterior):
    """VMAIN noted as 9 instead of 0.9: wrong by ten."""
    found = rank(posterior(FOUND.replace("VMAIN,GND,0.9,", "VMAIN,GND,9,")))
    assert found.suspects[0].parts == ("Q501",)
    assert 3 in found.contradictions


def test_a_healthy_board_convicts_nobody(posterior):
    rows = """
    measure,,resistance,VIN_19V,GND,60k,
    measure,,resistance,VMAIN,GND,16k,
    measure,,resistance,VCORE_1V0,GND,0.7,low; the owner worries
    measure,,resistance,+5V,GND,1k2,
    measure,,resistance,+3V3,GND,640,
    measure,,resistance,+1V1_MEM,GND,45,
    measure,,resistance,Q401.5,Q401.1,16k,
    measure,,resistance,Q501.5,Q501.1,16k,
    measure,,resistance,Q601.5,Q601.1,16k,
    """
    found = rank(posterior(rows))
    assert found.replace == ()
    assert found.contradictions == ()
