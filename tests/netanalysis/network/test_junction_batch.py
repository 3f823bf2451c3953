"""Many pairs solved together read as each pair does alone.

Outside sources: Shockley's law in closed form beside the checks; else the exact solver,
which is held against ngspice in tests of its own.
"""

import random

import pytest
from _junction_networks import d, drawn, kirchhoff_error, network, r

from ohmtrail.netanalysis.network.junction_batch import BatchSolver
from ohmtrail.netanalysis.network.junction_law import THERMAL_VOLTS as VT
from ohmtrail.netanalysis.network.junction_solve import JunctionSolver
from ohmtrail.netanalysis.network.solve import Solver

DIODE = (1e-3, 3.0)
#: What resistance mode asks: does the board draw this much at full scale?
FULL_SCALE = (100.0, 0.4)
#: A milliohm meter: much current at few volts.
FOUR_WIRE = (0.1, 0.05)
SOURCES = (DIODE, FULL_SCALE, FOUR_WIRE, (1e-8, 0.5))


class Alone(BatchSolver):
    """Refuses to leave a pair to the exact solver."""

    def solve(self, plus, minus, amps, open_volts):
        assert (plus, minus, amps, open_volts) in self._ready
        return super().solve(plus, minus, amps, open_volts)


def together(net, pairs, *source):
    solver = Alone(net, "typical", Solver(net))
    solver.prepare((*pair, *source) for pair in pairs)
    return [solver.solve(*pair, *source) for pair in pairs]


def test_two_junctions_in_a_row_beside_resistors():
    # 3 V held across these would be 1e30 A and more: it is the milliamp that holds.
    net = network(
        d("a", "b", 0.5), d("b", "k", 0.3), r("a", "k", 1e5), r("b", "k", 1e5, "R2")
    )
    (found,) = together(net, [("a", "k")], *DIODE)
    # The resistors take 8 and 3 uA of the milliamp: VT (ln 0.992 + ln 0.989) less.
    assert found.volts == pytest.approx(0.8 - VT * 0.0191, abs=1e-5)
    assert (found.amps, found.limited) == (1e-3, False)


def test_the_body_diode_beside_a_load():
    # A rail's load of 20 k, a clamp, and a coil to where the probe stands.
    net = network(
        r("rail", "gnd", 2e4),
        d("gnd", "rail", 0.5, 1.2),
        r("rail", "sw", 0.01),
        d("gnd", "sw", 0.42, 1.1, 0.02),
    )
    (found,) = together(net, [("gnd", "sw")], *DIODE)
    assert found.volts == pytest.approx(
        JunctionSolver(net).solve("gnd", "sw", *DIODE).volts, abs=1e-7
    )
    assert kirchhoff_error(net, found, "gnd", "sw") <= 1


def test_in_reverse_the_open_voltage_holds():
    net = network(d("k", "a", 0.6), r("a", "b", 1e4), r("b", "k", 1e4))
    (found,) = together(net, [("a", "k")], *DIODE)
    # 3 V over 20 k is 0.15 mA, less than the meter drives.
    assert (found.volts, found.limited) == (3.0, True)
    assert found.amps == pytest.approx(3.0 / 2e4, rel=1e-6)


@pytest.mark.parametrize("source", SOURCES, ids=["diode", "full", "four-wire", "40M"])
@pytest.mark.parametrize("seed", range(6))
def test_together_as_alone(seed, source):
    net = drawn(random.Random(seed), nodes=14, resistances=22, junctions=12)
    batch = BatchSolver(net, "typical", Solver(net))
    one_by_one = JunctionSolver(net)
    rng = random.Random(f"pairs {seed}")
    pairs = [tuple(rng.sample(net.nodes, 2)) for _ in range(40)]
    batch.prepare((*pair, *source) for pair in pairs)
    for pair in pairs:
        ours, alone = batch.solve(*pair, *source), one_by_one.solve(*pair, *source)
        # Junctions that take 3e-6 of the current each are left asleep.
        assert ours.volts == pytest.approx(alone.volts, rel=1e-4, abs=1e-6), pair
        assert ours.amps == pytest.approx(alone.amps, rel=1e-4, abs=1e-10), pair
