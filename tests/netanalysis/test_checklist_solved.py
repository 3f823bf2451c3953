"""The ranges of a checklist are those of the network: by hand, and against ngspice."""

import math
import random

import pytest
from _labels import labelled, show
from _ngspice import readings
from _small_boards import board

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.network.awake import settled_clamps
from ohmtrail.netanalysis.network.board_state import AS_DRAWN
from ohmtrail.netanalysis.network.build import build_network
from ohmtrail.netanalysis.network.expect import expect
from ohmtrail.netanalysis.network.meter import DEFAULT_METER
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.probe_points import find_point
from ohmtrail.netanalysis.recognise import recognise

MODES = ("resistance", "four-wire", "diode")
#: Steps of a board that ngspice is asked for.
SAMPLE = 20


def cold_steps(checklist):
    return [
        step
        for section in checklist.sections
        for step in section.steps
        if step.phase == "cold" and step.mode in MODES
    ]


def node(circuit, text):
    point = find_point(circuit.board, text)
    return point.net or f"{point.pin.ref}#{point.pin.number}"


# By hand ------------------------------------------------------------------------


def gate_resistor():
    """A gate resistor of 10 ohms with 100 ohms and a coil across it."""
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=VIN 2:=GND
            R33 10R~1% Device:R 1:=DRV 2:=GATE
            R34 100R~1% Device:R 1:=DRV 2:=MID
            L3 2u2 Device:L 1:=MID 2:=GATE
            R35 1M Device:R 1:=GATE 2:=GND
            """
        ),
        {},
    )
    (step,) = [s for s in cold_steps(make_checklist(circuit, part="R33"))]
    return step


def test_a_resistor_reads_less_by_what_lies_across_it():
    step = gate_resistor()
    # 10 parallel 100 is 9.09 ohms; both 1 % either way, the meter's 1 % and two
    # counts of 0.1 ohm.  The coil reads some 40 milliohm, 2 ohms at most.
    assert step.expect.typical == pytest.approx(1000 / 110, rel=1e-3)
    low = 1 / (1 / 9.9 + 1 / 99)
    assert step.expect.low == pytest.approx(low * 0.99 - 0.2, rel=1e-3)
    high = 1 / (1 / 10.1 + 1 / (101 + 2))
    assert step.expect.high == pytest.approx(high * 1.01 + 0.2, rel=1e-3)


def test_the_source_says_it_as_a_technician_would():
    assert gate_resistor().source == (
        "marked 10R 1%, 1 %; reads 9.09 here, not 10: R34 and L3 lie across it"
    )


def test_open_is_good_only_where_nothing_should_lead_across():
    circuit = recognise(load(named_board_path("one_buck")), {})
    steps = cold_steps(make_checklist(circuit, rail="VBUS"))
    drain = next(s for s in steps if s.title.startswith("Switches, drain to source, l"))
    # A divider of 55.3 k lies across the low side, through the inductor.
    assert drain.expect.high < 55.3e3 * 1.05 * 1.02
    assert not drain.if_high.startswith("Open is good")


def test_a_load_that_nobody_knows_gives_no_clearance():
    circuit = recognise(load(named_board_path("one_buck")), {})
    steps = cold_steps(make_checklist(circuit, rail="VBUS"))
    rail = next(s for s in steps if s.row == "rail")
    assert rail.source.startswith("unknown: the volts of VBUS")
    # As little as a processor core's honest load, 0.3 ohm (common practice).
    assert rail.expect.low == 0.3
    assert rail.expect.typical is None
    stated = recognise(load(named_board_path("one_buck")), {"VBUS": 12.0})
    rail = next(
        s for s in cold_steps(make_checklist(stated, rail="VBUS")) if s.row == "rail"
    )
    # An input rail reads a kilo-ohm and more (common practice).
    assert rail.expect.low == 1e3
    assert not rail.source.startswith("unknown")


def test_a_lifted_link_is_off_in_its_step():
    circuit = recognise(load(named_board_path("three_phase")), {})
    steps = cold_steps(make_checklist(circuit, rail="VCORE_1V0"))
    cut = next(s for s in steps if s.row == "cut")
    assert cut.lifted == ("L101",)
    # The core's load, some ohms, is on the other side of the coil.
    assert cut.expect.low > 1e3


def test_sister_stages_are_expected_to_read_alike():
    circuit = recognise(load(named_board_path("three_phase")), {"VMAIN": 12.0})
    rows = {}
    for step in cold_steps(make_checklist(circuit, rail="VCORE_1V0")):
        if step.stage is not None:
            rows.setdefault(step.row, []).append(step.expect)
    several = [ranges for ranges in rows.values() if len(ranges) == 3]
    assert len(several) > 15
    for ranges in several:
        assert ranges[0] == ranges[1] == ranges[2]


def test_without_a_load_on_the_drawing_a_rail_keeps_its_class():
    circuit = recognise(load(named_board_path("one_buck")), {})
    steps = cold_steps(make_checklist(circuit, rail="+3V3"))
    rail = next(s for s in steps if s.row == "rail")
    # J2 goes to a load that no file shows: 50 ohms or more (common practice).
    assert rail.expect.low == 50.0
    # Nothing takes the divider of 55.3 k off.
    assert rail.expect.high < 55.3e3 * 1.05 * 1.02


# Every board --------------------------------------------------------------------


def boards():
    small = [
        pytest.param(name, id=name)
        for name in ("one_buck", "three_phase", "load_switch", "pass_pair")
    ]
    return [*small, *labelled()]


def circuit_of(one):
    if isinstance(one, str):
        return recognise(load(named_board_path(one)), {})
    return one.circuit


@pytest.mark.parametrize("one", boards())
def test_every_cold_step_has_a_range_or_says_what_is_unknown(one):
    steps = cold_steps(make_checklist(circuit_of(one)))
    assert steps
    known = 0
    for step in steps:
        assert step.source
        if step.expect is None:
            assert "unknown" in step.source
            continue
        known += "unknown" not in step.source
        low, high = (
            math.inf if end == "OL" else end
            for end in (step.expect.low, step.expect.high)
        )
        assert 0.0 <= low <= high
        if step.expect.typical not in (None, "OL"):
            assert low <= step.expect.typical <= high
    # Few on a board whose rails have no known volts.
    assert known >= 5


def ngspice_shows(network, mode, pair):
    """What a meter shows that steps up through its ranges, by ngspice's volts."""
    if mode == "diode":
        return readings(network, [pair], DEFAULT_METER.diode.test_amps)[0]
    for one in DEFAULT_METER.ranges(mode):
        ohms = readings(network, [pair], one.test_amps)[0] / one.test_amps
        if not ohms > one.full_scale_ohms:
            return ohms
    return math.inf


