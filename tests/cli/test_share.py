"""A second opinion: one file out, the same answers there, suggestions back."""

import gzip

import pytest
from _shared_cases import body, packed

from ohmtrail.fixtures import write_demo

LOG = """\
when,action,part,mode,plus,minus,value,note,customer,serial

2026-03-02,look,Q1,,,,burnt,for Petra Example,Petra Example,SN-4711
2026-03-02,measure,,resistance,VBUS,GND,0.4,"two
lines",Petra Example,SN-4711

2026-03-02,measure,,resistance,net:SW,GND,0.3,sn-4711 of PETRA,Petra Example,SN-4711
2026-03-02,lift,Q1,,,,,,,
2026-03-02,measure,,resistance,VBUS,GND,12k,,,
"""


@pytest.fixture
def case(ohmtrail, tmp_path):
    """A shared case, its board and its log."""
    log = tmp_path / "log.csv"
    log.write_text(LOG, encoding="utf-8")
    out = tmp_path / "case.ohmcase"
    words = ("--nominal", "SW=3.3", "--log", log, "--question", "Q1 <b>alone</b>?")
    ran = ohmtrail("share", "@one_buck", *words, "--out", out)
    assert ran.status == 0, ran.err
    assert "left out of the log: customer, serial" in ran.err
    return out, log


def test_the_same_ranking_without_the_schematic(ohmtrail, case, tmp_path, monkeypatch):
    out, log = case
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    copy = elsewhere / "got.ohmcase"
    copy.write_bytes(out.read_bytes())
    theirs = ohmtrail("rank", copy, "--json").json
    words = ("--nominal", "SW=3.3", "--log", log, "--json")
    assert theirs == ohmtrail("rank", "@one_buck", *words).json
    assert theirs["suspects"]
    # Lines are told by number: they are those of the owner's file.
    told = " ".join(text for one in theirs["suspects"] for text in one["because"])
    assert "line 4" in told


def test_the_demo_board_with_its_layout(ohmtrail, tmp_path):
    write_demo(tmp_path / "demo")
    out = tmp_path / "demo.ohmcase"
    board = (tmp_path / "demo" / "sk4.kicad_sch",)
    views = (*board, "--with", tmp_path / "demo" / "sk4.kicad_pcb")
    log = ("--log", tmp_path / "demo" / "bench_log.csv")
    ran = ohmtrail("share", *views, *log, "--question", "Driver?", "--out", out)
    assert ran.status == 0
    raw = gzip.decompress(out.read_bytes())
    assert str(tmp_path).encode() not in raw
    mine, theirs = (
        [ohmtrail(*words, "--json") for words in told]
        for told in (
            (("rank", *views, *log), ("checklist", *views), ("part", *views, "Q501")),
            (("rank", out), ("checklist", out), ("part", out, "Q501")),
        )
    )
    import json

    for one, other in zip(mine, theirs, strict=True):
        one, other = json.loads(one.out), json.loads(other.out)
        # Places of what was not used are named without the owner's folders.
        one.pop("warnings")
        other.pop("warnings")
        assert one == other


def test_what_is_private_stays_at_home(case):
    raw = gzip.decompress(case[0].read_bytes()).decode().casefold()
    for text in ("petra", "sn-4711", "customer", "serial"):
        assert text not in raw
    assert "[left out]" in raw


def test_the_question_is_shown(ohmtrail, case):
    ran = ohmtrail("summary", case[0])
    assert "question: Q1 <b>alone</b>?" in ran.out
    assert ohmtrail("summary", case[0], "--json").json["question"]


def test_answers_come_back_as_suggestions(ohmtrail, case, tmp_path):
    out, log = case
    answers = tmp_path / "answers.txt"
    for text in ("U1 output dead", "Q1\n shorted"):
        ran = ohmtrail("weigh", out, "--claim", text, "--answer", answers)
        assert ran.status == 0, ran.err
    lines = answers.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("#")
    assert lines[1:] == ["U1 output dead", "Q1 shorted"]
    words = ("--log", log, "--claims", answers, "--nominal", "SW=3.3", "--json")
    ranked = ohmtrail("weigh", "@one_buck", *words).json["claims"]
    assert ranked[0]["text"] == "Q1 shorted"
    assert len(ranked) == 2


def test_a_case_stands_for_its_log(ohmtrail, case):
    out, _ = case
    words = ("--log", out, "--nominal", "SW=3.3", "--json")
    ours = ohmtrail("rank", "@one_buck", *words).json
    assert ours == ohmtrail("rank", out, "--json").json
    assert ohmtrail("next", out, "--json").json["action"]
    assert "# Repair report" in ohmtrail("report", out).out


def test_the_same_file_twice(ohmtrail, case, tmp_path):
    """A case of a case is the case: nothing is lost on the way."""
    again = tmp_path / "again.ohmcase"
    words = ("--log", case[0], "--question", "Q1 <b>alone</b>?", "--out", again)
    assert ohmtrail("share", case[0], *words).status == 0
    first, second = (
        gzip.decompress(path.read_bytes()).partition(b"\n")[2]
        for path in (case[0], again)
    )
    assert second.replace(b"case.csv", b"log.csv") == first


def check(ran, status, words):
    assert (ran.status, ran.out) == (status, "")
    assert len(ran.err.splitlines()) == 1
    assert words in ran.err


NO_LOG = body(log="when,action\n,explode\n", board__unused=[])
BAD = {
    "bomb": (packed(b" " * 250_000_000, digest="0" * 64), "once unpacked"),
    "wrong hash": (packed(body(), digest="0" * 64), "hash"),
    "path in a name": (packed(body(board__name="../../x")), "without folders"),
    "path of the log": (packed(body(log_name="C:\\x")), "without folders"),
    "future version": (packed(b"{}", version="2"), "version 2"),
    "cut off": (packed(body())[:-20], "gzip"),
    "bad log": (
        packed(NO_LOG),
        "expected",
    ),
    "log of another board": (
        packed(
            body(
                log="action,part,mode,plus,minus,value\nlift,R99,,,,\n",
                board__unused=[],
            )
        ),
        "R99",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_hostile_file_gives_one_line(ohmtrail, tmp_path, name):
    data, words = BAD[name]
    path = tmp_path / "bad.ohmcase"
    path.write_bytes(data)
    check(ohmtrail("rank", path, "--json"), 1, words)
    if "log" not in name:
        check(ohmtrail("rank", "@one_buck", "--log", path, "--json"), 1, words)


def test_wrong_usage(ohmtrail, case, tmp_path):
    out, log = case
    words = ("@one_buck", "--log", log, "--out", tmp_path / "x")
    check(ohmtrail("share", *words, "--question", "  "), 2, "empty question")
    check(ohmtrail("rank", "@one_buck"), 2, "missing option '--log'")
    check(ohmtrail("weigh", out, "--claims", log, "--answer", out), 2, "--answer")
    far = ("--question", "?", "--out", tmp_path / "no" / "x")
    ran = ohmtrail("share", "@one_buck", "--log", log, *far)
    assert ran.status == 1
    assert "--out" in ran.err.splitlines()[-1]
