"""The screen of `rank`, read aloud."""

from itertools import pairwise

import pytest

HEADER = "when,action,part,mode,plus,minus,value,note\n"


@pytest.fixture
def screen(ohmtrail, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text(f"{HEADER},measure,,resistance,VBUS,GND,0.6,\n", encoding="utf-8")
    ran = ohmtrail("rank", "@one_buck", "--log", str(log))
    assert ran.status == 0
    return ran.out


def test_reasons_that_are_the_same_are_said_once(screen):
    suspects, reasons = [], []
    for line in screen.split("\n\n")[0].splitlines():
        if "%  " in line:
            suspects.append(line)
            reasons.append("")
        else:
            reasons[-1] += line
    assert len(suspects) > 3
    assert reasons.count("       - as above") > 1
    assert all(
        one == "       - as above" or one != before for before, one in pairwise(reasons)
    )


def test_a_pin_is_no_ohms(screen):
    assert "short at pin" in screen
    assert "pin short" not in screen
