"""Is a reading a short, where more than the rail's class is known of it?

Marked resistors, links, sister rails, negative rails, rails to rails.  Resistances in
parallel are worked out by hand; what a rail could carry is common practice.
"""

import json

import pytest
from _bench_logs import HEADER
from _small_boards import board

from ohmtrail.cli._json import measure_json
from ohmtrail.netanalysis import marked_paths
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.network.evidence import gather
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.verdict import is_short, judge

BLEEDER = """
J1 - Connector:Barrel_Jack 1:=VIN_12V 2:=GND
F1 3A Device:Fuse 1:=VIN_12V 2:=+12V
C1 10u Device:C 1:=+12V 2:=GND
R1 10R Device:R 1:=+12V 2:=GND
U1 LOGIC - VDD=+12V VSS=GND A=X1
"""


@pytest.mark.parametrize(
    ("ohms", "expected"),
    [
        # 10 ohms is the bleeder; leads add 0.2, and 5 % is the usual tolerance.
        (10.0, "normal"),
        (10.3, "normal"),
        (9.6, "normal"),
        # Higher: the bleeder, or the way to it, is open, and nothing is shorted.
        (50.0, "normal"),
        # 3 ohms leave 4.3 beside the bleeder (1 / (1/3 - 1/10)): 34 W at 12 V.
        (3.0, "short"),
        # 9.0 leave 90 (1 / (1/9 - 1/10)), 1.6 W: a leak, a load? In doubt.
        (9.0, "cannot tell"),
    ],
)
def test_a_rail_with_a_bleeder(ohms, expected):
    found = judge(recognise(board(BLEEDER), {}), "+12V", ohms)
    assert found.verdict == expected
    assert "R1" in " ".join(found.because) or ohms == 50.0
    assert (found.measure is None) == (expected != "cannot tell")


def test_without_the_bleeder_the_same_reading_is_a_short_or_in_doubt():
    text = "\n".join(line for line in BLEEDER.splitlines() if not line.startswith("R1"))
    circuit = recognise(board(text), {})
    # 12 V over 10 ohms is 14 W: more than a 12 V rail draws cold (common practice).
    assert judge(circuit, "+12V", 10.0).verdict == "short"


def test_two_ends_of_a_fuse_read_nothing_and_that_is_right():
    circuit = recognise(board(BLEEDER), {})
    found = judge(circuit, "VIN_12V", 0.05, "+12V")
    assert found.verdict == "normal"
    assert "F1" in found.because[0]


RAILS = """
J1 - Connector:Conn_01x06 1:=+12V 2:=GND 3:=+5V 4:=+1V0 5:=-12V 6:=+5VA
C1 10u Device:C 1:=+12V 2:=GND
C2 10u Device:C 1:=+5V 2:=GND
C3 10u Device:C 1:=+1V0 2:=GND
C4 10u Device:C 1:=-12V 2:=GND
C5 10u Device:C 1:=+5VA 2:=GND
U1 CPU - VDD=+1V0 VSS=GND
U2 LOGIC - VDD=+5V VSS=GND
U3 DAC - AVDD=+5VA VSS=GND
U4 MOTOR - VM=+12V GND=GND
"""


@pytest.mark.parametrize(
    ("net", "to", "ohms", "expected"),
    [
        # 7 V over 0.5 ohms: 98 W.
        ("+12V", "+5V", 0.5, "short"),
        ("+5V", "+12V", 0.5, "short"),
        # A core's load and a shorted 12 V rail: 11 V over 0.6 ohms, 200 W.
        ("+12V", "+1V0", 0.6, "short"),
        # 4 V over 10 ohms, 1.6 W: it may be both loads.
        ("+5V", "+1V0", 10.0, "cannot tell"),
        ("+12V", "+5V", 50e3, "normal"),
        # The same volts: no power tells.
        ("+5V", "+5VA", 1.0, "cannot tell"),
        ("+5V", "+5VA", 100e3, "normal"),
        # 24 V apart.
        ("+12V", "-12V", 5.0, "short"),
    ],
)
def test_between_two_rails(net, to, ohms, expected):
    found = judge(recognise(board(RAILS), {}), net, ohms, to)
    assert found.verdict == expected
    if found.measure is not None:
        assert {found.measure.plus, found.measure.minus} <= {net, to, "GND"}


