"""The report says what was found, done, and not checked; private things stay out."""

import pytest

from ohmtrail.fixtures import write_demo

HEAD = "when,action,part,mode,plus,minus,value,note,customer\n"
#: An invented repair: a shorted switch comes off, then a new pair, and it runs.
STORY = (
    "09:00,power,,,VIN_19V,GND,limit,stayed at 0.5 A,\n"
    "09:10,measure,,resistance,VMAIN,GND,0.9,,Anna Example\n"
    "09:12,measure,,resistance,Q501.4,Q501.1,11.8,Anna Example asks,Anna Example\n"
    "09:13,measure,,resistance,Q401.4,Q401.1,4k98,,\n"
    "09:14,measure,,resistance,Q601.4,Q601.1,4k97,,\n"
    "09:20,lift,Q501,,,,,,\n"
    "09:21,measure,,resistance,VMAIN,GND,47k,,\n"
    "09:22,measure,Q501,resistance,Q501.5,Q501.1,0.2,in the hand,\n"
    "09:23,measure,,resistance,R511.1,R511.2,n/a,under the hood,\n"
)
END = (
    "09:30,lift,Q502,,,,,,\n09:35,fit,Q501,,,,new,,\n09:36,fit,Q502,,,,new,,\n"
    "09:40,measure,,resistance,VMAIN,GND,46k,,\n"
    "09:50,power,,,VIN_19V,GND,runs,,\n"
)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("report")
    write_demo(folder)
    (folder / "story.csv").write_text(HEAD + STORY, encoding="utf-8")
    (folder / "whole.csv").write_text(HEAD + STORY + END, encoding="utf-8")
    return folder


def chapters(text):
    pieces = text.split("\n## ")
    return {one.splitlines()[0]: one for one in pieces[1:]}


def test_a_story_in_the_middle(ohmtrail, demo):
    ran = ohmtrail("report", demo / "sk4.kicad_sch", "--log", demo / "story.csv")
    assert ran.status == 0
    told = chapters(ran.out)
    assert "### Q501: " in told["What was found, and why"]
    assert "| VMAIN | GND | resistance | 0.9 Ω | 47 kΩ | 3, 8 |" in ran.out
    assert "B apart from the others" in told["Readings before and after"]
    assert "| 7 | 09:20 | taken off | Q501 |" in told["What was done"]
    unchecked = told["What was not checked"]
    assert "R511.1 to R511.2 could not be reached" in unchecked
    assert "off the board as the log ends: Q501" in unchecked
    assert "the board did not run: limit" in unchecked
    assert "no reading at all: " in unchecked
    assert "does not say that the board is safe to power" in unchecked
    # The set, not the part that read short (makers' notes on paralleling).
    assert ": Q501 Q502**" in told["Advice"]
    assert "**Replace together" in told["Advice"]
    assert "resistance, in the hand" in told["Every reading"]
    assert "Adapter, battery and coin cell off" in told["Cautions"]


def test_a_story_with_a_good_end_claims_no_more_than_it_knows(ohmtrail, demo):
    ran = ohmtrail("report", demo / "sk4.kicad_sch", "--log", demo / "whole.csv")
    told = chapters(ran.out)
    assert "| VMAIN | GND | resistance | 0.9 Ω | 46 kΩ | 3, 14 |" in ran.out
    assert "a new part" in told["What was done"]
    assert "did not run" not in ran.out
    unchecked = told["What was not checked"]
    assert "rails not read since the board was last changed" in unchecked
    assert "What was not measured stays unknown" in unchecked
    assert "Replace together" not in told["Advice"]


def test_private_columns_are_left_out_unless_asked(ohmtrail, demo):
    words = ("report", demo / "sk4.kicad_sch", "--log", demo / "story.csv")
    ran = ohmtrail(*words)
    assert "Anna" not in ran.out
    assert "\\[left out\\] asks" in ran.out
    assert "left out: customer (--private puts them in)" in ran.err
    ran = ohmtrail(*words, "--private")
    assert "- customer: Anna Example" in ran.out
    assert ran.err == ""


def test_a_log_without_a_single_reading(ohmtrail, tmp_path):
    log = tmp_path / "empty.csv"
    log.write_text("when,action,part,mode,plus,minus,value\n", encoding="utf-8")
    ran = ohmtrail("report", "@one_buck", "--log", log)
    assert ran.status == 0
    assert "The log holds no reading." in ran.out
    assert "no power-up is in the log" in ran.out


def test_wrong_usage(ohmtrail, demo):
    words = ("report", "@one_buck", "--log", demo / "story.csv")
    for more, told in (
        (("--format", "md", "--format", "pdf"), "exclude each other"),
        (("--json",), "for people"),
        (("--paper", "a3"), "a3"),
    ):
        ran = ohmtrail(*words, *more)
        assert (ran.status, ran.out) == (2, "")
        assert told in ran.err
