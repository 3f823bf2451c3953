"""Marks in xschem schematics: xschem finds the same board and draws the marks."""

import re
import shutil
import stat
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from _mark_plans import HOSTILE, schematic_plan
from _oracles import absent, absent_params, program
from _xschem import spice_of

from ohmtrail.cli.marks.insertions import insert, spans_of, take_out
from ohmtrail.cli.marks.plan import PLUS, ProbeMark, Suspect
from ohmtrail.cli.marks.xschem import insertions, project_files, without_marks
from ohmtrail.importers import load
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.xschem.drawn import drawn_schematics

LIBRARY = Path("/usr/share/xschem/xschem_library")
#: xschem 2.8.1 itself dies of these two (signal 11), so there is no netlist.
CRASHES = ("mos_power_ampli", "0_top")
#: Nothing but symbols that the package does not have.
WITHOUT_SYMBOLS = ("diode",)


def _examples():
    found = [
        path
        for path in sorted(LIBRARY.glob("*/*.sch"))
        if path.stem not in (*CRASHES, *WITHOUT_SYMBOLS)
    ]
    if not found:
        return absent_params("no library of the package xschem")
    return [pytest.param(p, id=f"{p.parent.name}-{p.stem}") for p in found]


def _copy(path: Path, folder: Path) -> Path:
    if not path.exists():
        absent("no library of the package xschem")
    there = folder / "design"
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


@pytest.mark.parametrize("path", _examples())
def test_xschem_netlists_the_same(path, tmp_path):
    program("xschem")
    root = _copy(path, tmp_path)
    before = spice_of(root, tmp_path)
    made = _mark(root)
    assert root in made
    for file, (original, marked, some) in made.items():
        assert take_out(marked, spans_of(some)) == original
        assert without_marks(marked) in (original, original + b"\n")
        file.write_bytes(marked)
    assert spice_of(root, tmp_path) == before


def _drawn(root: Path, folder: Path) -> str:
    (folder / "rc").write_text("set netlist_type spice\n", encoding="utf-8")
    picture = folder / "plot.svg"
    picture.unlink(missing_ok=True)
    subprocess.run(
        [program("xschem"), "--rcfile", "rc", *"-r -q -x --svg".split(), root],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=60,
        cwd=folder,
        check=True,
    )
    return picture.read_text(encoding="utf-8", errors="replace")


@pytest.mark.parametrize("name", ["examples/poweramp.sch", "pcb/pcb_test1.sch"])
def test_xschem_draws_the_marks(name, tmp_path):
    """The layers of the net, of suspects and of flags have lines they had not."""
    root = _copy(LIBRARY / name, tmp_path)
    before = _drawn(root, tmp_path)
    for file, (_, marked, _) in _mark(root).items():
        file.write_bytes(marked)
    after = _drawn(root, tmp_path)
    assert after.rstrip().endswith("</svg>")
    for layer in ("l21", "l20", "l9"):
        lines = f'class="{layer}"'
        assert after.count(lines) > before.count(lines), layer


def _saved(path: Path, out: Path, folder: Path) -> bytes:
    """Have xschem read a schematic and save it under another name."""
    (folder / "rc").write_text("set netlist_type spice\n", encoding="utf-8")
    subprocess.run(
        [program("xschem"), "--rcfile", "rc", "-r", "-x", path],
        input=f"proc save_file_dialog args {{return {out}}}\nxschem saveas\nexit\n",
        text=True,
        capture_output=True,
        timeout=60,
        cwd=folder,
    )
    return out.read_bytes()


def test_what_xschem_saved_loses_the_marks_alone(tmp_path):
    """Expected value: the original, saved by xschem."""
    root = _copy(LIBRARY / "examples" / "poweramp.sch", tmp_path)
    plain = _saved(root, tmp_path / "plain.sch", tmp_path)
    ((_, marked, _),) = (made for path, made in _mark(root).items() if path == root)
    root.write_bytes(marked)
    saved = _saved(root, tmp_path / "marked.sch", tmp_path)
    assert saved.count(b"ohmtrail=mark") > 20
    assert without_marks(saved) == plain


RESISTOR = """v {xschem version=2.8.1 file_version=1.0}
K {type=resistor
format="@name @pinlist @value"
template="name=R1 value=1k"}
L 4 -5 -20 5 20 {}
B 5 -2.5 -32.5 2.5 -27.5 {name=P pinnumber=1}
B 5 -2.5 27.5 2.5 32.5 {name=M pinnumber=2}
"""
PAGE = """v {xschem version=2.8.1 file_version=1.0}
N 0 -60 0 -30 {}
N 0 30 0 80 {}
C {r.sym} 0 0 0 0 {name=R1 value=4.7k}
C {devices/lab_pin.sym} 0 -60 0 0 {name=l1 lab=VBUS}
"""


@pytest.fixture
def page(tmp_path):
    (tmp_path / "r.sym").write_text(RESISTOR, encoding="utf-8")
    page = tmp_path / "page.sch"
    page.write_text(PAGE, encoding="utf-8")
    return page


def test_marks_of_a_small_schematic(page):
    ((original, marked, _),) = _mark(page).values()
    rows = marked[len(original) :].decode("ascii").splitlines()
    # the wire of VBUS: an area around it, as wide as the line of the net
    (area,) = (row for row in rows if row.startswith("P 21 5 "))
    numbers = [float(word) for word in area.partition(" {")[0].split()[3:]]
    assert sorted({round(x, 1) for x in numbers[::2]}) == [-3.5, 3.5]
    assert sorted({round(y, 1) for y in numbers[1::2]}) == [-63.5, -26.5]
    assert all(row.endswith("ohmtrail=mark}") or "dash=" in row for row in rows)
    text = next(row for row in rows if row.startswith("T {1+ "))
    assert "4.7 kOhm" in text
    assert r"\{KIPRJMOD\}" in text


