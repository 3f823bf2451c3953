"""Marks in Lepton schematics: lepton-netlist finds the same board."""

import os
import shutil
import stat
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from _lepton import run_lepton
from _mark_plans import schematic_plan
from _oracles import absent_params, corpus_file, corpus_files, program

from ohmtrail.cli.marks.insertions import insert, spans_of, take_out
from ohmtrail.cli.marks.lepton import insertions, project_files, without_marks
from ohmtrail.cli.marks.plan import PLUS, ProbeMark, Suspect
from ohmtrail.importers import load
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.lepton.drawn import drawn_pages

EXAMPLES = Path("/usr/share/doc/lepton-eda/examples")

DIVIDER = """v 20201216 2
C 1000 1000 1 0 0 EMBEDDEDr.sym
[
P 1000 1000 1300 1000 1 0 0
{
T 1000 1000 5 8 0 0 0 0 1
pinnumber=1
T 1000 1000 5 8 0 0 0 0 1
pinseq=1
}
L 1300 900 1700 1100 3 0 0 0 -1 -1
P 2000 1000 1700 1000 1 0 0
{
T 2000 1000 5 8 0 0 0 0 1
pinnumber=2
T 2000 1000 5 8 0 0 0 0 1
pinseq=2
}
]
{
T 1200 1300 5 10 1 1 0 0 1
refdes=R1
}
N 2000 1000 2600 1000 4
{
T 2100 1050 5 10 1 1 0 0 1
netname=VBUS
}
"""


def _pages():
    """Real root pages: those of the corpus and the package's own examples."""
    found = corpus_files(
        "formats/gschem/7805_gschem.sch",
        "formats/gschem/TwoStageAmp/TwoStageAmp.sch",
        "formats/gschem/gTAG/gTAG.sch",
    )
    more = sorted(EXAMPLES.glob("*/*.sch"))
    if not more:
        return found + absent_params("no examples of the package lepton-eda")
    return found + [pytest.param(p, id=f"{p.parent.name}-{p.stem}") for p in more]


def _copy(path: Path, folder: Path) -> Path:
    """Copy a page with its folder, writable."""
    there = folder / "design"
    if path.parent.name == "gschem":
        there.mkdir()
        shutil.copy(path, there)
    else:
        shutil.copytree(path.parent, there)
    for one in (there, *there.rglob("*")):
        one.chmod(one.stat().st_mode | stat.S_IWUSR)
    return there / path.name


def _mark(root: Path) -> dict[Path, tuple[bytes, bytes, list]]:
    board = load(root)
    found = insertions(root, board, schematic_plan(board))
    return {
        path: (path.read_bytes(), insert(path.read_bytes(), some), some)
        for path, some in found.items()
    }


@pytest.mark.parametrize("path", _pages())
def test_lepton_netlist_finds_the_same(path, tmp_path):
    program("lepton-netlist")
    root = _copy(path, tmp_path)
    before = run_lepton(root)
    made = _mark(root)
    assert root in made
    for page, (original, marked, some) in made.items():
        assert take_out(marked, spans_of(some)) == original
        page.write_bytes(marked)
    assert run_lepton(root) == before
    # our own importer, too
    after = load(root)
    for page, (original, _, _) in made.items():
        page.write_bytes(original)
    assert load(root).nets == after.nets


def test_lepton_draws_the_marks(tmp_path):
    lepton = program("lepton-cli")
    gtag = corpus_file("formats/gschem/gTAG/gTAG.sch")
    root = _copy(gtag, tmp_path)
    pictures = []
    for what in ("before", "after"):
        picture = tmp_path / f"{what}.svg"
        subprocess.run(
            [lepton, "export", "-c", "-o", picture, "gTAG-ucont.sch"],
            cwd=root.parent,
            env={**os.environ, "GUILE_AUTO_COMPILE": "0"},
            capture_output=True,
            check=True,
        )
        pictures.append(picture.read_text(encoding="utf-8"))
        for page, (_, marked, _) in _mark(root).items() if what == "before" else ():
            page.write_bytes(marked)
    assert pictures[1].count("<path") > pictures[0].count("<path") + 20


