"""Readings of a good board, and of sister stages, narrow what to expect.

How far two boards of one model differ is common practice, without a source; the
networks are solved by hand beside each check.
"""

import math

import pytest
from _bench_logs import BOARD, HEADER
from _small_boards import board

from ohmtrail.netanalysis.circuit import Circuit, Rail, Stage
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.network.elements import Junction, Network, Resistance
from ohmtrail.netanalysis.network.evidence import gather, spread
from ohmtrail.netanalysis.network.expect_good import beside_good_board
from ohmtrail.netanalysis.network.expectation import Expectation
from ohmtrail.netanalysis.network.narrow import narrow
from ohmtrail.netanalysis.network.solve import Solver

MAIN = Rail("VMAIN", 12.0, None, (), (), "test")
CIRCUIT = Circuit(BOARD, ground=("GND",), rails=(MAIN,))

PHASE = """
    Q{0}1 NFET Device:Q_NMOS_GDS 1:S=/SW{0} 4:G=G{0} 5:D=VMAIN
    Q{0}2 NFET Device:Q_NMOS_GDS 1:S=GND 4:G=H{0} 5:D=/SW{0}
    L{0}1 1u Device:L 1:=/SW{0} 2:=VOUT
"""
PHASES = board("".join(PHASE.format(n) for n in (1, 2, 3)))


def phase(number):
    return Stage(
        f"synchronous buck at /SW{number}",
        "synchronous buck",
        (f"/SW{number}",),
        "VMAIN",
        "VOUT",
        "VMAIN",
        "VOUT",
        high_side=(f"Q{number}1",),
        low_side=(f"Q{number}2",),
        inductors=(f"L{number}1",),
    )


THREE = Circuit(
    PHASES,
    ground=("GND",),
    rails=(MAIN, Rail("VOUT", 1.0, None, (), (), "test")),
    stages=tuple(map(phase, (1, 2, 3))),
)


def log(circuit, *rows):
    return read_log("\n".join((HEADER, *rows)), circuit.board, "good.csv")


def ohms(ref, a, b, value, *, assumed=False, low=None, high=None):
    return Resistance(
        ref,
        a,
        b,
        value,
        value if low is None else low,
        value if high is None else high,
        assumed=assumed,
    )


def load(value=2e4, ref="U3", net="VMAIN"):
    return ohms(ref, net, "GND", value, assumed=True, low=1e3, high=math.inf)


def with_readings(network, *rows, circuit=CIRCUIT):
    evidence = gather(circuit, log(circuit, *rows))
    return narrow(network, evidence)


def one_load(narrowed):
    return next(one for one in narrowed.network.resistances if one.assumed)


NODES = ("VMAIN", "VIN", "GND", "/Core/SW", "/Core/EN", "GATE")


def test_a_rails_load_is_what_the_reading_leaves_for_it():
    # 6 k marked beside the load, 4 k read: 1 / (1/4 - 1/6) = 12 k.
    network = Network(NODES, (ohms("R1", "VMAIN", "GND", 6e3), load()))
    narrowed = with_readings(network, ",measure,,resistance,VMAIN,GND,4k0,")
    assert narrowed.doubts == ()
    # Set so that the pair reads within 2 % of the reading.
    assert one_load(narrowed).ohms == pytest.approx(12e3, rel=0.07)
    reads = Solver(narrowed.network).resistance("VMAIN", "GND")
    assert reads == pytest.approx(4e3, rel=0.02)
    assert one_load(narrowed).because == "good board, line 2"


def test_the_range_of_the_pair_is_the_range_of_boards():
    network = Network(NODES, (ohms("R1", "VMAIN", "GND", 50e3), load()))
    narrowed = with_readings(network, ",measure,,resistance,VMAIN,GND,10k,")
    ends = [Solver(narrowed.network, c).resistance("VMAIN", "GND") for c in
            ("low", "high")]  # fmt: skip
    assert ends == pytest.approx(spread("resistance", 10e3), rel=0.03)


