"""Each command's screen, whole, at 80 columns, without colour.

The screens are in ``expected/``.  ``OHMTRAIL_WRITE_EXPECTED=1`` writes them anew;
read the difference before it is committed.
"""

import os
from pathlib import Path

import pytest

EXPECTED = Path(__file__).parent / "expected"

SCREENS = {
    "help": ["--help"],
    "summary": ["summary", "@one_buck"],
    "nets": ["nets", "@load_switch"],
    "net": ["net", "@one_buck", "VBUS"],
    "part": ["part", "@three_phase", "Q101"],
    "rails": ["rails", "@one_buck"],
    "parallel": ["parallel", "@three_phase"],
    "stages": ["stages", "@one_buck"],
    "short": ["short", "@one_buck", "VBUS", "--nominal", "VBUS=12", "--ohms", "0R9"],
    "short_all": ["short", "@pass_pair", "VMAIN", "--all"],
    "checklist_rail": ["checklist", "@one_buck", "--rail", "VBUS"],
    "checklist_phases": ["checklist", "@three_phase", "--rail", "VCORE_1V0"],
    "checklist_part": ["checklist", "@load_switch", "--part", "Q1"],
    "checklist_whole": ["checklist", "@load_switch"],
    "checklist_md": ["checklist", "@three_phase", "--rail", "SW1", "--format", "md"],
    "checklist_csv": ["checklist", "@load_switch", "--format", "csv"],
    "table": ["table", "--stage", "buck"],
}


@pytest.mark.parametrize("name", SCREENS)
def test_screen(ohmtrail, name):
    ran = ohmtrail(*SCREENS[name])
    assert (ran.status, ran.err) == (0, "")
    assert "\x1b" not in ran.out
    path = EXPECTED / f"{name}.txt"
    if os.environ.get("OHMTRAIL_WRITE_EXPECTED") == "1":
        path.write_text(ran.out, encoding="utf-8")
    assert ran.out == path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "name", [n for n in SCREENS if not n.endswith(("_md", "_csv", "table"))]
)
def test_a_screen_fits_80_columns(name):
    text = (EXPECTED / f"{name}.txt").read_text(encoding="utf-8")
    too_wide = [line for line in text.splitlines() if len(line) > 80]
    assert too_wide == []