_SAVE = """
(use-modules (lepton page) (ice-9 textual-ports))
(define (save name)
  (call-with-output-file (string-append name ".saved")
    (lambda (port)
      (display (page->string
                (string->page name (call-with-input-file name get-string-all)))
               port))))
(for-each save '("plain.sch" "marked.sch"))
"""


def test_what_lepton_saved_loses_the_marks_alone(tmp_path):
    """Expected value: the original, saved by Lepton."""
    lepton = program("lepton-cli")
    gtag = corpus_file("formats/gschem/gTAG/gTAG.sch")
    root = _copy(gtag, tmp_path)
    page = root.with_name("gTAG-ucont.sch")
    original, marked, _ = _mark(root)[page]
    (root.parent / "plain.sch").write_bytes(original)
    (root.parent / "marked.sch").write_bytes(marked)
    (root.parent / "save.scm").write_text(_SAVE, encoding="utf-8")
    subprocess.run(
        [lepton, "shell", "-s", "save.scm"],
        cwd=root.parent,
        env={**os.environ, "GUILE_AUTO_COMPILE": "0"},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=True,
        timeout=120,
    )
    saved = (root.parent / "marked.sch.saved").read_bytes()
    assert saved.count(b"ohmtrail=") > 40
    assert without_marks(saved) == (root.parent / "plain.sch.saved").read_bytes()


def test_every_pin_lies_where_the_netlister_connects_it():
    """A wire's net is that of the pins at its ends, on every page of a real design."""
    gtag = corpus_file("formats/gschem/gTAG/gTAG.sch")
    met = 0
    for sheet, _ in drawn_pages(gtag):
        at = {
            (pin.x_mm, pin.y_mm): pin.nets
            for symbol in sheet.symbols
            for pin in symbol.pins
        }
        for wire in sheet.wires:
            for end in ((wire.x1_mm, wire.y1_mm), (wire.x2_mm, wire.y2_mm)):
                if end in at:
                    assert at[end] == wire.nets, (sheet.path.name, wire)
                    met += 1
    assert met > 200


def test_marks_of_a_small_page(tmp_path):
    page = tmp_path / "divider.sch"
    page.write_text(DIVIDER, encoding="utf-8")
    ((original, marked, _),) = _mark(page).values()
    added = marked[len(original) :].decode()
    rows = added.splitlines()
    # the wire of VBUS and the pin that reaches it, thick, in the colour of the net
    assert "L 2000 1000 2600 1000 21 43 1 0 -1 -1" in rows
    assert "L 2000 1000 1700 1000 21 43 1 0 -1 -1" in rows
    assert any(row.startswith("ohmtrail=#1 R1: all shorted, 84 %") for row in rows)
    # Each text and each line is tagged.
    lines = added.count("\n{\n")
    assert lines == sum(row.startswith("L ") for row in rows)
    assert added.count("\nohmtrail=") == sum(row.startswith("T ") for row in rows)
    # every text states how many lines it has
    at = 0
    while at < len(rows):
        assert rows[at] in "{}" or rows[at][0] in "LT", rows[at]
        at += 1 + (int(rows[at].split()[9]) if rows[at][0] == "T" else 0)
    assert without_marks(marked) == original
    assert without_marks(original) is None
    page.write_bytes(marked)
    board = load(page)
    with pytest.raises(ParseError, match="found marks of an earlier run"):
        insertions(page, board, schematic_plan(board))


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends_and_a_missing_last_one(tmp_path, end):
    page = tmp_path / "divider.sch"
    data = DIVIDER.rstrip("\n").replace("\n", end).encode()
    page.write_bytes(data)
    ((original, marked, some),) = _mark(page).values()
    assert original == data
    assert marked.startswith(data + end.encode() + b"L ")
    assert (b"\r" in marked) == (end == "\r\n")
    assert marked.count(b"\n") == marked.count(end.encode())
    assert take_out(marked, spans_of(some)) == data
    before = load(page)
    page.write_bytes(marked)
    assert load(page).nets == before.nets


