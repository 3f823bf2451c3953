"""The meter: ranges, what wakes a junction in resistance mode, swapped probes.

Outside sources: Ohm's and Shockley's laws, worked out beside each check; what a
handheld drives is common practice, no single source.
"""

import math

import pytest
from _junction_networks import d, network, r

from ohmtrail.netanalysis.network.junction_law import THERMAL_VOLTS as VT
from ohmtrail.netanalysis.network.junction_solve import diode, resistance_shown
from ohmtrail.netanalysis.network.meter import (
    DEFAULT_METER,
    DiodeRange,
    Meter,
    MeterError,
    OhmRange,
)


def shown(net, plus="a", minus="k", mode="resistance"):
    return resistance_shown(net, plus, minus, DEFAULT_METER, mode=mode)


@pytest.mark.parametrize(
    ("ohms", "full"),
    [(0.0, 400.0), (399.9, 400.0), (400.1, 4e3), (47e3, 4e5), (3.9e7, 4e7)],
)
def test_a_resistance_lands_in_its_range(ohms, full):
    reading = shown(network(r("a", "k", ohms), d("k", "m", 0.6)))
    assert reading.ohms == reading.linear_ohms == pytest.approx(ohms, rel=1e-12)
    assert reading.range.full_scale_ohms == full
    assert reading.woke == ()
    assert not reading.polar


def test_above_the_highest_range_and_without_a_path_it_shows_OL():
    over = shown(network(r("a", "k", 5e7)))
    assert over.ohms == math.inf
    assert over.linear_ohms == pytest.approx(5e7)
    assert shown(network(r("a", "b", 1.0), r("k", "m", 1.0))).linear_ohms == math.inf


def test_silicon_sleeps_across_a_small_resistance_and_a_schottky_wakes():
    # 1 mA through 220 ohms is 0.22 V: silicon takes 1 mA exp(-0.38 / Vt), 0.4 nA; a
    # Schottky of 0.2 V would take all.
    net = network(r("a", "k", 220.0), d("a", "k", 0.6, ref="Q1"))
    assert shown(net).ohms == shown(net).linear_ohms
    net = network(r("a", "k", 220.0), d("a", "k", 0.2, ref="D7"))
    reading = shown(net)
    assert reading.ohms < 200.0
    assert reading.woke == ("D7",)
    # Backwards a Schottky of 0.2 V leaks its Is, 0.44 uA of 1 mA: asleep.
    assert reading.swapped_ohms == pytest.approx(220.0, rel=1e-12)
    assert reading.swapped_woke == ()
    assert reading.polar


def test_a_bare_diode_shows_megohms_one_way():
    # 0.1 uA in the 4 megohm range: n Vt ln(1e4) below the drop at 1 mA.
    reading = shown(network(d("a", "k", 0.6, ref="Q1")))
    volts = 0.6 - VT * math.log(1e4)
    assert reading.range.full_scale_ohms == 4e6
    assert reading.ohms == pytest.approx(volts / 1e-7, rel=1e-4)
    assert reading.woke == ("Q1",)
    assert reading.swapped_ohms == math.inf
    assert reading.polar


def test_four_wire_wakes_nothing_on_a_board():
    net = network(r("a", "k", 0.0123), d("a", "k", 0.25), d("k", "a", 0.25, ref="D2"))
    reading = shown(net, mode="four-wire")
    assert reading.ohms == pytest.approx(0.0123, rel=1e-12)
    assert reading.range.test_amps == 0.1


def test_leads_take_their_part_of_the_open_voltage_and_none_of_the_reading():
    one = OhmRange(10.0, 0.1, 1.0, 0.01)
    meter = Meter((one,), DiodeRange(1e-3, 1.0, 1.0), DEFAULT_METER.four_wire, 2.0)
    net = network(r("a", "k", 7.0), d("k", "m", 0.9995))
    assert resistance_shown(net, "a", "k", meter).ohms == pytest.approx(7.0)
    # 1 V less 2 mV: 0.997 V still fits, 0.999 V does not.
    assert diode(network(d("a", "k", 0.997)), "a", "k", meter) == pytest.approx(0.997)
    assert diode(network(d("a", "k", 0.999)), "a", "k", meter) == math.inf


def test_displays_round_to_a_count_and_show_OL_above_full_scale():
    one = DEFAULT_METER.resistance[0]
    assert one.display(12.34) == pytest.approx(12.3)
    assert one.display(400.01) == math.inf
    assert one.error_ohms(100.0) == pytest.approx(1.2)
    assert DEFAULT_METER.diode.display(0.61249) == pytest.approx(0.612)
    assert DEFAULT_METER.diode.error_volts(0.6) == pytest.approx(0.008)


def test_meters_that_cannot_be():
    with pytest.raises(MeterError, match="found test_amps 0, expected more than 0"):
        OhmRange(400.0, 0.0, 0.5, 0.1)
    with pytest.raises(MeterError, match=r"expected at least 0\.4"):
        OhmRange(400.0, 1e-3, 0.3, 0.1)
    with pytest.raises(MeterError, match="full_scale_volts 3, expected at most"):
        DiodeRange(1e-3, 2.0, 3.0)
    hot = (OhmRange(1.0, 0.1, 0.2, 1e-3),)
    with pytest.raises(MeterError, match=r"expected at most 0\.1"):
        Meter(DEFAULT_METER.resistance, DEFAULT_METER.diode, hot)
