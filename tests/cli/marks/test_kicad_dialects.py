"""Each version of KiCad gets marks in its own syntax."""

import re
from dataclasses import replace

import pytest
from _kicad_drawing import Drawing, write
from _marks import OURS, kicad_netlist, kicad_svgs, lines_in, marks_in, texts_in

from ohmtrail.cli.marks.insertions import insert, spans_of, take_out
from ohmtrail.cli.marks.kicad_schematic import insertions, without_marks
from ohmtrail.cli.marks.plan import MINUS, PLUS, Cleared, MarkPlan, ProbeMark, Suspect
from ohmtrail.importers import load
from ohmtrail.importers._errors import ParseError

#: Version of the syntax by KiCad's own (eeschema/sch_file_versions.h; from memory
#: for 10, whose kicad-cli is not at hand).
VERSIONS = {6: 20211123, 7: 20230121, 8: 20231120, 9: 20250114, 10: 20260101}

#: What a line and a text may hold, from KiCad's description of its format: colours
#: of texts came with 7, "exclude_from_sim" with 8.
COMMON = {
    "polyline",
    "polyline/pts",
    "polyline/pts/xy",
    "polyline/stroke",
    "polyline/stroke/width",
    "polyline/stroke/type",
    "polyline/stroke/color",
    "polyline/uuid",
    "text",
    "text/at",
    "text/effects",
    "text/effects/font",
    "text/effects/font/size",
    "text/effects/justify",
    "text/uuid",
}
SINCE = {7: {"text/effects/font/color"}, 8: {"text/exclude_from_sim"}}

PLAN = MarkPlan(
    "VIN",
    ("VIN", "/VOUT"),
    (Suspect("C1", 1, "all shorted, 84 %", ("all shorted",)),),
    (Cleared("R1", "a short"),),
    (
        ProbeMark(2, PLUS, "C1", "1", "VIN", "4.7 to 5 kΩ", "resistance"),
        ProbeMark(2, MINUS, "C1", "2", "GND", "4.7 to 5 kΩ", "resistance"),
    ),
    ("Marks by a test", "No mark says that the board is safe to power"),
)


def small(folder, kicad: int, newline: str = "\n", end: str = "\n"):
    """A capacitor on VIN, a resistor beyond it, as one version of KiCad has it."""
    root = Drawing("small", VERSIONS[kicad])
    root.lib("t:C", [("1", "~", "passive", 0, 2.54), ("2", "~", "passive", 0, -2.54)])
    root.power("VIN", (50.8, 50.8), "#PWR1")
    root.power("GND", (71.12, 76.2), "#PWR2")
    root.wire((50.8, 50.8), (71.12, 50.8), (71.12, 60.96))
    root.symbol("t:C", "C1", (71.12, 63.5))
    root.wire((71.12, 66.04), (71.12, 76.2))
    root.symbol("t:C", "R1", (91.44, 53.34))
    root.wire((71.12, 50.8), (91.44, 50.8))
    root.wire((91.44, 55.88), (101.6, 55.88))
    root.label("VOUT", (101.6, 55.88))
    path = write(folder, root)
    text = path.read_text(encoding="utf-8")
    if kicad < 8:
        text = re.sub(r'\(uuid "([^"]*)"\)', r"(uuid \1)", text)
        text = re.sub(r' ?\(generator_version "[^"]*"\)', "", text)
    text = text.rstrip("\n").replace("\n", newline) + end
    path.write_bytes(text.encode())
    return path


def marked(path, folder):
    (file, some), *more = insertions(path, load(path), PLAN).items()
    assert (file, more) == (path, [])
    out = folder / "marked"
    out.mkdir()
    (out / path.name).write_bytes(insert(path.read_bytes(), some))
    return out / path.name, some


def paths(node, above=""):
    here = f"{above}{node[0]}"
    yield here
    for item in node[1:]:
        if isinstance(item, list):
            yield from paths(item, f"{here}/")


@pytest.mark.parametrize("kicad", VERSIONS)
def test_no_word_is_newer_than_the_file(tmp_path, kicad):
    path, _ = marked(small(tmp_path, kicad), tmp_path)
    allowed = COMMON.union(*(more for since, more in SINCE.items() if kicad >= since))
    used = {one for mark in marks_in(path) for one in paths(mark)}
    assert used == allowed
    # Until 7 identifiers stand bare, from 8 in quotes.
    assert (f'(uuid "{OURS}' in path.read_text("utf-8")) == (kicad >= 8)


@pytest.mark.parametrize("kicad", VERSIONS)
def test_a_line_has_two_points(tmp_path, kicad):
    # KiCad 6 reads no more of them.
    path, _ = marked(small(tmp_path, kicad), tmp_path)
    for mark in marks_in(path):
        if mark[0] == "polyline":
            assert len(mark[1]) == 3


@pytest.mark.parametrize("kicad", [one for one in VERSIONS if one <= 9])
def test_kicad_finds_the_same_netlist_and_draws_it(tmp_path, kicad):
    original = small(tmp_path, kicad)
    path, _ = marked(original, tmp_path)
    before = kicad_netlist(original, tmp_path / "before.net")
    assert '(net (code "' in before
    assert kicad_netlist(path, tmp_path / "after.net") == before
    (picture,) = kicad_svgs(path, tmp_path / "svg")
    plain = kicad_svgs(original, tmp_path / "plain")[0].read_text("utf-8")
    drawn = picture.read_text("utf-8")
    assert "#D55E00" in drawn.upper()  # the frame
    assert "#D55E00" not in plain.upper()


