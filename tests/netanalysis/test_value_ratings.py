"""Tolerance, ratings, beads and fuses beside the quantity.

Tolerance letters: 3bmdesign.com and marvac.com for IEC 60062 (REFERENCES D); F and G
below 10 pF from memory.  What stands without a source is common practice.
"""

import pytest

from ohmtrail.netanalysis.values import parse_value, read_value

PERCENT = {
    "B": 0.1,
    "C": 0.25,
    "D": 0.5,
    "F": 1,
    "G": 2,
    "J": 5,
    "K": 10,
    "M": 20,
    "N": 30,
}


@pytest.mark.parametrize(("letter", "percent"), PERCENT.items())
def test_letters_in_percent(letter, percent):
    """REFERENCES D, tolerance letters."""
    values = [parse_value(f"4K7{letter}", "resistor")]
    if letter != "N":  # 104N may be nanofarads
        values.append(parse_value(f"104{letter}", "capacitor"))
        assert values[1].farads == 100e-9
    for value in values:
        assert value.tolerance == pytest.approx(percent / 100)
        assert value.tolerance_minus == value.tolerance_plus == value.tolerance


@pytest.mark.parametrize(
    ("letter", "minus", "plus"),
    [("Q", 0.1, 0.3), ("S", 0.2, 0.5), ("T", 0.1, 0.5), ("Z", 0.2, 0.8)],
)
def test_two_sided_letters(letter, minus, plus):
    """REFERENCES D, asymmetric letters; ``tolerance`` is the wider side."""
    value = parse_value(f"473{letter}", "capacitor")
    assert value.farads == 47e-9
    assert (value.tolerance_minus, value.tolerance_plus) == (minus, plus)
    assert value.tolerance == plus


@pytest.mark.parametrize(
    ("text", "picofarads"),
    [
        ("4p7B", 0.1),
        ("4p7C", 0.25),
        ("4R7D", 0.5),
        ("2p2G", 2.0),
        ("8.2p ±0.25pF", 0.25),
        ("479C", 0.25),
    ],
)
def test_letters_below_ten_picofarads_are_absolute(text, picofarads):
    """REFERENCES D, tolerance letters for C < 10 pF."""
    value = parse_value(text, "capacitor")
    assert value.tolerance * value.farads * 1e12 == pytest.approx(picofarads, rel=1e-4)


def test_from_ten_picofarads_they_are_percent():
    assert parse_value("100p J", "capacitor").tolerance == 0.05
    assert parse_value("10n F", "capacitor").tolerance == 0.01


@pytest.mark.parametrize(
    "text", ["100n +80/-20%", "100n -20/+80%", "100n -20% +80%", "100n +80-20%"]
)
def test_two_sided_percent(text):
    value = parse_value(text, "capacitor")
    assert value.farads == 100e-9
    assert (value.tolerance_minus, value.tolerance_plus) == (0.2, 0.8)


@pytest.mark.parametrize(
    "text",
    ["10k 1%", "10k ±1%", "10k +/-1 %", "10k/1%", "10k(1%)", "10kF", "10k, ± 1%"],
)
def test_percent(text):
    value = parse_value(text, "resistor")
    assert (value.ohms, value.tolerance) == (10e3, 0.01)


def test_a_letter_of_a_case_is_no_tolerance():
    assert parse_value("330u KEMET D", "capacitor").tolerance is None


@pytest.mark.parametrize(
    ("text", "volts", "dielectric"),
    [
        ("22u/25V X5R", 25.0, "X5R"),
        ("100n 50V 0402 X7R 10%", 50.0, "X7R"),
        ("0.1uF-100V", 100.0, ""),
        ("22uF25V", 25.0, ""),
        ("10u_6V3", 6.3, ""),
        ("15u, 100v", 100.0, ""),
        ("100p NPO", None, "NP0"),
        ("68p/50V/NP0", 50.0, "NP0"),
        ("1n COG 2kV", 2000.0, "C0G"),
        ("100n Y5V", None, "Y5V"),
    ],
)
def test_volts_and_class(text, volts, dielectric):
    value = parse_value(text, "capacitor")
    assert value.farads is not None
    assert (value.volts, value.dielectric) == (volts, dielectric)


@pytest.mark.parametrize(
    ("text", "watts"), [("1k 1/4W", 0.25), ("R002 2W", 2.0), ("0R5/250mW", 0.25)]
)
def test_watts(text, watts):
    assert parse_value(text, "resistor").watts == pytest.approx(watts)


def test_a_bead_has_an_impedance_and_perhaps_a_resistance():
    """600 ohm at 100 MHz is far from what a meter reads across it."""
    bead = parse_value("600R@100MHz", "bead")
    assert (bead.ohms, bead.impedance_ohms, bead.at_hertz) == (None, 600.0, 100e6)
    for text in (
        "600R@100MHz 0.2R DCR 1A",
        "600R@100MHz DCR=0.2R 1A",
        "600Z 1A RDC: 200m",
    ):
        bead = parse_value(text, "bead")
        assert (bead.impedance_ohms, bead.ohms, bead.amps) == (600.0, 0.2, 1.0)
    two = parse_value("600R 200mR", "bead")
    assert two.ambiguous
    assert two.ohms is None
    assert two.impedance_ohms is None


def test_ohms_on_a_coil():
    assert parse_value("10uH 3A 20mR DCR", "inductor").ohms == 0.02
    assert parse_value("600R@100MHz", "inductor").impedance_ohms == 600.0
    doubt = parse_value("600R", "inductor")
    assert doubt.ohms is None
    assert doubt.impedance_ohms is None
    assert doubt.ambiguous == "600R: impedance of a bead, or resistance"


@pytest.mark.parametrize("kind", ["bead", "inductor", "fuse", "capacitor", "resistor"])
def test_a_wire_in_the_place_of_any_part(kind):
    value = parse_value("0R", kind)
    assert value.ohms == 0.0
    assert (value.farads, value.henries, value.impedance_ohms) == (None, None, None)


@pytest.mark.parametrize(
    ("text", "amps", "volts"),
    [
        ("T2A", 2.0, None),  # letters of IEC 60127, from memory
        ("F1.25AL250V", 1.25, 250.0),
        ("500mA", 0.5, None),
        ("1A5", 1.5, None),
        ("3A 32V", 3.0, 32.0),
    ],
)
def test_fuses(text, amps, volts):
    value = parse_value(text, "fuse")
    assert (value.amps, value.volts) == (amps, volts)


def test_crystals():
    value = parse_value("12MHz 50ppm 18pF", "crystal")
    assert (value.at_hertz, value.farads) == (12e6, 18e-12)
    assert value.tolerance == pytest.approx(50e-6)


def test_words_that_were_not_used_are_kept():
    assert parse_value("100uF (C1954161)", "capacitor").unread == "C1954161"
    assert parse_value("NTC 10k 3950K", "resistor").ohms == 10e3
    assert read_value("4x10k", "resistor").value.note == "4 of it in one part"