def test_a_page_of_long_ago_says_what_to_do(tmp_path):
    page = tmp_path / "old.sch"
    page.write_text(DIVIDER.replace("v 20201216 2", "v 20201216 0"), encoding="utf-8")
    board = load(page)
    plan = schematic_plan(board)
    with pytest.raises(ParseError, match="expected file format 1 or 2") as caught:
        insertions(page, board, plan)
    assert "\n" not in str(caught.value)


def test_the_copy_has_pages_symbols_and_settings():
    root = corpus_file("formats/gschem/gTAG/gTAG.sch")
    names = {path.relative_to(root.parent).as_posix() for path in project_files(root)}
    pages = {path.name for path in root.parent.glob("*.sch")}
    assert pages | {"gafrc", "lepton.conf"} <= names
    assert {name for name in names if name.endswith(".sym")}


def test_mark_and_unmark_give_back_the_bytes(ohmtrail, tmp_path):
    root = corpus_file("formats/gschem/gTAG/gTAG.sch")
    copy = tmp_path / "copy"
    ran = ohmtrail("mark", root, "--rail", "+3.3V", "--out", copy)
    assert ran.status == 0, ran.err
    marked = (copy / "gTAG-ucont.sch").read_bytes()
    assert marked != (root.parent / "gTAG-ucont.sch").read_bytes()
    assert str(root.parent).encode() not in marked
    assert ohmtrail("unmark", copy / root.name).status == 0
    for path in copy.rglob("*.sch"):
        assert path.read_bytes() == (root.parent / path.name).read_bytes()
    # saved since, with a line of somebody's own: that stays
    ohmtrail("mark", root, "--rail", "+3.3V", "--out", tmp_path / "other")
    page = tmp_path / "other" / "gTAG-ucont.sch"
    own = b"L 0 0 1 1 3 0 0 0 -1 -1\n"
    page.write_bytes(page.read_bytes() + own)
    assert ohmtrail("unmark", tmp_path / "other" / root.name).status == 0
    assert page.read_bytes() == (root.parent / page.name).read_bytes() + own


BLOCK = """C {x} 1000 1 0 0 EMBEDDEDchannel.sym
[
P {x} 1000 {x} 1300 1 0 0
{{
T 1000 1000 5 8 0 0 0 0 1
pinnumber=1
T 1000 1000 5 8 0 0 0 0 1
pinlabel=VIN
}}
]
{{
T 1200 1300 5 10 1 1 0 0 1
refdes={ref}
T 1200 1500 5 10 0 1 0 0 1
source=channel.sch
}}
N {x} 1000 {x} 600 4
{{
T 2100 1050 5 10 1 1 0 0 1
netname={net}
}}
"""
PORT = """C 3000 1000 1 0 0 EMBEDDEDio.sym
[
P 2600 1000 2900 1000 1 0 0
{
T 2600 1000 5 8 0 0 0 0 1
pinnumber=1
}
]
{
T 3000 1300 5 10 1 1 0 0 1
refdes=VIN
}
"""


def test_a_page_used_twice_names_the_use(tmp_path):
    """R1 of block S1 is suspected, and only there the wire is on the net."""
    page = tmp_path / "top.sch"
    blocks = BLOCK.format(x=2000, ref="S1", net="VA")
    blocks += BLOCK.format(x=5000, ref="S2", net="VB")
    page.write_text("v 20201216 2\n" + blocks, encoding="utf-8")
    inner = tmp_path / "channel.sch"
    inner.write_text(DIVIDER.split("{\nT 2100")[0] + PORT, encoding="utf-8")
    board = load(page)
    refs = {part.ref for part in board.parts}
    assert refs == {"S1/R1", "S2/R1"}
    plan = replace(
        schematic_plan(board),
        rail="VA",
        nets=("VA",),
        suspects=(Suspect("S1/R1", 1, "open, 90 %"),),
        cleared=(),
        probes=(ProbeMark(3, PLUS, "S2/R1", "2", "VB", "5 \u03a9", "resistance"),),
    )
    made = insertions(page, board, plan)
    text = made[inner][0].data.decode()
    assert "#1 S1/R1 in /S1/: open, 90 %" in text
    assert "only in /S1/: VA" in text
    assert "S2:3+ 5 \u03a9" in text
    assert "L 2000 1000 2600 1000 21 43 1 0 -1 -1" in text