def test_rails_that_share_loads_are_set_together():
    # Two rails joined by 10 k, each with a load: solved as a pair of equations by
    # the solver itself, so the check is that both pairs read what was read.
    network = Network(
        NODES,
        (ohms("R1", "VMAIN", "VIN", 10e3), load(), load(5e3, "U4", "VIN")),
    )
    narrowed = with_readings(
        network,
        ",measure,,resistance,VMAIN,GND,6k0,",
        ",measure,,resistance,VIN,GND,3k0,",
    )
    solver = Solver(narrowed.network)
    assert narrowed.doubts == ()
    assert solver.resistance("VMAIN", "GND") == pytest.approx(6e3, rel=0.03)
    assert solver.resistance("VIN", "GND") == pytest.approx(3e3, rel=0.03)


def test_rails_joined_by_a_coil_are_one():
    network = Network(NODES, (ohms("L1", "VMAIN", "VIN", 0.01), load()))
    narrowed = with_readings(
        network,
        ",measure,,resistance,VMAIN,GND,6k0,",
        ",measure,,resistance,VIN,GND,6k1,",
    )
    assert narrowed.doubts == ()
    assert one_load(narrowed).ohms == pytest.approx(6e3, rel=0.03)


def test_marked_parts_that_forbid_the_reading_are_reported():
    # 2 k marked across the pair can not read 9 k.
    network = Network(NODES, (ohms("R1", "VMAIN", "GND", 2e3), load()))
    narrowed = with_readings(network, ",measure,,resistance,VMAIN,GND,9k0,")
    assert [text.split(":")[0] for text in narrowed.doubts] == ["good board, line 2"]
    assert one_load(narrowed) == load()


def test_a_short_is_nobodys_good_reading():
    # A 12 V rail at 0.9 ohms would draw 160 W: the verdict's own limit.
    evidence = gather(CIRCUIT, log(CIRCUIT, ",measure,,resistance,VMAIN,GND,0.9,"))
    assert evidence.known("resistance", "VMAIN", "GND") is None
    assert "a short: not taken as good" in evidence.doubts[0]


def clamp(volts=0.5, low=0.3, high=0.75):
    return Junction("U3", "GND", "/Core/EN", volts, low, high, assumed=True)


def test_a_diode_reading_is_the_pins_drop():
    network = Network(NODES, (), (clamp(),))
    narrowed = with_readings(network, ",measure,,diode,GND,U3.3,0.612,")
    pin = narrowed.network.junctions[0]
    assert pin.volts == pytest.approx(0.612)
    assert 0.3 < pin.volts_low < 0.56
    assert 0.66 < pin.volts_high < 0.75


def test_a_resistor_beside_the_pin_takes_its_part_of_the_current():
    # 0.6 V across 1 k takes 0.6 of the 1 mA: at 1 mA the junction drops
    # 25.85 mV * ln(1 / 0.4) = 23.7 mV more (Shockley's law, 300 K).
    network = Network(NODES, (ohms("R1", "GND", "/Core/EN", 1e3),), (clamp(),))
    narrowed = with_readings(network, ",measure,,diode,GND,U3.3,0.600,")
    assert narrowed.network.junctions[0].volts == pytest.approx(0.6237, abs=1e-4)


@pytest.mark.parametrize("text", ["0.05", "OL"])
def test_a_drop_that_no_such_junction_has_is_reported(text):
    network = Network(NODES, (), (clamp(),))
    narrowed = with_readings(network, f",measure,,diode,GND,U3.3,{text},")
    assert narrowed.network.junctions == network.junctions
    assert "line 2" in narrowed.doubts[0]


def test_the_asked_pair_itself_comes_first():
    evidence = gather(CIRCUIT, log(CIRCUIT, ",measure,,resistance,GATE,GND,4k7,"))
    known = evidence.known("resistance", "GATE", "GND")
    assert known.source == "good board, line 2"
    assert known.low < 4700 < known.high
    assert known.typical == 4700
    assert evidence.known("resistance", "GND", "GATE") is None
    assert evidence.known("diode", "GATE", "GND") is None


