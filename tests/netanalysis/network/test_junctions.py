"""Diode mode: what stands between the probes over junctions.

Outside sources: Shockley's law in closed form, worked out beside each check, and
Lambert's W for a diode behind a resistor.
"""

import math

import pytest
from _junction_networks import d, network, r
from scipy.special import lambertw

from ohmtrail.netanalysis.network.junction_law import THERMAL_VOLTS as VT
from ohmtrail.netanalysis.network.junction_solve import JunctionSolver, diode
from ohmtrail.netanalysis.network.meter import DEFAULT_METER


def reads(net, plus="a", minus="k"):
    return diode(net, plus, minus, DEFAULT_METER)


def test_a_diode_reads_its_drop_one_way_and_OL_the_other():
    net = network(d("a", "k", 0.6))
    assert reads(net) == pytest.approx(0.6, abs=1e-9)
    assert reads(net, "k", "a") == math.inf


def test_no_path_is_OL_and_one_node_is_a_short():
    net = network(r("a", "b", 10.0), r("k", "m", 0.0))
    assert reads(net) == math.inf
    assert reads(net, "k", "m") == 0.0
    assert reads(net, "a", "a") == 0.0
    with pytest.raises(KeyError, match="no node 'zz'"):
        reads(net, "zz")


def test_drops_in_series_add_up():
    net = network(d("a", "b", 0.6), d("b", "c", 0.3, 1.1), d("c", "k", 1.2, 2.0, 40.0))
    # 0.6 + 0.3 + 1.2 V, and 1 mA through 40 ohms.
    assert reads(net) == pytest.approx(2.14, abs=1e-9)


@pytest.mark.parametrize("count", [2, 4, 30])
@pytest.mark.parametrize("n", [1.0, 1.7])
def test_body_diodes_in_parallel_read_lower(count, n):
    net = network(*(d("a", "k", 0.5, n, ref=f"Q{k}") for k in range(count)))
    # Each takes 1 mA / N: n Vt ln N less, where Is is nothing beside it; exactly:
    exact = n * VT * math.log1p(math.expm1(0.5 / (n * VT)) / count)
    assert reads(net) == pytest.approx(exact, abs=1e-9)
    assert reads(net) == pytest.approx(0.5 - n * VT * math.log(count), abs=2e-5)


@pytest.mark.parametrize(("ohms", "n"), [(10.0, 1.0), (470.0, 1.5), (2000.0, 2.0)])
def test_a_resistor_across_a_diode_agrees_with_lambert_w(ohms, n):
    drop, amps = 0.55, 1e-3
    amps_is = 1e-3 / math.expm1(drop / (n * VT))
    # v / R + Is (exp(v / nVt) - 1) = I, solved for v.
    share = ohms * amps_is / (n * VT)
    total = ohms * (amps + amps_is)
    expected = total - n * VT * lambertw(share * math.exp(total / (n * VT))).real
    net = network(d("a", "k", drop, n), r("a", "k", ohms))
    assert reads(net) == pytest.approx(expected, abs=1e-9)


def test_series_resistance_of_the_junction_itself_agrees_with_lambert_w():
    # Two share 1 mA; the one with 100 ohms: v = nVt ln(1 + i/Is) + Ri.
    n, drop, ohms = 1.2, 0.5, 100.0
    amps_is = 1e-3 / math.expm1(drop / (n * VT))
    net = network(d("a", "k", drop, n, ohms, "D1"), d("a", "k", 0.52, n, 0.0, "D2"))
    answer = JunctionSolver(net).solve("a", "k", 1e-3, 3.0)
    a = ohms * amps_is / (n * VT)
    w = lambertw(a * math.exp((answer.volts + ohms * amps_is) / (n * VT))).real
    assert answer.junction_amps[0] == pytest.approx(w * n * VT / ohms - amps_is, 1e-8)
    assert sum(answer.junction_amps) == pytest.approx(1e-3, rel=1e-9)


def test_leds_read_their_drop_if_the_meter_has_the_volts():
    red, blue = d("a", "k", 1.8, 2.0), d("a", "k", 2.7, 2.5)
    assert reads(network(red)) == pytest.approx(1.8, abs=1e-9)
    assert reads(network(blue)) == pytest.approx(2.7, abs=1e-9)
    two = network(d("a", "b", 1.8, 2.0), d("b", "k", 1.8, 2.0))
    assert reads(two) == math.inf


def test_a_zener_backwards():
    # What conducts backwards is a second junction, cathode to anode.
    low = network(d("a", "k", 0.7), d("k", "a", 2.4, 1.0, ref="D1"))
    high = network(d("a", "k", 0.7), d("k", "a", 24.0, 1.0, ref="D1"))
    assert reads(low) == pytest.approx(0.7, abs=1e-9)
    assert reads(low, "k", "a") == pytest.approx(2.4, abs=1e-9)
    assert reads(high, "k", "a") == math.inf


def test_diodes_against_each_other_are_OL_both_ways():
    net = network(d("a", "m", 0.6, ref="D1"), d("k", "m", 0.6, ref="D2"))
    assert reads(net) == math.inf
    assert reads(net, "k", "a") == math.inf


def test_an_upper_clamp_leads_into_the_load_of_an_unpowered_rail():
    load = 150.0
    net = network(
        d("pin", "VDD", 0.6, ref="U1"), d("GND", "pin", 0.55, ref="U1"),
        r("VDD", "GND", load, "load"), r("VDD", "far", 1e4), d("far", "x", 0.6),
    )  # fmt: skip
    # 1 mA through the clamp and the load; the way through "far" ends in the air.
    assert reads(net, "pin", "GND") == pytest.approx(0.6 + load * 1e-3, abs=1e-9)
    # Red on ground: the lower clamp; the other way, load and upper clamp backwards, is
    # asleep.
    assert reads(net, "GND", "pin") == pytest.approx(0.55, abs=1e-9)


def test_the_open_voltage_does_not_leak_below_itself():
    # 2.9999 ohms at 1 A under 3 V: any soft limit would show here.
    net = network(r("a", "k", 2.9999))
    near = JunctionSolver(net).solve("a", "k", 1.0, 3.0)
    assert near.volts == pytest.approx(2.9999, rel=1e-13)
    assert not near.limited
    over = JunctionSolver(network(r("a", "k", 3.0001))).solve("a", "k", 1.0, 3.0)
    assert over.limited
    assert over.volts == 3.0
    assert over.amps == pytest.approx(3.0 / 3.0001, rel=1e-12)


def test_corners_take_the_ends_of_each_range():
    net = network(d("a", "k", 0.6))
    wide = network(
        type(net.junctions[0])("D1", "a", "k", 0.6, 0.5, 0.7),
    )
    found = [
        diode(wide, "a", "k", DEFAULT_METER, c) for c in ("low", "typical", "high")
    ]
    assert found == pytest.approx([0.5, 0.6, 0.7], abs=1e-9)


def test_values_that_cannot_be_are_refused_in_one_line():
    with pytest.raises(ValueError, match="junction of D1: found a drop of 0 V"):
        reads(network(d("a", "k", 0.0)))
    with pytest.raises(ValueError, match="resistance of R1: found -1 ohms"):
        reads(network(r("a", "k", -1.0)))
    with pytest.raises(ValueError, match="found corner 'middle'"):
        JunctionSolver(network(), "middle")