@pytest.mark.parametrize("one", labelled())
def test_usual_readings_are_ngspices(one):
    """The expected values are ngspice's, from decks of the same network."""
    circuit = one.circuit
    steps = [
        step
        for step in cold_steps(make_checklist(circuit))
        if step.expect is not None and isinstance(step.expect.typical, float)
    ]
    steps = random.Random(circuit.board.name).sample(steps, min(SAMPLE, len(steps)))
    checked = 0
    for lifted in dict.fromkeys(step.lifted for step in steps):
        drawn = build_network(circuit, AS_DRAWN.lift(frozenset(lifted)))
        settled = settled_clamps(drawn)  # as resistance mode takes clamps
        asked = [step for step in steps if step.lifted == lifted]
        for step in asked:
            pair = node(circuit, step.plus), node(circuit, step.minus)
            network = drawn if step.mode == "diode" else settled
            theirs = ngspice_shows(network, step.mode, pair)
            if math.isnan(theirs):
                continue
            checked += 1
            typical = step.expect.typical
            if typical in (step.expect.low, step.expect.high):
                continue  # cut to the range
            close = {"abs": 1e-3} if step.mode == "diode" else {"rel": 5e-3}
            assert typical == pytest.approx(theirs, **close), (step.plus, step.minus)
    show(f"{circuit.board.name}: {checked} of {len(steps)} steps")
    assert checked >= 0.9 * len(steps)


def test_a_board_narrowed_before_is_taken_as_it_is():
    circuit = recognise(load(named_board_path("one_buck")), {})
    solved = SolvedBoard(circuit)
    first = make_checklist(circuit, rail="VBUS", solved=solved)
    assert first == make_checklist(circuit, rail="VBUS")


# The other polarity ---------------------------------------------------------------


def clamped_rail():
    """A 3.3 V rail with a chip on it, and a bleeder of 47 ohms on a rail beside it."""
    return recognise(
        board(
            """
            J1 - Connector:Conn_01x03 1:=+3V3 2:=GND 3:=VLOW
            U1 LOGIC - 1:VCC=+3V3 2:GND=GND
            R1 47R~1% Device:R 1:=VLOW 2:=GND
            Q1 NFET Device:Q_NMOS_GDS 1:G=G 2:D=VLOW 3:S=OUT
            R2 10k Device:R 1:=G 2:=OUT
            """
        ),
        {"VLOW": 0.9},
    )


def test_a_body_diode_reads_one_way_only():
    steps = cold_steps(make_checklist(clamped_rail(), part="Q1"))
    (diode,) = [one for one in steps if one.mode == "diode" and one.plus == "Q1.3"]
    assert diode.swapped == "OL"
    # 10 k between gate and source read alike both ways: polarity tells nothing.
    gate = [one for one in steps if one.mode == "resistance" and "Q1.1" in
            (one.plus, one.minus) and "Q1.3" in (one.plus, one.minus)]  # fmt: skip
    assert gate
    assert {one.swapped for one in gate} == {None}


def test_a_step_says_what_expect_says_of_the_other_polarity():
    circuit = recognise(load(named_board_path("three_phase")))
    solved = SolvedBoard(circuit)
    told = [
        step
        for step in cold_steps(make_checklist(circuit, solved=solved))
        if step.swapped is not None and not step.lifted
    ]
    assert {"resistance", "diode"} <= {step.mode for step in told}
    for step in told:
        turned = expect(solved, step.mode, step.minus, step.plus).typical
        if step.swapped == "OL":
            assert math.isinf(turned)
        else:
            assert step.swapped == pytest.approx(turned, rel=1e-4)
        # Silicon is seen at a glance: half as much again, one way or the other.
        there = step.expect.typical
        pair = [math.inf if one == "OL" else one for one in (there, step.swapped)]
        assert max(pair) >= 1.5 * min(pair)
