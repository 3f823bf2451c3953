"""Loads are no lower than the board's own rails read, whatever is wrong with it.

The networks are solved by hand beside each check; what a meter and its contacts may be
off by (`spread`) is common practice, without a source.
"""

import math

import pytest
from _bench_logs import BOARD, read
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.circuit import Circuit, Rail
from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.evidence import gather, spread
from ohmtrail.netanalysis.network.own_loads import with_own_loads
from ohmtrail.netanalysis.network.solve import Solver

CIRCUIT = Circuit(
    BOARD, ground=("GND",), rails=(Rail("VMAIN", 3.3, None, (), (), "test"),)
)
NODES = ("VMAIN", "VIN", "GND", "/Core/SW", "/Core/EN", "GATE")
LOAD = "common practice: load of a logic rail, 3.3 V"


def load(ref="U3", net="VMAIN", low=50.0, typical=1e3):
    return Resistance(ref, net, "GND", typical, low, math.inf, LOAD, assumed=True)


def marked(ref, a, b, ohms):
    return Resistance(ref, a, b, ohms, ohms, ohms)


def after(*rows, paths, off=()):
    """The paths once these readings of the board are known."""
    network = Network(NODES, tuple(paths))
    evidence = gather(CIRCUIT, own=read(*rows))
    return with_own_loads(network, evidence, frozenset(off)).resistances


def rail(text, mode="resistance", net="VMAIN"):
    return f",measure,,{mode},{net},GND,{text},"


def least(ohms):
    """What a reading leaves for sure: the low end of the same board read again."""
    return spread("resistance", ohms, sisters=True)[0]


def test_a_rail_that_reads_640_has_no_load_of_50_ohms():
    (found,) = after(rail("640"), paths=[load()])
    assert found.ohms_low == pytest.approx(least(640))
    assert 570 < found.ohms_low < 640
    # A leak may be what makes it read so low: the rest of the range stays.
    assert (found.ohms, found.ohms_high) == (1e3, math.inf)
    assert found.because == f"{LOAD}; not below what line 2 reads"


@pytest.mark.parametrize("text", ["0.3", "0", "12", "OL", "n/a"])
def test_a_shorted_rail_and_one_not_touched_say_nothing(text):
    assert after(rail(text), paths=[load()]) == (load(),)


def test_a_break_may_be_why_it_reads_high():
    # Nothing beyond what is usual, 1 k, rests on a reading.
    (found,) = after(rail("300k"), paths=[load()])
    assert found.ohms_low == 1e3


def test_of_readings_that_differ_the_one_that_says_least():
    (found,) = after(rail("640"), rail("500"), paths=[load()])
    assert found.ohms_low == pytest.approx(least(500))
    assert found.because.endswith("line 3 reads")
    swapped = ",measure,,resistance,GND,VMAIN,400,"
    (found,) = after(rail("640"), swapped, paths=[load()])
    assert found.ohms_low == pytest.approx(least(400))


def test_loads_of_one_rail_share_what_it_reads():
    # A third and two thirds of the rail's pins: 150 and 75 ohms, 50 together.
    first, second = after(
        rail("640"),
        paths=[load("U3", low=150.0, typical=3e3), load("U4", low=75.0, typical=1.5e3)],
    )
    assert first.ohms_low == pytest.approx(2 * second.ohms_low)
    together = 1 / (1 / first.ohms_low + 1 / second.ohms_low)
    assert together == pytest.approx(least(640))


def test_a_link_on_the_way_is_taken_off():
    # 20 ohms of bead and coil between the probe and the load.
    link = marked("L1", "VIN", "VMAIN", 20.0)
    _, found = after(rail("640", net="VIN"), paths=[link, load()])
    assert found.ohms_low == pytest.approx(least(640) - 20)


def test_a_load_behind_a_resistor_keeps_its_range():
    paths = (marked("R1", "VIN", "VMAIN", 600.0), load())
    assert after(rail("640", net="VIN"), paths=paths) == paths


def test_a_link_that_must_be_open_makes_the_reading_say_nothing():
    paths = (marked("L1", "VMAIN", "GND", 0.1), load())
    assert after(rail("640"), paths=paths) == paths


def test_with_a_part_off_only_readings_without_it():
    rows = (",lift,Q12,,,,,", rail("640"))
    assert after(*rows, paths=[load()]) == (load(),)
    (found,) = after(*rows, paths=[load()], off=["Q12"])
    assert found.ohms_low == pytest.approx(least(640))


def test_likely_ends_stay_above_the_raised_one():
    one = Resistance("U3", "VMAIN", "GND", 1e3, 50.0, math.inf, LOAD, True, (50.0, 1e4))
    (found,) = after(rail("640"), paths=[one])
    assert found.likely == (found.ohms_low, 1e4)


@settings(max_examples=100, deadline=None)
@given(st.randoms(use_true_random=False))
def test_no_fault_across_parts_moves_the_range_off_the_healthy_board(chance):
    """Rayleigh's monotonicity law: one more path lowers what is read, never raises.

    A healthy board has its loads anywhere within their ranges; the sick one has shorts
    and leaks besides.  However the sick one reads, the healthy one reads within.
    """
    nets = ["VMAIN", "VIN", "/Core/EN", "GATE"]

    def ohms(low, high):
        return 10 ** chance.uniform(math.log10(low), math.log10(high))

    fixed = [
        marked(f"R{k}", *chance.sample(NODES, 2), ohms(0.1, 1e5)) for k in range(8)
    ]
    ranges = [
        load(f"U{k}", net, low := ohms(0.3, 1e3), low * 20)
        for k, net in enumerate(nets)
    ]
    # No fault opens anything, so nothing need be below the usual value.
    loads = [
        marked(one.ref, one.a, one.b, ohms(one.ohms_low, one.ohms * 20))
        for one in ranges
    ]
    faults = [
        marked(f"F{k}", *chance.sample(NODES, 2), ohms(0.05, 1e4)) for k in range(3)
    ]
    pairs = [(net, "GND") for net in nets]
    sick = Solver(Network(NODES, (*fixed, *loads, *faults))).resistances(pairs)
    rows = [
        f",measure,,resistance,{net},GND,{one:.4g},"
        for net, one in zip(nets, sick, strict=True)
    ]
    found = after(*rows, paths=[*fixed, *ranges])
    lowest = Solver(Network(NODES, found), "low").resistances(pairs)
    healthy = Solver(Network(NODES, (*fixed, *loads))).resistances(pairs)
    assert (lowest <= healthy * (1 + 1e-9)).all()
