"""The examples of docs/method.md run and print what they show."""

import doctest
from pathlib import Path

PAGE = Path(__file__).parent.parent / "docs" / "method.md"


def test_examples_run():
    found = doctest.testfile(
        str(PAGE),
        module_relative=False,
        optionflags=doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL,
        encoding="utf-8",
    )
    assert found.attempted > 30
    assert found.failed == 0


def test_faults_of_the_page_are_those_of_the_program():
    """The table's ranges are the constants of ``faults``."""
    from ohmtrail.netanalysis.diagnosis import faults

    page = PAGE.read_text("utf-8")
    for name in ("_CHANNEL", "_GATE", "_SHORT", "_PIN", "_OUTPUT", "_LEAK"):
        low, high = getattr(faults, name)
        assert f"{low:g} to {high:g}" in page
    for chance in (faults.DRIVER_TOO, faults.GATE_RESISTOR_TOO):
        assert f"{chance:g}" in page


def test_classes_of_rails_are_those_of_the_program():
    """The table's limits are those that `short` judges by."""
    from ohmtrail.netanalysis.verdict import CLASSES

    page = PAGE.read_text("utf-8")
    for one in CLASSES:
        upto = f"{one.volts_max:g} V" if one.volts_max < float("inf") else "any"
        assert (
            f"| {one.title} | {upto} | {one.short_watts:g} W | "
            f"{one.normal_ohms:g} ohm | {one.low_ohms:g} ohm |"
        ) in page
