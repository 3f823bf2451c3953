"""What a checklist says of the other polarity."""

import pytest


def blocks(text):
    """The blocks of a checklist, by their text."""
    return text.split("\n\n")


def test_the_text_says_it_once_a_block(ohmtrail):
    ran = ohmtrail("checklist", "@one_buck", "--part", "Q1")
    told = [one for one in blocks(ran.out) if " OL with the probes swapped" in one]
    assert told
    for body in told:
        assert body.count("swap  ") == 1
        assert "a short reads the same" in body


def test_a_step_whose_other_way_round_is_listed_needs_no_word(ohmtrail):
    words = ("checklist", "@one_buck", "--rail", "+3V3")
    steps = ohmtrail(*words, "--json").json["sections"][0]["steps"]
    there, back = (one for one in steps[:3] if one["mode"] == "resistance")
    assert (there["plus"], there["minus"]) == (back["minus"], back["plus"])
    # Programs are told, people see it in the next block.
    assert there["swapped"] == pytest.approx(back["expect"]["typical"], rel=1e-4)
    ran = ohmtrail(*words)
    first = next(one for one in blocks(ran.out) if "\nRail to ground" in one)
    assert "probes swapped" not in first


def test_markdown_and_csv_have_it(ohmtrail):
    words = ("checklist", "@one_buck", "--part", "Q1")
    markdown = ohmtrail(*words, "--format", "md").out
    assert "- swap: OL with the probes swapped; a short reads the same" in markdown
    head, *rows = ohmtrail(*words, "--format", "csv").out.splitlines()
    assert head.endswith(",swapped")
    assert any(row.endswith(",OL") for row in rows)


def test_expect_says_it_in_numbers_too(ohmtrail):
    found = ohmtrail(
        *("expect", "@one_buck", "--mode", "diode", "Q1.1", "Q1.5", "--json")
    ).json
    assert (found["swapped"], found["swap"]) == ("OL", "OL with the probes swapped")
    sense = ohmtrail(
        *("expect", "@one_buck", "--mode", "diode", "R8.1", "R8.2", "--json")
    ).json
    assert sense["swapped"] != sense["typical"]
    alike = ohmtrail(
        *("expect", "@one_buck", "--mode", "four-wire", "L1.1", "L1.2", "--json")
    ).json
    assert (alike["swapped"], alike["swap"]) == (None, "")
