"""Marks in layouts: KiCad reads what was written, and finds the same board."""

import gzip
import re
import subprocess
from pathlib import Path

import pytest
from _mark_plans import full_plan
from _oracles import corpus_files, program

from ohmtrail.cli.marks.insertions import insert, spans_of, take_out
from ohmtrail.cli.marks.kicad_layout import insertions, without_marks
from ohmtrail.cli.marks.layout_dialect import layout_dialect_of, user_layers
from ohmtrail.cli.marks.plan import PLUS, MarkPlan, ProbeMark, Suspect
from ohmtrail.fixtures import DEMO_LAYOUT, write_demo
from ohmtrail.importers import load
from ohmtrail.importers._errors import ParseError


def _plan(board) -> MarkPlan:
    """Everything that can be marked, on the first parts of both sides."""
    placed = [part for part in board.parts if part.x_mm is not None and part.pins]
    some = [
        part
        for side in ("top", "bottom")
        for part in [one for one in placed if one.side == side][:12]
    ]
    pins = [pin for part in some for pin in part.pins[:4] if pin.x_mm is not None]
    return full_plan(board, some, pins)


def _kicad(kicad, *words):
    ran = subprocess.run([kicad, *words], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def _unpacked(path: Path, folder: Path) -> Path:
    data = path.read_bytes()
    if path.suffix == ".gz":
        data = gzip.decompress(data)
    plain = folder / path.name.removesuffix(".gz")
    plain.write_bytes(data)
    return plain


def _marked(path: Path) -> tuple[bytes, list]:
    board = load(path)
    ((where, some),) = insertions(path, board, _plan(board)).items()
    assert where == path
    return insert(path.read_bytes(), some), some


#: One or two of each version: a picture takes as long as a netlist.
PICTURED = (
    "BLDC_4 TERES-PCB5-KEYBOARD_Rev.A mppt-2420-hc MPPT_charger_20A StickHub ecc83-pp"
    " moteus_c1 mjpower_ss bitaxeSupra audio RoyalBlue54L-NFC-Antenna bms-c1"
).split()
LAYOUTS = corpus_files("boards/**/*.kicad_pcb*", "demos/**/*.kicad_pcb*")


@pytest.mark.parametrize("path", LAYOUTS)
def test_kicad_finds_the_same_board_and_draws_the_marks(path, tmp_path):
    kicad = program("kicad-cli")
    plain = _unpacked(path, tmp_path)
    original = plain.read_bytes()
    marked, some = _marked(plain)
    assert take_out(marked, spans_of(some)) == original
    before, after = tmp_path / "before.d356", tmp_path / "after.d356"
    _kicad(kicad, "pcb", "export", "ipcd356", plain, "-o", before)
    plain.write_bytes(marked)
    _kicad(kicad, "pcb", "export", "ipcd356", plain, "-o", after)
    assert after.read_bytes() == before.read_bytes()
    layers = user_layers(original)
    assert layers is not None
    if plain.stem not in PICTURED:
        return
    picture = tmp_path / "marks.svg"
    svg = ("pcb", "export", "svg", "--mode-single", "--layers", ",".join(layers))
    _kicad(kicad, *svg, plain, "-o", picture)
    drawn = picture.read_text(encoding="utf-8")
    for text in ("Marks by a test", "No mark says that it is safe", "#1"):
        assert f">{text}<" in drawn, text
    assert 'reads "4.7 kΩ" ($ {KIPRJMOD}) {x} \\ net=GND:1 end)<' in drawn


@pytest.fixture
def layout(tmp_path):
    return write_demo(tmp_path)[0].with_name(DEMO_LAYOUT)


def test_windows_line_ends_and_no_last_line_end(layout):
    data = layout.read_bytes().replace(b"\n", b"\r\n").rstrip()
    layout.write_bytes(data)
    marked, some = _marked(layout)
    assert b"\n" not in marked.replace(b"\r\n", b"")
    assert take_out(marked, spans_of(some)) == data
    assert without_marks(marked) == data


def test_marks_are_found_again_after_kicad_saved_the_file(layout):
    """Saved anew: other white space, other order of the words in each mark."""
    data = layout.read_bytes()
    marked, _ = _marked(layout)
    assert without_marks(marked) == data
    saved = re.sub(rb'\(layer "([A-Za-z0-9.]+)"\)', rb'\n\t\t(layer "\1")\n\t', marked)
    left = without_marks(saved)
    assert left is not None
    assert b"gr_text" not in left
    assert b"Marks by" not in left
    assert left.count(b"(footprint ") == data.count(b"(footprint ")


@pytest.mark.parametrize("zeros", ["", "00000000-0000-0000-0000-0000"])
def test_marks_of_older_layouts_are_found_by_their_time_stamp(zeros):
    """KiCad 6 and later write a time stamp on with zeros before it (seen with 6.0)."""
    dialect = layout_dialect_of(b"", 20171130)
    line = dialect.line((0, 0), (1, 1), "L", 0.1, "a")
    text = dialect.text("x", (0, 0), "L", 1.0, "b", mirrored=True)
    assert "(tstamp 6F68" in line
    head = b"(kicad_pcb (version 20171130)\n"
    theirs = (
        b"  (gr_line (start 0 0) (end 1 1) (layer L) (tstamp 5EDCE094))\n"
        b"  (segment (start 0 0) (end 1 1) (tstamp 6F680001))\n"
        b'  (gr_text "(tstamp 6F680001)" (at 0 0) (layer L))\n'
    )
    ours = f"  {line}\n  {text}\n".replace("6F68", f"{zeros}6F68").encode()
    assert without_marks(head + theirs + ours + b")\n") == head + theirs + b")\n"
    assert without_marks(head + theirs + b")\n") is None


def test_a_marked_layout_is_not_marked_again(layout):
    marked, _ = _marked(layout)
    layout.write_bytes(marked)
    with pytest.raises(ParseError, match="found marks of an earlier run"):
        insertions(layout, load(layout), _plan(load(layout)))


def test_a_layout_without_user_layers_says_so(layout):
    table = re.compile(rb'\s*\(\d+ "(?:\w+\.User|User\.\d)" [^()]*\)')
    layout.write_bytes(table.sub(b"", layout.read_bytes()))
    with pytest.raises(ParseError, match="found no user layer") as caught:
        insertions(layout, load(layout), _plan(load(layout)))
    assert "\n" not in str(caught.value)


TABLE = (
    b'(kicad_pcb (version 20221018)\n (layers (0 "F.Cu" signal)'
    b' (40 "Dwgs.User" user "User.Drawings") (41 "Cmts.User" user "Com) ments")'
    b' (50 "User.1" user)%s)\n (setup))\n %s)'
)


@pytest.mark.parametrize(
    ("row", "drawing", "layers"),
    [
        (b"", b"", ("Cmts.User", "User.1")),
        (b'(51 "User.2" user)', b"", ("Cmts.User", "User.2")),
        (b"", b'(gr_line (layer "Cmts.User"))', ("User.1", "Dwgs.User")),
        (
            b"",
            b'(gr_line (layer "Cmts.User")) (gr_text "x" (layer "Dwgs.User"))',
            ("User.1", "User.1"),
        ),
        (
            b"",
            b'(x (layer "Cmts.User")) (x (layer "Dwgs.User")) (x (layers "User.1"))',
            ("Cmts.User", "Cmts.User"),
        ),
    ],
)
def test_layers_on_which_nothing_is_drawn_come_first(row, drawing, layers):
    assert user_layers(TABLE % (row, drawing)) == layers


def test_a_hidden_layer_is_left_alone():
    data = b"(kicad_pcb (layers (0 F.Cu signal) (41 Cmts.User user hide) %s))"
    assert user_layers(data % b"(42 Eco1.User user)") == ("Eco1.User", "Eco1.User")
    assert user_layers(data % b"") == ("Cmts.User", "Cmts.User")
    assert user_layers(b"(kicad_pcb (layers (0 F.Cu signal)))") is None
    assert user_layers(b"(kicad_pcb)") is None


@pytest.mark.parametrize(
    ("version", "line", "name"),
    [
        (4, "(layer L) (width 0.2)", "(tstamp 6F68"),
        (20171130, "(layer L) (width 0.2)", "(tstamp 6F68"),
        (20211014, '(layer "L") (width 0.2)', "(tstamp "),
        (20221018, '(stroke (width 0.2) (type solid)) (layer "L")', "(tstamp "),
        (20240108, '(stroke (width 0.2) (type solid)) (layer "L")', '(uuid "'),
        (20241229, '(stroke (width 0.2) (type solid)) (layer "L")', '(uuid "'),
    ],
)
def test_each_version_has_its_own_words(version, line, name):
    """Layouts of the corpus in these versions write their own lines so."""
    dialect = layout_dialect_of(b"", version)
    made = dialect.line((0, 0), (1, 2.5), "L", 0.2, "x")
    assert made.startswith(f"(gr_line (start 0 0) (end 1 2.5) {line}")
    assert name in made
    assert ("uuid" in made) == (name == '(uuid "')


def test_what_the_layout_lacks_is_named_in_its_legend(layout):
    board = load(layout)
    plan = _plan(board)
    lost = MarkPlan(
        plan.rail,
        plan.nets,
        (Suspect("Q999", 1, "short"),),
        (),
        (ProbeMark(1, PLUS, "R998", "1", "N", "5 Ω", "resistance"),),
        plan.note,
    )
    ((_, (one,)),) = insertions(layout, board, lost).items()
    assert "Not in this layout, so not marked: Q999, R998.1" in one.data.decode()


@pytest.mark.parametrize(
    ("version", "shown"), [(4, "~~13"), (20171130, "~~13"), (20211014, "~13")]
)
def test_a_tilde_is_no_bar_over_the_text(version, shown):
    """Up to KiCad 5 a tilde begins a bar, two are a tilde (KiCad's documentation)."""
    dialect = layout_dialect_of(b"", version)
    made = dialect.text("5 to 69, ~13", (0, 0), "L", 1.0, "x", mirrored=False)
    assert f'"5 to 69, {shown}"' in made


def test_the_legend_keeps_clear_of_other_drawings(layout):
    """A note right of the board: the legend goes below it."""
    board = load(layout)
    ((_, (one,)),) = insertions(layout, board, _plan(board)).items()
    text = re.compile(r'gr_text "Marks by a test" \(at ([\d.]+) ([\d.]+)\)')
    found = text.search(one.data.decode())
    xs = [x for line in board.outline_mm for x, _ in line]
    ys = [y for line in board.outline_mm for _, y in line]
    assert float(found[1]) > max(xs)
    note = f'(gr_text "Rev C" (at {max(xs) + 30} {min(ys) + 5}) (layer "F.Fab"))\n)\n'
    data = layout.read_text(encoding="utf-8").rstrip().removesuffix(")")
    layout.write_text(data + note, encoding="utf-8")
    board = load(layout)
    ((_, (one,)),) = insertions(layout, board, _plan(board)).items()
    found = text.search(one.data.decode())
    assert float(found[2]) > max(ys)


def test_the_legend_has_the_whole_note_but_for_what_only_sheets_show(ohmtrail, layout):
    root = layout.with_suffix(".kicad_sch")
    log = layout.with_name("bench_log.csv")
    out = layout.parent / "copy"
    ran = ohmtrail("mark", root, "--rail", "VMAIN", "--log", log, "--out", out)
    assert ran.status == 0
    text = (out / DEMO_LAYOUT).read_text(encoding="utf-8")
    said = " ".join(re.findall(r'gr_text "([^"]*)"', text))
    for words in (
        "Marks by ohmtrail",
        "log bench_log.csv",
        "Frame with #number: suspect",
        "Thin stroke: cleared",
        "Take the steps in their order",
        "No mark says that the board is safe to power",
        "#1 Q501: all shorted",
    ):
        assert words in said, words
    assert "Thick line" not in said
