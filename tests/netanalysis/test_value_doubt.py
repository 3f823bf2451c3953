"""Texts with two readings, and texts with none: reported, never guessed.

All common practice, no source, but where a line says so.
"""

import pytest

from ohmtrail.netanalysis.values import parse_value, read_value, says_not_fitted

#: (text, kind) -> the readings, in SI units.
DOUBTFUL = {
    # Three digits that are a code for 5 % parts and a member of E192 (IEC 60063).
    ("104", "resistor"): (104.0, 100e3),
    ("475", "resistor"): (475.0, 4.7e6),
    ("1002", "resistor"): (1002.0, 10e3),
    ("103J", "resistor"): (103.0, 10e3),
    # EIA-96 against a tolerance letter of IEC 60062; a current.
    ("01C", "resistor"): (10e3, 1.0),
    ("10F", "resistor"): (12.4e6, 10.0),
    ("33A", "resistor"): (215.0,),
    # SPICE's milli (ngspice manual 2.1.3) in a schematic's simulation field.
    ("r=1M", "resistor"): (1e6, 1e-3),
    ("1E3", "resistor"): (1.3, 1000.0),
    ("4,700", "resistor"): (4.7, 4700.0),
    ("10k/20k", "resistor"): (10e3, 20e3),
    ("47 for rev B", "resistor"): (47.0,),
    ("1M", "capacitor"): (1e-3, 1e-6),
    ("10m", "capacitor"): (10e-3, 10e-6),
    ("10", "capacitor"): (10e-12, 10e-6),
    ("0.1", "capacitor"): (0.1e-12, 0.1e-6),
    ("220", "capacitor"): (22e-12, 220e-12, 220e-6),
    ("220M", "capacitor"): (22e-12, 220e-12, 220e-6),
    ("103N", "capacitor"): (103e-9, 10e-9),
    ("100F", "capacitor"): (100.0, 10e-12, 100e-12, 100e-6),
    ("108", "capacitor"): (0.1e-12, 1e-3),
    ("1f", "capacitor"): (1e-15, 1.0),
    ("1,000uF", "capacitor"): (1e-6, 1e-3),
    ("100", "inductor"): (100e-9, 100e-6),
    ("10M", "inductor"): (10e-3, 10e-6),
    ("2", "fuse"): (2.0, 2e-3),
}


@pytest.mark.parametrize(("text", "kind"), DOUBTFUL)
def test_two_readings_are_both_given(text, kind):
    value = parse_value(text, kind)
    assert value.alternatives == pytest.approx(DOUBTFUL[text, kind], rel=1e-9)
    assert value.ambiguous
    assert read_value(text, kind).reason == value.ambiguous
    found = (value.ohms, value.farads, value.henries, value.impedance_ohms)
    assert found == (None, None, None, None)
    assert value.amps is None


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        # REFERENCES D: 4M7 is 4.7 megohm in IEC 60062, milli only in SPICE.
        ("4M7", 4.7e6),
        ("10M", 10e6),
        ("2m", 2e-3),
        ("1Meg", 1e6),
        # A number without unit in a schematic is ohms where its code would be
        # nearly the same, or would end in no zeros.
        ("470", 470.0),
        ("4700", 4700.0),
        ("121", 121.0),
    ],
)
def test_what_is_clear_although_it_looks_doubtful(text, ohms):
    assert parse_value(text, "resistor").ohms == ohms


def test_a_small_m_says_that_it_is_milli():
    assert "milli" in parse_value("1m", "resistor").note
    assert parse_value("1mR", "resistor").note == ""


@pytest.mark.parametrize(
    ("text", "kind", "reason"),
    [
        ("", "resistor", "no value"),
        ("~", "capacitor", "no value"),
        ("22uF", "inductor", "'22uF' says no inductance"),
        ("470ns", "inductor", "'470ns' says no inductance"),
        ("22OnF", "capacitor", "'22OnF' says no capacitance"),
        ("784383240047", "inductor", "'784383240047' says no inductance"),
        ("M3", "resistor", "'M3' says no resistance"),
        ("R='a ? 20 : 60'", "resistor", None),
        ("10k?", "resistor", "'10k?' is an expression or a question"),
        ("10-50pF", "capacitor", "'10-50pF' says no capacitance"),
    ],
)
def test_what_is_not_read_has_a_reason(text, kind, reason):
    reading = read_value(text, kind)
    assert reading.value is None
    assert reading.reason == reason or (
        reason is None and "expression" in reading.reason
    )


@pytest.mark.parametrize(
    ("text", "kind"), [("DNP", "resistor"), ("4k7", "resistor"), ("LM317", "chip")]
)
def test_nothing_is_missing(text, kind):
    assert read_value(text, kind).reason == ""


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        ("4.7 k\u2126", 4700.0),  # the ohm sign
        ("4.7k\u03a9", 4700.0),  # the Greek letter
        ("10\u33c0", 10e3),  # one sign for kilo-ohm
        ("1\u00a0000", 1000.0),
        ("1'000'000", 1e6),
        ("1,000,000", 1e6),
        ("4,7 k", 4700.0),
        ("0,001", 0.001),
        ("300\u00b5", 300e-6),
        ("300\u03bc\u2126", 300e-6),
        ("0m5", 0.5e-3),
        ("0.5mR", 0.5e-3),
        ("2m\u03a9", 2e-3),
        ("0L5", 0.5e-3),  # L for milliohm (REFERENCES D)
        ("R002", 2e-3),
    ],
)
def test_signs_of_every_keyboard(text, ohms):
    assert parse_value(text, "resistor").ohms == pytest.approx(ohms, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "farads"), [("100 NF", 100e-9), ("4.7 UF", 4.7e-6), ("22 PF", 22e-12)]
)
def test_capitals_are_units_before_they_are_words(text, farads):
    # Drawings in capitals throughout are common (no source): 100 NF is a capacitor,
    # not a part that is left out.
    assert not says_not_fitted(text)
    assert parse_value(text, "capacitor").farads == pytest.approx(farads)


@pytest.mark.parametrize("text", ["10k NF", "100/NF", "NF", "100n NF"])
def test_behind_a_whole_value_the_word_still_counts(text):
    assert says_not_fitted(text)