def test_readings_with_a_part_off_count_only_with_that_part_off():
    rows = (
        ",lift,Q12,,,,,",
        ",measure,,resistance,GATE,GND,4k7,",
        ",measure,Q12,resistance,Q12.4,Q12.1,3k0,",
    )
    evidence = gather(CIRCUIT, log(CIRCUIT, *rows))
    assert evidence.known("resistance", "GATE", "GND") is None
    off = evidence.known("resistance", "GATE", "GND", frozenset({"Q12"}))
    assert off.typical == 4700
    assert evidence.known("resistance", "GATE", "/Core/SW", frozenset({"Q12"})) is None


def test_readings_that_do_not_agree_are_reported_and_joined():
    rows = (
        ",measure,,resistance,GATE,GND,1k0,",
        ",measure,,resistance,GATE,GND,9k0,",
    )
    evidence = gather(CIRCUIT, log(CIRCUIT, *rows))
    assert "lines 2, 3" in evidence.doubts[0]
    assert "do not agree" in evidence.doubts[0]
    known = evidence.known("resistance", "GATE", "GND")
    assert known.low < 1000
    assert known.high > 9000


def test_a_good_board_that_died_is_doubted():
    evidence = gather(CIRCUIT, log(CIRCUIT, ",power,,,VIN,GND,died,"))
    assert evidence.doubts == ("good board, line 2: the board died: is it good?",)


def test_volts_count_only_while_the_board_runs():
    volts = ",measure,,voltage,VMAIN,GND,12.1,"
    assert not gather(CIRCUIT, log(CIRCUIT, volts)).good
    on = log(CIRCUIT, ",power,,,VIN,GND,runs,", volts)
    known = gather(CIRCUIT, on).known("voltage", "VMAIN", "GND")
    assert (known.unit, known.typical) == ("volts", 12.1)
    off = log(CIRCUIT, ",power,,,VIN,GND,runs,", ",lift,Q12,,,,,", volts)
    assert not gather(CIRCUIT, off).good


def test_a_sister_on_the_good_board_will_do():
    evidence = gather(THREE, log(THREE, ",measure,,resistance,Q21.4,Q21.1,4k98,"))
    known = evidence.known("resistance", "G1", "/SW1")
    assert known.source == "good board, sister synchronous buck at /SW2, line 2"
    assert evidence.known("resistance", "H1", "GND") is None


def test_a_sister_on_the_sick_board_counts_if_it_is_honest():
    own = log(
        THREE,
        ",measure,,resistance,Q21.4,Q21.1,11.8,",
        ",measure,,resistance,Q31.4,Q31.1,4k97,",
    )
    evidence = gather(THREE, own=own)
    known = evidence.known("resistance", "G1", "/SW1", honest=(1e3, 5.1e3))
    assert known.lines == (3,)
    assert evidence.known("resistance", "G1", "/SW1") is None


def test_a_short_that_all_sisters_share_is_not_healthy():
    own = log(
        THREE,
        ",measure,,resistance,Q21.5,Q21.1,0.3,",
        ",measure,,resistance,Q31.5,Q31.1,0.3,",
    )
    evidence = gather(THREE, own=own)
    honest = (5e3, math.inf)
    assert evidence.known("resistance", "VMAIN", "/SW1", honest=honest) is None
    assert evidence.known("resistance", "VMAIN", "/SW1") is None


def test_what_all_stages_share_has_no_sister():
    evidence = gather(THREE)
    assert list(evidence.sisters.pairs("VMAIN", "GND")) == []
    assert list(evidence.sisters.pairs("VMAIN", "/SW1")) == [
        ("synchronous buck at /SW2", "VMAIN", "/SW2"),
        ("synchronous buck at /SW3", "VMAIN", "/SW3"),
    ]


