"""Values as people write readings down.

The forms are those that the log's rules list; letters in the place of the decimal
point are IEC 60062's, prefixes those of the SI.
"""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.netanalysis.diagnosis.reading_text import parse_injection, parse_reading


@pytest.mark.parametrize(
    ("text", "mode", "value", "step"),
    [
        ("12.6", "resistance", 12.6, 0.1),
        ("12R6", "resistance", 12.6, 0.1),
        ("4k7", "resistance", 4700.0, 100.0),
        ("420k", "resistance", 420e3, 1e3),
        ("0.452", "diode", 0.452, 1e-3),
        ("0.452V", "diode", 0.452, 1e-3),
        ("0.0032", "four-wire", 0.0032, 1e-4),
        ("452mV", "diode", 0.452, 1e-3),
        ("R47", "resistance", 0.47, 0.01),
        ("R002", "four-wire", 0.002, 1e-3),
        ("5 mΩ", "four-wire", 0.005, 1e-3),
        ("0.9 ohm", "resistance", 0.9, 0.1),
        ("1.2 MΩ", "resistance", 1.2e6, 1e5),
        ("4.2E+05", "resistance", 420e3, 1e4),
        ("3V3", "voltage", 3.3, 0.1),
        ("-0.012", "voltage", -0.012, 1e-3),
        ("250uV", "drop", 250e-6, 1e-6),
        ("0", "resistance", 0.0, 1.0),
    ],
)
def test_forms(text, mode, value, step):
    reading = parse_reading(text, mode)
    assert (reading.value, reading.step) == (value, pytest.approx(step))


@pytest.mark.parametrize("mode", ["resistance", "diode", "four-wire"])
def test_open(mode):
    assert parse_reading("OL", mode).value == math.inf


@pytest.mark.parametrize("mode", ["drop", "voltage"])
def test_no_meter_shows_open_in_volts(mode):
    assert parse_reading("OL", mode) is None


@pytest.mark.parametrize(
    "text",
    ["", " ", "k", "R", ".", "-", "1.2.3", "4k7k", "1e3k", "1,5", "2V", "0x10", "1_000",
     "9" * 41, "1e99", "1e-400", "٣", "OLV", "n.a.", "12R6V", "+-3", "4k-7"],
)  # fmt: skip
def test_no_ohms(text):
    assert parse_reading(text, "resistance") is None


@given(
    st.integers(0, 10**6 - 1),
    st.integers(0, 5),
    st.sampled_from([("m", -3), ("", 0), ("k", 3), ("M", 6)]),
    st.sampled_from(["", " ", "Ω", " Ω", "ohm", " ohms"]),
)
def test_number_prefix_and_unit(digits, places, prefix, unit):
    # Python's own decimal arithmetic is the second opinion.
    number = Decimal(digits).scaleb(-places)
    letter, power = prefix
    reading = parse_reading(f"{number:f}{letter}{unit}", "resistance")
    assert reading.value == float(number.scaleb(power))
    assert reading.step == float(Decimal(1).scaleb(power - places))


@given(
    st.integers(0, 999),
    st.text("0123456789", min_size=1, max_size=3),
    st.sampled_from([("R", 0), ("k", 3), ("M", 6)]),
)
def test_letter_for_the_point(whole, decimals, letter):
    meant = Decimal(f"{whole}.{decimals}").scaleb(letter[1])
    text = f"{whole}{letter[0]}{decimals}"
    assert parse_reading(text, "resistance").value == float(meant)


@given(st.text(max_size=45), st.sampled_from(["resistance", "diode", "voltage"]))
def test_any_text_is_a_finite_reading_or_none(text, mode):
    reading = parse_reading(text, mode)
    if reading is not None and reading.value is not None:
        assert not math.isnan(reading.value)
        assert math.isfinite(reading.value) or text.casefold() == "ol"


@pytest.mark.parametrize(
    ("text", "volts", "amps"),
    [
        ("0.8V 2.1A", 0.8, 2.1),
        ("2.1A 0.8V", 0.8, 2.1),
        ("800mV 2100 mA", 0.8, 2.1),
        ("0.8 V 2.1 A", 0.8, 2.1),
        ("1V 0A", 1.0, 0.0),
    ],
)
def test_injections(text, volts, amps):
    assert parse_injection(text) == (pytest.approx(volts), pytest.approx(amps))


@pytest.mark.parametrize(
    "text", ["", "0.8", "0.8V", "0.8V 2.1", "0.8V 0.9V", "0.8V 2.1A 3A", "-1V 2A", "OL"]
)
def test_no_injections(text):
    assert parse_injection(text) is None
