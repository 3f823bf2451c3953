"""What is printed on chips: three and four digits, EIA-96, the letter code.

Sources by REFERENCES D: the GW-Instek GDS-200 manual p. 178 for the digits, IEC
60062:2016 for the letters, EIA-96 multipliers from devutl.com and binarytech-dz.com.
"""

import pytest

from ohmtrail.netanalysis.values import (
    capacitor_mark_farads,
    digits_mark,
    e_series,
    eia96_mark,
    eia96_ohms,
    parse_value,
    resistor_mark_ohms,
    resistor_marks,
    rkm_text,
)

#: REFERENCES D, EIA-96 test codes.
EIA96 = {
    "01A": 100.0,
    "01C": 10e3,
    "01Y": 1.0,  # not 0.01, as one web page has it
    "68X": 49.9,
    "66X": 47.5,
    "29B": 1960.0,
    "76X": 60.4,
    "10F": 12.4e6,
    "96F": 97.6e6,
    "24A": 174.0,  # a web page says 178
    "48A": 309.0,  # the same page says 316
}
#: REFERENCES D: multiplier letters, on member 01 (100).
LETTERS = {
    "Z": 0.1,
    "Y": 1.0,
    "R": 1.0,
    "X": 10.0,
    "S": 10.0,
    "A": 100.0,
    "B": 1e3,
    "H": 1e3,
    "C": 1e4,
    "D": 1e5,
    "E": 1e6,
    "F": 1e7,
}
#: REFERENCES D, "3/4-digit".
DIGITS = {
    "103": 10e3,
    "220": 22.0,
    "1002": 10e3,
    "12R0": 12.0,
    "4R7": 4.7,
    "R47": 0.47,
    "0R0": 0.0,
    "000": 0.0,
    "0": 0.0,
}


@pytest.mark.parametrize(("mark", "ohms"), EIA96.items())
def test_eia96(mark, ohms):
    assert eia96_ohms(mark) == ohms
    assert resistor_mark_ohms(mark) == (ohms,)


@pytest.mark.parametrize(("letter", "ohms"), LETTERS.items())
def test_letters_of_eia96(letter, ohms):
    assert eia96_ohms("01" + letter) == ohms


@pytest.mark.parametrize("mark", ["00A", "97A", "01G", "1A", "001A", "01"])
def test_no_eia96_code(mark):
    assert eia96_ohms(mark) is None


@pytest.mark.parametrize(("mark", "ohms"), DIGITS.items())
def test_digits_on_a_chip(mark, ohms):
    assert resistor_mark_ohms(mark) == (ohms,)


def test_a_mark_in_two_codes_gives_both():
    """R is a decimal point (IEC 60062) and 0.01 in EIA-96."""
    assert resistor_mark_ohms("10R") == (10.0, 1.24)
    assert resistor_mark_ohms("47Q") == ()


#: Capacitor codes: marvac.com multiplier table; 9 and R by EIA-198, from memory
#: (REFERENCES D).
FARADS = {"104": 100e-9, "106": 10e-6, "226": 22e-6, "4R7": 4.7e-12, "479": 4.7e-12}


@pytest.mark.parametrize(("mark", "farads"), FARADS.items())
def test_capacitor_codes(mark, farads):
    assert capacitor_mark_farads(mark) == farads
    assert parse_value(mark, "capacitor").farads == farads


DECADES_E96 = [float(f"{n}e{p}") for p in range(-3, 6) for n in e_series(96)]


def test_round_trip_over_e96_and_its_multipliers():
    """Encode and decode every member times every multiplier of EIA-96."""
    for ohms in DECADES_E96:
        mark = eia96_mark(ohms)
        assert mark is not None
        assert eia96_ohms(mark) == ohms
        text = rkm_text(ohms)
        assert parse_value(text, "resistor").ohms == ohms, text
        assert parse_value(text.replace("k", "K"), "resistor").ohms == ohms


def test_round_trip_in_four_digits():
    """Every member of E96 that four characters can hold: 1 ohm to 976 megohm."""
    for power in range(-2, 7):
        for number in e_series(96):
            ohms = float(f"{number}e{power}")
            mark = digits_mark(ohms, 4)
            assert mark is not None
            assert len(mark) == 4
            assert resistor_mark_ohms(mark) == (ohms,), mark


def test_round_trip_in_three_digits():
    """Every member of E24 that three characters can hold: 0.1 ohm to 91 megohm."""
    for power in range(-2, 7):
        for number in e_series(24):
            ohms = float(f"{number}e{power}")
            mark = digits_mark(ohms, 3)
            assert mark is not None
            assert len(mark) == 3
            assert ohms in resistor_mark_ohms(mark), mark


def test_round_trip_of_capacitor_codes():
    for power in range(-2, 8):
        for number in e_series(24):
            digit = {-2: 8, -1: 9}.get(power, power)
            farads = capacitor_mark_farads(f"{number}{digit}")
            assert farads == float(f"{number}e{power - 12}")


def test_what_codes_cannot_hold():
    assert digits_mark(49.9e3, 3) is None
    assert digits_mark(1234.5, 4) is None
    assert eia96_mark(4.7e3) is None
    assert eia96_mark(0.0) is None


def test_marks_to_look_for_on_a_board():
    """All codes above for one resistance."""
    assert resistor_marks(10e3) == ("103", "1002", "01C")
    assert resistor_marks(49.9) == ("49R9", "68X")
    assert resistor_marks(0.002) == ("R002",)
