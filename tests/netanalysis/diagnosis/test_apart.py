"""Readings that let an injection go above the lowest rail that it might reach.

Two-port theory (open-circuit transfer resistance): with R_a and R_b from two nets to
ground and R_ab between them, a current into a puts (R_a + R_b - R_ab) / 2 / R_a of the
volts on b.  Never above the lowest rail that may be joined: the trade's rule.
"""

import random
from types import SimpleNamespace

import pytest
from _small_boards import board

from ohmtrail.netanalysis.diagnosis.apart import _Judge, raised
from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log
from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.recognise import recognise

#: A supply pin of some ohms on +1V8, and the readings that the demo asks for then.
LOW = "measure,,resistance,net:+1V8,net:GND,4.2,\n"
OWN = {"VCORE_1V0": "0.6", "+1V1_MEM": "2.4", "+3V3": "95.0", "VMAIN": "18k"}
OWN["+48V_SONAR"] = "OL"
BETWEEN = {"VCORE_1V0": "4.8", "+1V1_MEM": "6.6"}


def rows(own=OWN, between=BETWEEN):
    text = LOW
    text += "".join(
        f"measure,,resistance,net:{n},net:GND,{v},\n" for n, v in own.items()
    )
    return text + "".join(
        f"measure,,resistance,net:+1V8,net:{n},{v},\n" for n, v in between.items()
    )


@pytest.fixture
def limits(demo, log_of):
    """The strict limit, that by readings, and what more would be read."""

    def of(text):
        now, then = raised(case_of(demo, log_of(text)), "+1V8", frozenset())
        return inject(demo, "+1V8").volts_max, now, then

    return of


def test_the_board_alone_gives_the_core_s_volts(limits):
    strict, now, then = limits(LOW)
    assert strict == 1.0
    assert now is None
    assert then.volts_max == 1.8
    assert ("+1V8", "VCORE_1V0") in then.asked


def test_rails_that_read_apart_let_the_rail_s_own_volts_in(limits):
    _, now, then = limits(rows())
    assert now.volts_max == 1.8
    assert now.apart == {"VCORE_1V0", "+1V1_MEM"}
    assert then is None


@pytest.mark.parametrize("missing", [*OWN, "between"])
def test_one_reading_less_and_the_lower_limit_holds(limits, missing):
    own = {net: value for net, value in OWN.items() if net != missing}
    between = {} if missing == "between" else BETWEEN
    _, now, then = limits(rows(own, between))
    assert now is None or now.volts_max < 1.8
    assert then.asked


@pytest.mark.parametrize(
    ("own", "between"),
    [
        # Joined to the core by 3.6 ohms: that is all that +1V8 reads.
        ({}, {"VCORE_1V0": "3.6"}),
        # Half of the current goes through the core.
        ({}, {"VCORE_1V0": "4.2"}),
        # A slip by ten: more than both read to ground together cannot be.
        ({}, {"VCORE_1V0": "48"}),
        ({"VCORE_1V0": "6"}, {}),
        ({"VCORE_1V0": "0.1"}, {"VCORE_1V0": "6.0"}),
        # What lies behind the regulator's body diode reads like the core.
        ({"VMAIN": "0.9"}, {}),
        ({"+3V3": "4.4"}, {}),
    ],
)
def test_what_may_be_joined_keeps_the_lower_limit(limits, own, between):
    _, now, _ = limits(rows(OWN | own, BETWEEN | between))
    assert now is None or now.volts_max < 1.8


@pytest.mark.parametrize("more", ["", "fit,C710,,,,new,\n"])
def test_readings_of_another_board_do_not_count(limits, more):
    """Read before a lift, the three do not belong to what is read after it."""
    _, now, then = limits(rows() + "lift,C710,,,,,\n" + more + LOW)
    assert now is None
    assert then.asked


