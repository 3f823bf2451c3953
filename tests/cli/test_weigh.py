"""``ohmtrail weigh``: its JSON, its table, its errors.

The keys are those of the stable surface (CONTRACT, row ``weigh``); the demo board's
own log is the one under repair.
"""

import pytest

from ohmtrail.fixtures import write_demo


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return write_demo(tmp_path_factory.mktemp("demo"))[0].parent


@pytest.fixture
def weigh(ohmtrail, folder):
    def run(*arguments):
        return ohmtrail(
            "weigh",
            folder / "sk4.kicad_sch",
            "--log",
            folder / "bench_log.csv",
            *arguments,
        )

    return run


def test_json_of_a_suggestion(weigh):
    ran = weigh("--claim", "R511 open", "--json").json
    assert ran["verdict"] == "contradicted"
    assert 24 in ran["by"]
    assert ran["decider"] is None
    (claim,) = ran["claim"]
    assert (claim["parts"], claim["fault"]) == (["R511"], "open")
    assert ran["warnings"] == []


def test_json_of_an_open_one_has_a_next_action(weigh):
    ran = weigh("--claim", "R513 open", "--json").json
    assert (ran["verdict"], ran["by"]) == ("open", [])
    action = ran["decider"]
    assert action["action"] == "measure"
    assert {action["plus"], action["minus"]} == {"R513.1", "R513.2"}
    assert action["mode"] == "resistance"
    assert action["seconds"] > 0


def test_a_file_is_a_ranked_table(weigh, tmp_path):
    path = tmp_path / "claims.txt"
    path.write_text(
        "# from a forum\nR511 open\nR513\n\nboth switches of the pair\nU9\n"
    )
    ran = weigh("--claims", path, "--json").json
    verdicts = [(one["line"], one["verdict"]) for one in ran["claims"]]
    assert verdicts == [(5, "fits"), (3, "open"), (2, "contradicted")]
    assert [one["line"] for one in ran["not_understood"]] == [6]
    text = weigh("--claims", path).out.splitlines()
    assert text[1].startswith("fits ")
    assert "both" in text[1]


def test_screen(weigh):
    ran = weigh("--claim", "bad gate resistor")
    assert ran.status == 0
    assert "contradicted: R511 bad" in ran.out
    assert "line 24: Q501.4 to U501.5 2.3 ohms" in ran.out


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (("--claim", "Q5O1"), 1, "nearest on the board: Q501"),
        (("--claim", ""), 1, "names no part"),
        (("--claims", "missing.txt"), 1, "missing.txt"),
        ((), 2, "--claim TEXT"),
        (("--claim", "Q501", "--claims", "x"), 2, "--claim TEXT"),
    ],
)
def test_bad_input_is_one_line(weigh, arguments, status, words):
    ran = weigh(*arguments)
    assert ran.status == status
    assert ran.out == ""
    assert words in ran.err
    assert ran.err.count("\n") == 1


def test_a_file_that_is_no_text(weigh, tmp_path):
    path = tmp_path / "claims.txt"
    path.write_bytes(b"\xff\xfe\x00")
    assert "no UTF-8" in weigh("--claims", path).err
    path.write_bytes(b"\n\n")
    assert "found no suggestion" in weigh("--claims", path).err
