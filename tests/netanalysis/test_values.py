"""Value texts as people draw them.

Codes: IEC 60062 (4k7, R47, tolerance letters), three-digit codes EIA; the rest is
common practice, no source.
"""

import pytest

from ohmtrail.netanalysis.values import parse_value, says_not_fitted

OHMS = {
    "4k7": 4700.0,
    "4K7J": 4700.0,
    "0R": 0.0,
    "0": 0.0,
    "0 ohm": 0.0,
    "10R0": 10.0,
    "R47": 0.47,
    "R002": 0.002,
    "0L5": 0.0005,
    "2mΩ": 0.002,
    "2m": 0.002,
    "5mR": 0.005,
    "300µ": 0.0003,
    "0.005": 0.005,
    "100/1%": 100.0,
    "10k 1%": 10e3,
    "10 k": 10e3,
    "4,7k": 4700.0,
    "1M": 1e6,
    "1Meg": 1e6,
    "10E": 10.0,
    "R_10k_0402": 10e3,
    "0.02±1%": 0.02,
    "1k 1/4W": 1e3,
    "121": 121.0,
}
FARADS = {
    "100n": 100e-9,
    "100 nF": 100e-9,
    "4u7": 4.7e-6,
    "4n7F": 4.7e-9,
    "0.1uF": 100e-9,
    "22µ": 22e-6,
    "22u/25V X5R": 22e-6,
    "2200p": 2.2e-9,
    "10MFD": 10e-6,
    "104": 100e-9,
    "4.7uF_10V_0603": 4.7e-6,
}
HENRIES = {
    "1uH": 1e-6,
    "2u2": 2.2e-6,
    "10uH/5A": 10e-6,
    "R15": 0.15e-6,
    "150nH": 150e-9,
}


@pytest.mark.parametrize(("text", "ohms"), OHMS.items())
def test_resistors(text, ohms):
    assert parse_value(text, "resistor").ohms == pytest.approx(ohms, abs=1e-12)


@pytest.mark.parametrize(("text", "farads"), FARADS.items())
def test_capacitors(text, farads):
    assert parse_value(text, "capacitor").farads == pytest.approx(farads)


@pytest.mark.parametrize(("text", "henries"), HENRIES.items())
def test_inductors(text, henries):
    assert parse_value(text, "inductor").henries == pytest.approx(henries)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("10", "capacitor"),
        ("100", "capacitor"),
        ("10M", "capacitor"),
        ("103", "resistor"),
        ("100", "inductor"),
    ],
)
def test_two_readings_are_reported_and_not_guessed(text, kind):
    value = parse_value(text, kind)
    assert value.ambiguous
    assert (value.ohms, value.farads, value.henries) == (None, None, None)


def test_ratings_beside_the_value():
    value = parse_value("22uF/6V3 20% X5R", "capacitor")
    assert (value.volts, value.tolerance, value.dielectric) == (6.3, 0.2, "X5R")
    bead = parse_value("600R@100MHz 2A", "bead")
    assert (bead.ohms, bead.impedance_ohms) == (None, 600.0)
    assert (bead.at_hertz, bead.amps) == (100e6, 2.0)
    assert parse_value("4K7J", "resistor").tolerance == 0.05
    assert parse_value("500mA", "fuse").amps == 0.5


def test_text_without_a_value_is_none():
    assert parse_value("R_Shunt_US", "resistor") is None
    assert parse_value("", "capacitor") is None
    assert parse_value("BQ76952", "chip") is None


@pytest.mark.parametrize("text", ["DNP", "10k/DNP", "NC", "0R (NF)", "do not fit"])
def test_words_for_not_fitted(text):
    assert says_not_fitted(text)


@pytest.mark.parametrize("text", ["100 nF", "10p C0G NP0", "NCP1117", "1M", "OPEN"])
def test_words_that_only_look_like_not_fitted(text):
    assert not says_not_fitted(text)