def test_what_is_drawn(tmp_path):
    path, _ = marked(small(tmp_path, 9), tmp_path)
    lines = lines_in(path)
    wires = [((50.8, 50.8), (71.12, 50.8)), ((71.12, 50.8), (71.12, 60.96))]
    for wire in [*wires, ((91.44, 55.88), (101.6, 55.88))]:  # VIN, and /VOUT beyond
        assert wire in lines
    assert ((71.12, 66.04), (71.12, 76.2)) not in lines  # GND
    texts = texts_in(path)
    assert "#1 C1: all shorted, 84 %" in texts
    assert "2+ 4.7 to 5 kΩ" in texts
    assert "2-" in texts
    assert "\n".join(PLAN.note) in texts


@pytest.mark.parametrize("end", ["\n", "", "\r\n", "\n\n", " \n"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_bytes_come_back_however_the_file_ends(tmp_path, newline, end):
    original = small(tmp_path, 9, newline, end)
    path, some = marked(original, tmp_path)
    data = path.read_bytes()
    assert take_out(data, spans_of(some)) == original.read_bytes()
    assert without_marks(data) == original.read_bytes()
    # A diff shows the marks alone: each stands on a line of its own.
    if newline == "\r\n":
        assert data.count(b"\n") == data.count(b"\r\n") + end.count("\n") - end.count(
            "\r\n"
        )


def test_a_file_on_one_line(tmp_path):
    original = small(tmp_path, 9)
    text = " ".join(original.read_text("utf-8").split("\n")).strip()
    original.write_text(text, encoding="utf-8")
    path, some = marked(original, tmp_path)
    assert take_out(path.read_bytes(), spans_of(some)) == text.encode()
    assert without_marks(path.read_bytes()) == text.encode()


def written_anew(data: bytes) -> bytes:
    """A file as a program writes it that breaks every line elsewhere."""
    return re.sub(rb'("(?:[^"\\]|\\.)*")|\s+\(', lambda m: m[1] or b"\n\t(", data)


def test_marks_are_told_apart_in_a_file_written_anew(tmp_path):
    original = small(tmp_path, 9)
    path, _ = marked(original, tmp_path)
    anew = without_marks(written_anew(path.read_bytes()))
    assert OURS.encode() not in anew
    assert anew.split() == written_anew(original.read_bytes()).split()


HOSTILE = 'a"b\\ ${KIPRJMOD} @{1+1} (x) ;\n\x1b[31m'


def test_hostile_names_are_shown_as_they_are(tmp_path):
    original = small(tmp_path, 9)
    plan = replace(
        PLAN,
        suspects=(Suspect("C1", 1, HOSTILE),),
        probes=(ProbeMark(2, PLUS, "C1", "1", "VIN", HOSTILE, HOSTILE),),
        note=(HOSTILE,),
    )
    ((_, some),) = insertions(original, load(original), plan).items()
    (tmp_path / "out").mkdir()
    path = tmp_path / "out" / original.name
    path.write_bytes(insert(original.read_bytes(), some))
    joined = "".join(texts_in(path))
    assert 'a"b\\' in joined
    assert "\x1b" not in joined
    assert "${" not in joined
    assert "@{" not in joined
    assert without_marks(path.read_bytes()) == original.read_bytes()
    assert kicad_netlist(path, tmp_path / "after.net") == kicad_netlist(
        original, tmp_path / "before.net"
    )


def test_marked_twice_is_refused(tmp_path):
    path, _ = marked(small(tmp_path, 9), tmp_path)
    with pytest.raises(ParseError, match="found marks of an earlier run"):
        insertions(path, load(path), PLAN)


def test_a_net_of_one_use_is_named_on_the_drawing_of_all(tmp_path):
    root, child = Drawing("root"), Drawing("child")
    root.sheet("left", child)
    root.sheet("right", child)
    child.wire((50.8, 50.8), (71.12, 50.8))
    child.label("X", (50.8, 50.8))
    child.pad("R1", (71.12, 50.8))
    path = write(tmp_path, root, child)
    plan = replace(
        PLAN,
        rail="/left/X",
        nets=("/left/X",),
        suspects=(Suspect("R1", 1, "all shorted, 84 %"),),
        cleared=(Cleared("R11", "a short"),),
        probes=(
            ProbeMark(2, PLUS, "R1", "1", "/left/X", "OL", "diode"),
            ProbeMark(5, PLUS, "R11", "1", "/right/X", "OL", "diode"),
            ProbeMark(7, PLUS, "R99", "1", "/left/X", "OL", "diode"),
        ),
    )
    made = insertions(path, load(path), plan)
    assert set(made) == {path, tmp_path / "child.kicad_sch"}
    for file, some in made.items():
        file.write_bytes(insert(file.read_bytes(), some))
    texts = texts_in(tmp_path / "child.kicad_sch")
    assert "only in /left/: /left/X" in texts
    assert "#1 R1 in /left/: all shorted, 84 %" in texts
    assert "cleared: R11 in /right/" in texts
    assert "a:2+ b:5+ diode OL" in texts
    note = texts_in(path)[-1]
    assert "Not on these sheets: step 7+" in note
    told = next(text for text in texts if text.startswith("Marks by"))
    assert "a = /left/, b = /right/" in " ".join(told.split())