def test_a_text_is_never_run_as_a_program(page):
    board = load(page)
    plan = schematic_plan(board)
    note = ("tcleval(exec rm x)", "Board", "No mark")
    evil = type(plan)(plan.rail, plan.nets, (), (), (), note)
    ((one,),) = insertions(page, board, evil).values()
    assert "T { tcleval(exec rm x)}" in one.data.decode()
    assert "T {tcleval" not in one.data.decode()


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends_and_a_missing_last_one(page, end):
    data = PAGE.rstrip("\n").replace("\n", end).encode()
    page.write_bytes(data)
    before = load(page)
    ((original, marked, some),) = _mark(page).values()
    assert original == data
    assert marked.count(b"\n") == marked.count(end.encode())
    assert take_out(marked, spans_of(some)) == data
    page.write_bytes(marked)
    assert load(page).nets == before.nets


def test_marks_are_found_again_after_xschem_saved_the_file(page):
    """Saved anew: another order, properties on lines of their own."""
    ((original, marked, _),) = _mark(page).values()
    rows = marked[len(original) :].decode().splitlines(keepends=True)
    saved = "".join(reversed(rows)).encode().replace(b" ohmtrail", b"\nohmtrail")
    head, tail = original[:42], original[42:]
    left = without_marks(head + saved + tail)
    assert left == original
    assert without_marks(original) is None
    board = load(page)
    page.write_bytes(marked)
    with pytest.raises(ParseError, match="found marks of an earlier run"):
        insertions(page, board, schematic_plan(board))


def test_a_wire_has_the_net_of_what_it_touches(page):
    ((sheet, frame),) = drawn_schematics(page)
    (part,) = sheet.symbols
    assert part.refs == ("R1",)
    assert [pin.number for pin in part.pins] == ["1", "2"]
    assert [wire.nets for wire in sheet.wires] == [pin.nets for pin in part.pins]
    assert sheet.wires[0].nets == ("VBUS",)
    x, y = frame.to_units(part.pins[0].x_mm, part.pins[0].y_mm)
    assert (round(x), round(y)) == (0, -30_000)


def test_the_copy_has_schematics_and_symbols_of_the_project(page):
    assert project_files(page) == [page, page.with_name("r.sym")]
    (page.parent / "xschemrc").write_text("", encoding="utf-8")
    assert page.with_name("xschemrc") in project_files(page)


def test_installed_schematics_are_left_alone(ohmtrail, tmp_path):
    root = _copy(LIBRARY / "examples" / "poweramp.sch", tmp_path)
    (root.parent / "mos_power_ampli.sch").unlink()
    (root.parent / "mos_power_ampli.sym").unlink()
    ran = ohmtrail("mark", root, "--rail", "VPP", "--out", tmp_path / "copy")
    assert ran.status == 0
    assert "mos_power_ampli.sch: not marked" in ran.err
    assert [path.name for path in (tmp_path / "copy").rglob("*.sch")] == [root.name]
    marked = (tmp_path / "copy" / root.name).read_text(encoding="ascii")
    assert re.search(r"^P 21 ", marked, re.MULTILINE)
    assert HOSTILE not in marked
    assert ohmtrail("unmark", tmp_path / "copy" / root.name).status == 0
    assert (tmp_path / "copy" / root.name).read_bytes() == root.read_bytes()


SUB_SYMBOL = """v {xschem version=2.8.1 file_version=1.0}
K {type=subcircuit
format="@name @pinlist @symname"
template="name=x1"}
B 5 -2.5 -32.5 2.5 -27.5 {name=VIN dir=inout}
"""
SUB = """v {xschem version=2.8.1 file_version=1.0}
N 0 -60 0 -30 {}
C {r.sym} 0 0 0 0 {name=R1 value=4.7k}
C {devices/iopin.sym} 0 -60 0 0 {name=p1 lab=VIN}
"""
TOP = """v {xschem version=2.8.1 file_version=1.0}
N 0 -60 0 -30 {}
N 100 -60 100 -30 {}
C {channel.sym} 0 0 0 0 {name=x1}
C {channel.sym} 100 0 0 0 {name=x2}
C {devices/lab_pin.sym} 0 -60 0 0 {name=l1 lab=VA}
C {devices/lab_pin.sym} 100 -60 0 0 {name=l2 lab=VB}
"""


def test_a_schematic_used_twice_names_the_use(page):
    """R1 of the first use is suspected, and only there the wire is on the net."""
    folder = page.parent
    (folder / "channel.sym").write_text(SUB_SYMBOL, encoding="utf-8")
    (folder / "channel.sch").write_text(SUB, encoding="utf-8")
    page.write_text(TOP, encoding="utf-8")
    board = load(page)
    plan = schematic_plan(board)
    made = insertions(
        page,
        board,
        replace(
            plan,
            rail="VA",
            nets=("VA",),
            suspects=(Suspect("x1/R1", 1, "open, 90 %"),),
            cleared=(),
            probes=(ProbeMark(3, PLUS, "x2/R1", "1", "VB", "5 Ohm", "resistance"),),
        ),
    )
    assert {path.name for path in made} == {"page.sch", "channel.sch"}
    text = made[folder / "channel.sch"][0].data.decode()
    assert "#1 x1/R1 in /x1/: open, 90 %" in text.replace("}", " ").replace("\n", " ")
    assert "only in /x1/: VA" in text
    assert "T {x2:3+ resistance 5 Ohm}" in text