@pytest.mark.parametrize("seed", range(4))
def test_never_more_than_a_rail_s_own_volts_on_it(demo, log_of, seed):
    """Drawn networks of three branches, leads and contacts as a meter has them."""
    judge = _Judge(case_of(demo, log_of(LOW)), "+1V8", frozenset())
    judge.behind = ()
    draw = random.Random(seed)
    apart = 0
    for _ in range(2000):
        a, b = (10 ** draw.uniform(-0.5, 2) for _ in range(2))
        join = 10 ** draw.uniform(-1, 5)
        volts, own = draw.uniform(1.5, 20), draw.uniform(0.6, 5)
        leads = draw.uniform(0, 0.4)
        # Each branch beside the other two in series.
        exact = {
            ("+1V8", "GND"): 1 / (1 / a + 1 / (b + join)),
            ("VCORE_1V0", "GND"): 1 / (1 / b + 1 / (a + join)),
            ("+1V8", "VCORE_1V0"): 1 / (1 / join + 1 / (a + b)),
        }
        judge.found = {
            frozenset(ends): [
                SimpleNamespace(value=round(ohms + leads + draw.uniform(0, 0.1), 1))
            ]
            for ends, ohms in exact.items()
        }
        if judge.stands_apart("VCORE_1V0", volts, own):
            apart += 1
            assert volts * b / (b + join) <= own
    assert apart > 100


def test_next_asks_for_them_and_then_warms_the_short(demo, log_of):
    """A chip's pin of twelve ohms on +3V3: at the core's volt nothing gets warm."""
    text = "measure,,resistance,net:+3V3,net:GND,12.0,\n"
    lower = {"+1V8": "60.0", "+3V0_ANA": "800", "/Logic/VDD_PLL": "60.1"}
    lower |= {"VCORE_1V0": "0.6", "+1V1_MEM": "2.4"}
    between = {"+1V8": "72.0", "+3V0_ANA": "812", "/Logic/VDD_PLL": "72.1"}
    between |= {"VCORE_1V0": "12.6", "+1V1_MEM": "14.4"}
    own = {**lower, "VMAIN": "18k", "+5V": "900"}
    for net, value in own.items():
        text += f"measure,,resistance,net:{net},net:GND,{value},\n"
    answers = {("+3V3", net): value for net, value in between.items()}
    answers["+48V_SONAR", "GND"] = "OL"
    # not where no resistances can be read
    other = next_action(weigh_log(case_of(demo, log_of(text))), ("diode",))
    assert other.mode in (None, "diode")
    while answers:
        then = next_action(weigh_log(case_of(demo, log_of(text))), ("resistance",))
        assert then.action == "measure"
        value = answers.pop((then.plus, then.minus))
        text += f"measure,,resistance,{then.plus},{then.minus},{value},\n"
    then = next_action(weigh_log(case_of(demo, log_of(text))), ("resistance",))
    assert then.action == "inject"
    assert 3.0 <= then.volts_max <= 3.3
    assert "read apart" in then.why
    assert any("The board alone allows 1 V" in note for note in then.notes)


FROM_BELOW = """
J1 - Connector:Conn_01x02 VSYS GND
U1 BUCK Lib:BUCK VIN=VSYS GND=GND SW=SW1 FB=FB1
L1 4u7 Device:L SW1 +5V
R1 10k Device:R +5V FB1
R2 1k9 Device:R FB1 GND
U2 BUCK Lib:BUCK VIN=VSYS GND=GND SW=SW2 FB=FB2
L2 1u Device:L SW2 VCORE_1V0
R3 1k Device:R VCORE_1V0 FB2
R4 4k Device:R FB2 GND
U3 LOGIC Lib:LOGIC VDD=+5V GND=GND IO=a
U4 SOC Lib:SOC VDD=VCORE_1V0 GND=GND IO=a
C1 10u Device:C VSYS GND
C2 10u Device:C +5V GND
C3 10u Device:C VCORE_1V0 GND
"""


def test_a_rail_known_from_below_is_raised_no_further_than_that(log_of):
    """What feeds a buck has no less than the buck makes (TRADE: topology)."""
    circuit = recognise(board(FROM_BELOW))
    assert next(one for one in circuit.rails if one.net == "VSYS").volts is None
    assert {one.kind for one in circuit.stages} == {"integrated buck"}
    rows = "measure,,resistance,VSYS,GND,5.3,\n"
    now, then = raised(case_of(circuit, log_of(rows, circuit)), "VSYS", frozenset())
    assert now is None
    assert then.volts_max == 5.0
    read = {frozenset(("VCORE_1V0", "GND")): 1.2, frozenset(("VSYS", "VCORE_1V0")): 6.5}
    for pair in then.asked:
        rows += (
            f"measure,,resistance,{','.join(pair)},{read.get(frozenset(pair), 900)},\n"
        )
    now, _ = raised(case_of(circuit, log_of(rows, circuit)), "VSYS", frozenset())
    assert now.volts_max == 5.0
    assert "VCORE_1V0" in now.apart