def test_ground_named_as_the_other_net_is_ground():
    circuit = recognise(board(RAILS), {})
    assert judge(circuit, "+12V", 3.0, "GND") == judge(circuit, "+12V", 3.0)


def test_a_negative_rail_is_judged_by_its_size():
    circuit = recognise(board(RAILS), {})
    # "A 12 V rail at 3 ohms is a short" (common practice), whatever its sign.
    assert judge(circuit, "-12V", 3.0).verdict == "short"
    assert judge(circuit, "-12V", 20e3).verdict == "normal"
    # Its lower net is the rail itself: there the red lead goes.
    measure = judge(circuit, "-12V", 200.0, None, ("resistance", "diode")).measure
    assert (measure.plus, measure.minus) == ("-12V", "GND")


SISTERS = """
J1 - Connector:Barrel_Jack 1:=+12V 2:=GND
C1 10u Device:C 1:=+12V 2:=GND
U1 BUCK - VIN=+12V GND=GND SW=SWA FB=FBA BOOT=BTA
L1 4u7 Device:L 1:=SWA 2:=+1V0_A
C2 22u Device:C 1:=+1V0_A 2:=GND
U2 BUCK - VIN=+12V GND=GND SW=SWB FB=FBB BOOT=BTB
L2 4u7 Device:L 1:=SWB 2:=+1V0_B
C3 22u Device:C 1:=+1V0_B 2:=GND
U3 CPU - VDD=+1V0_A VSS=GND
U4 CPU - VDD=+1V0_B VSS=GND
"""


def test_a_sister_rail_is_the_reading_that_decides():
    found = judge(recognise(board(SISTERS), {}), "+1V0_A", 0.6)
    assert found.verdict == "cannot tell"
    assert (found.measure.mode, found.measure.plus) == ("resistance", "+1V0_B")
    # Another load makes it no sister.
    other = SISTERS.replace("U4 CPU", "U4 RADIO")
    assert judge(recognise(board(other), {}), "+1V0_A", 0.6).measure.plus != "+1V0_B"


@pytest.mark.parametrize("text", [BLEEDER, RAILS, SISTERS])
def test_a_lower_reading_is_never_more_normal_below_what_parts_explain(text):
    circuit = recognise(board(text), {})
    order = {"short": 0, "cannot tell": 1, "normal": 2}
    for rail in circuit.rails:
        ranks = [
            order[judge(circuit, rail.net, 10 ** (k / 4)).verdict]
            for k in range(-12, 22)
        ]
        assert ranks == sorted(ranks), rail.net


def test_the_measure_is_an_action_of_the_contract():
    measure = measure_json(judge(recognise(board(RAILS), {}), "+1V0", 0.6).measure)
    assert set(measure) == set("action mode plus minus seconds why expected".split())
    assert measure["action"] == "measure"
    assert measure["seconds"] > 0
    assert all(set(one) == {"if", "then"} for one in measure["expected"])
    json.dumps(measure, allow_nan=False)


def test_a_beep_is_not_evidence_and_that_is_said():
    # Continuity beeps below 30, 50 or 100 ohms, by the handheld's maker: a core rail
    # honestly reads less.
    because = " ".join(judge(recognise(board(RAILS), {}), "+1V0", 0.6).because)
    assert "beep" in because


@pytest.mark.parametrize("ohms", [0.0, 0.3, 3.0, 9.0, 10.0, 10.3, 200.0, 20e3])
def test_a_short_by_either_question_is_one_by_the_other(ohms):
    # Rayleigh's monotonicity law: to take marked parts off only raises what is left.
    circuit = recognise(board(BLEEDER), {})
    for net in ("+12V", "VIN_12V"):
        short = judge(circuit, net, ohms).verdict == "short"
        assert is_short(circuit, net, ohms) == short


def test_a_log_of_doubtful_readings_solves_no_board(monkeypatch):
    # To build and factor a large board takes seconds: for one reading, not for many
    # (`marked_path` says so itself).
    def refuse(*_):
        raise AssertionError("the board was solved for a reading that is no short")

    monkeypatch.setattr(marked_paths, "marked_path", refuse)
    circuit = recognise(board(BLEEDER), {})
    rows = "2026-03-02T10:04,measure,,resistance,+12V,GND,200,\n"
    good = read_log(f"{HEADER}\n{rows}", circuit.board, "good.csv")
    evidence = gather(circuit, good)
    assert evidence.doubts == ()
    assert evidence.known("resistance", "+12V", "GND") is not None
