"""A table on a narrow screen folds its cells and loses nothing."""

import pytest

from ohmtrail.cli.render.tables import print_table
from ohmtrail.cli.render.units import quantity, range_text

ROWS = [
    ("/Power entry/VIN_F[A]", "19", "linked to VIN_19V", "F101", "VMAIN +3V3", "U1"),
    ("Net-(U1-A_very_long_name_that_goes_on_and_on)", "?", "", "", "", "U2 U3 " * 20),
]
HEADINGS = ("rail", "volts>", "why", "source", "feeds", "loads")


@pytest.mark.parametrize("width", [40, 60, 80, 110])
def test_nothing_is_lost_and_nothing_too_wide(capsys, monkeypatch, width):
    monkeypatch.setenv("COLUMNS", str(width))
    print_table(HEADINGS, ROWS)
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= width
    # Every character of every cell is there, folded or not, markup or not.
    letters = sorted("".join(out.split()))
    assert letters == sorted(
        "".join("".join(cell.split()) for row in ROWS for cell in row)
        + "".join(heading.rstrip(">") for heading in HEADINGS)
    )


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.3, "ohms", "0.3 Ω"),
        (0.005, "ohms", "5 mΩ"),
        (999.9, "ohms", "1 kΩ"),
        (2.2e6, "ohms", "2.2 MΩ"),
        (0.42, "volts", "0.42 V"),
        (0.0, "volts", "0 V"),
        ("OL", "ohms", "OL"),
    ],
)
def test_numbers_have_a_unit_and_three_digits(value, unit, text):
    assert quantity(value, unit) == text


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (2.09, 2.41, "2.09 to 2.41 Ω"),
        (950.0, 1050.0, "950 Ω to 1.05 kΩ"),
        (1e3, "OL", "over 1 kΩ"),
        (0.0, 1.0, "under 1 Ω"),
        (0.0, "OL", "any"),
        (None, None, "any"),
    ],
)
def test_ranges(low, high, text):
    assert range_text(low, high, "ohms") == text