def test_parts_of_other_value_are_no_sisters():
    other = board("".join(PHASE.format(n) for n in (1, 2)).replace("Q21 NFET", "Q21 X"))
    circuit = Circuit(
        other, ground=("GND",), rails=(MAIN,), stages=tuple(map(phase, (1, 2)))
    )
    assert list(gather(circuit).sisters.pairs("G1", "/SW1")) == []
    assert list(gather(circuit).sisters.pairs("H1", "GND")) == [
        ("synchronous buck at /SW2", "H2", "GND")
    ]


def test_within_a_computed_range():
    evidence = gather(CIRCUIT, log(CIRCUIT, ",measure,,resistance,GATE,GND,4k7,"))
    known = evidence.known("resistance", "GATE", "GND")
    left = known.within(4.4e3, 5e3)
    assert (left.low, left.typical, left.high) == (4.4e3, 4.7e3, 5e3)
    assert known.within(9e3, 11e3) is None


@pytest.mark.parametrize("mode", ["resistance", "four-wire", "diode", "voltage"])
@pytest.mark.parametrize("value", [0.0, 1e-3, 0.2, 0.45, 3.0, 470.0, 1e6, math.inf])
def test_a_spread_holds_its_reading(mode, value):
    if mode == "voltage" and math.isinf(value):
        return
    for sisters in (False, True):
        low, high = spread(mode, value, sisters)
        assert low <= value <= high


def test_a_low_drop_through_another_way_is_no_contradiction():
    # A Schottky of 0.2 V behind 10 ohms lies beside the pin's clamp: 0.21 V is that.
    network = Network(
        NODES,
        (ohms("R1", "/Core/EN", "GATE", 10.0),),
        (clamp(), Junction("D1", "GND", "GATE", 0.2, 0.15, 0.3, sort="schottky")),
    )
    narrowed = with_readings(network, ",measure,,diode,GND,U3.3,0.210,")
    assert narrowed.doubts == ()
    assert narrowed.network.junctions == network.junctions


def test_a_drop_that_a_load_may_explain_bounds_the_pin_from_below_only():
    # 450 mV may all be the load's (100 ohms and more), or the pin's.
    network = Network(
        NODES,
        (ohms("U3", "/Core/EN", "GND", 1e3, assumed=True, low=100, high=math.inf),),
        (clamp(),),
    )
    narrowed = with_readings(network, ",measure,,diode,GND,U3.3,0.450,")
    pin = narrowed.network.junctions[0]
    assert pin.volts_low == pytest.approx(spread("diode", 0.45)[0])
    assert pin.volts_high == 0.75


def beside_sisters(text, low=1e3, typical=5e3, high=math.inf):
    """The gate of phase 1 where that of phase 2, on the sick board, reads ``text``."""
    expected = Expectation(
        "resistance", "G1", "/SW1", low, typical, high, "ohms", ("R1",), "R1"
    )
    row = f",measure,,resistance,Q21.4,Q21.1,{text},"
    own = gather(THREE, own=log(THREE, row))
    return expected, beside_good_board(expected, own, "G1", "/SW1")


def test_a_sister_of_the_sick_board_takes_the_range_in():
    expected, found = beside_sisters("4k98")
    low, high = spread("resistance", 4.98e3, sisters=True)
    # Never past what is usual for the circuit itself.
    assert (found.low, found.typical, found.high) == (low, 5e3, pytest.approx(high))
    assert found.source == "sister stages of this board, line 2; R1"
    assert expected.high == math.inf


def test_a_sick_sister_never_leads_away_from_what_is_usual():
    # A punctured gate of 1.5 k lies within the wide range of a gate.
    _, found = beside_sisters("1k5")
    assert found.low < 1.5e3
    assert (found.typical, found.high) == (5e3, 5e3)
    # Out of range altogether: it says nothing.
    expected, found = beside_sisters("11.8")
    assert found is expected
