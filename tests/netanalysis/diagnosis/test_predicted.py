"""What a hypothesis predicts: its slopes, its states, and the copper around a short.

Slopes: the definition of a derivative.  Copper: a point contact on a sheet sees
``(sheet / pi) ln(distance / contact)``, so what is farther off never reads lower
(textbook potential of a point source on a sheet); that a link's own pad is where the
current of a short beyond it leaves a net is Kirchhoff's current law.
"""

import numpy as np
import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.diagnosis.batch import make_batch
from ohmtrail.netanalysis.diagnosis.copper_arrays import copper_arrays
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.predicted import Predictor, predicted
from ohmtrail.netanalysis.diagnosis.problem import predict, rows_of
from ohmtrail.netanalysis.diagnosis.rank import case_of
from ohmtrail.netanalysis.recognise import recognise

COILS = ("L401", "L501", "L601")

CORE = """measure,,resistance,VCORE_1V0,GND,0.4,
          measure,,four-wire,C503.1,C503.2,0.0311,
          measure,,four-wire,L501.2,Q502.3,0.0322,
          lift,Q501,,,,,
          measure,,resistance,VCORE_1V0,GND,0.4,
          lift,L501,,,,,
          measure,,four-wire,C503.1,C503.2,0.0311,
          measure,Q501,resistance,Q501.5,Q501.1,OL,off the board"""


@pytest.fixture(scope="module")
def layout(tmp_path_factory):
    """The demo board from its layout: pads have places."""
    folder = tmp_path_factory.mktemp("layout")
    board = next(f for f in write_demo(folder) if f.suffix == ".kicad_pcb")
    return recognise(load(board))


@pytest.fixture(scope="module")
def scene(layout, log_of):
    """A log with lifts, some hypotheses, and unknowns away from their usual values."""
    case = case_of(layout, log_of(CORE, layout))
    some = [fault for fault in case.faults if fault.paths][::11]
    open_ones = [fault for fault in case.faults if fault.open][:3]
    hypotheses = [Hypothesis(), *(Hypothesis(((one, 0),)) for one in some + open_ones)]
    hypotheses += [Hypothesis(((some[0], 0), (some[5], 0)))]
    batch, _ = make_batch(case, hypotheses, case.states)
    problem = case.problem
    rng = np.random.default_rng(5)
    wide = (len(batch.path), len(problem.common))
    common = problem.common_log + 0.3 * rng.standard_normal(wide)
    fault = batch.low + rng.random(batch.low.shape) * (batch.high - batch.low)
    return problem, batch, common, fault


def _pins_on(circuit, net):
    return [p for part in circuit.board.parts for p in part.pins if p.net == net]


def test_states_that_are_alike_are_solved_once_and_read_the_same(scene):
    problem, batch, common, fault = scene
    found = predicted(problem, batch, common, fault)
    leads = np.exp(common[:, -1])[:, None] * problem.leads
    plain = found.ohms / np.exp(common[:, -2])[:, None] - leads
    for state in range(problem.states):
        rows = np.flatnonzero(problem.state == state)
        columns = problem.column[rows]
        alone, _ = predict(problem, batch, common, fault, columns, state)
        assert plain[:, rows] == pytest.approx(alone, rel=1e-6, abs=1e-6)


def test_some_rows_are_predicted_as_among_all(scene):
    problem, batch, common, fault = scene
    whole = Predictor(problem, batch)
    some = np.array([1, 4, len(batch.path) - 1])
    part = whole.of(rows_of(batch, some), some).readings(common[some], fault[some])
    every = whole.readings(common, fault)
    assert part.total == pytest.approx(every.total[some], rel=1e-12)
    assert part.slope == pytest.approx(every.slope[some], rel=1e-9, abs=1e-15)


def test_slopes_are_the_derivatives(scene):
    problem, batch, common, fault = scene
    found = predicted(problem, batch, common, fault)
    m = common.shape[1]
    step = 1e-3
    for k in range(found.slope.shape[2]):
        ends = []
        for sign in (1.0, -1.0):
            theta = np.concatenate((common, fault), 1)
            theta[:, k] += sign * step
            ends.append(predicted(problem, batch, theta[:, :m], theta[:, m:]).total)
        slope = (ends[0] - ends[1]) / (2 * step)
        share = found.slope[:, :, k] / found.total
        assert share == pytest.approx(slope / found.total, abs=2e-5)


@pytest.mark.parametrize("ohms", [0.2e-3, 10e-3, 1.0])
def test_behind_a_coil_a_rail_reads_its_winding_more(layout, log_of, ohms):
    """Kirchhoff: a node that feeds nothing lies behind its coil alone.

    To a microohm, though with the coil off the node is a megohm from everything.
    """
    rows = """measure,,resistance,VCORE_1V0,GND,0.5,
              measure,,four-wire,Q403.5,Q403.1,0.26,
              measure,,four-wire,Q503.5,Q503.1,0.26,
              measure,,four-wire,Q603.5,Q603.1,0.26,"""
    case = case_of(layout, log_of(rows, layout))
    batch, _ = make_batch(case, [Hypothesis()], case.states)
    problem = case.problem
    common = problem.common_log[None].copy()
    coils = [i for i, one in enumerate(case.common) if one.ref in COILS]
    assert len(coils) == len(COILS)
    common[0, coils] = np.log(ohms)
    none = np.zeros((1, 1))
    found = predict(problem, batch, common, none, problem.column, 0)[0][0]
    assert found[1:] - found[0] == pytest.approx(ohms, abs=1e-6 + 3e-5 * ohms)


def test_what_flows_through_a_high_side_switch_counts_by_its_current(layout, log_of):
    """Kirchhoff's current law: in series the same current, whoever takes the power.

    A high side of 0.1 ohm feeds a core of 0.3 ohm: the input rail's own chips carry
    nothing, so no reading at their pads may count as one where the current goes.
    """
    pads = [p for p in _pins_on(layout, "VMAIN") if p.ref[0] in "CU"][:12]
    rows = [f"measure,,four-wire,{p.key},GND,0.4," for p in pads]
    case = case_of(layout, log_of("\n".join(rows), layout))
    short = next(f for f in case.faults_of("Q501") if f.name == "drain-source short")
    hypothesis = Hypothesis(((short, 0),))
    batch, row = make_batch(case, [Hypothesis(), hypothesis], case.states)
    problem = case.problem
    common = np.tile(problem.common_log, (len(batch.path), 1))
    core = next(i for i, one in enumerate(case.common) if one.a == "VCORE_1V0")
    common[:, core] = np.log(0.3)
    fault = np.full_like(batch.low, np.log(0.1))
    found = predicted(problem, batch, common, fault)
    copper = found.total[row[1]] - found.ohms[row[1]] - problem.bias
    pads_at, scale = np.exp(common[0, -4:-2])
    way = pads_at * batch.copper[row[1], :, 0] + scale * batch.copper[row[1], :, 1]
    assert copper == pytest.approx(way, rel=0.02)


def test_copper_grows_with_the_distance_from_the_short(layout, log_of):
    pads = [p for p in _pins_on(layout, "VCORE_1V0") if p.ref[0] == "C"]
    rows = [f"measure,,four-wire,{p.key},GND,0.03," for p in pads]
    case = case_of(layout, log_of("\n".join(rows), layout))
    short = next(f for f in case.faults if f.ref == pads[0].ref and f.name == "short")
    copper, _ = copper_arrays(case, [Hypothesis(((short, 0),))], case.readings)
    way = copper[0, :, :2].sum(1)
    apart = [np.hypot(p.x_mm - pads[0].x_mm, p.y_mm - pads[0].y_mm) for p in pads]
    assert way[0] == way.min()
    others = np.argsort(apart)[1:]
    assert (np.diff(way[others]) >= -1e-12).all()
    assert np.ptp(way) > 0.3e-3


def test_a_short_beyond_a_coil_reads_lowest_at_the_coil(layout, log_of):
    """A low-side switch at the switch node holds the rail down through its coil."""
    pads = [p for p in _pins_on(layout, "VCORE_1V0") if p.ref in COILS]
    rows = [f"measure,,four-wire,{p.key},GND,0.03," for p in pads]
    case = case_of(layout, log_of("\n".join(rows), layout))
    short = next(f for f in case.faults_of("Q502") if f.name == "drain-source short")
    copper, _ = copper_arrays(case, [Hypothesis(((short, 0),))], case.readings)
    lowest = int(np.argmin(copper[0, :, :2].sum(1)))
    assert pads[lowest].ref == "L501"
