"""Damaged, absent and hostile files: one line with file and line number."""

import random

import pytest
from _drawn import LIBRARY, Project, drawing, junction, label, part, sheet, wire
from _operations import operations

from ohmtrail.importers import ImporterError, load

GOOD = drawing(
    part("R1", 1000, 1000, uses=[("", "R1")]),
    part("#PWR01", 1000, 1150, "GND"),
    wire(1000, 850, 2000, 850),
    junction(1500, 850),
    label("IN", 1500, 850),
    wire(0, 0, 500, 0, "Bus"),
    label("D[0..7]", 0, 0),
    sheet("sub", "sub.sch", "5A000001", ("D[0..7]", 500, 0)),
)
SUB = drawing(part("R2", 0, 0), label("D[0..7]", 0, 0, "HLabel"))


def error(project, text, name="board.sch"):
    project.write("sub.sch", SUB)
    project.write("board.sch", GOOD)
    project.write(name, text)
    with pytest.raises(ImporterError) as caught:
        load(project.root)
    message = str(caught.value)
    assert "\n" not in message
    return message.replace(f"{project.folder}/", "")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            drawing(end=""),
            "board.sch:3: found end of file, expected $EndSCHEMATC",
        ),
        (
            drawing(version=99),
            "board.sch:1: found version 99, expected 1 to 5",
        ),
        (
            drawing("$Comp\nL R R1\n", end=""),
            "board.sch:4: found no $EndComp for this part, expected one",
        ),
        (
            drawing("$Comp\nL R R1\n$Sheet\n"),
            "board.sch:6: found '$Sheet', expected $EndComp",
        ),
        (
            drawing("$Comp\nU 1 1 AA\n$EndComp\n"),
            "board.sch:4: found a part without an L line,"
            " expected 'L symbol reference'",
        ),
        (
            drawing("Wire Wire Line\n\t1 2 3\n"),
            "board.sch:5: found '1 2 3', expected 'x y x y'",
        ),
        (
            drawing("Wire Curved Line\n\t1 2 3 4\n"),
            "board.sch:4: found a line of kind 'Curved', expected Wire, Bus or Notes",
        ),
        (
            drawing("Connection ~ here 5\n"),
            "board.sch:4: found 'here 5', expected 'Connection ~ x y'",
        ),
        (
            drawing("Text Label 1 2 0 50 ~ 0\n", end=""),
            "board.sch:4: found end of file, expected the text on a line of its own",
        ),
        (
            drawing("Text Sign 1 2 0 50 ~ 0\nA\n"),
            "board.sch:4: found text of kind 'Sign',"
            " expected Notes, Label, HLabel or GLabel",
        ),
        (
            drawing(sheet("sub", "gone.sch", "AA")),
            "board.sch:4: found no file 'gone.sch' for sheet 'sub',"
            " expected it beside the schematic",
        ),
        (
            drawing(sheet("me", "board.sch", "AA")),
            "board.sch:4: found sheet 'me' that contains itself ('board.sch'),"
            " expected a tree of sheets",
        ),
        (
            drawing("$Sheet\nS 1 1 1 1\n$EndSheet\n"),
            "board.sch:4: found a sheet without a file name, expected an F1 line",
        ),
        (
            drawing(label("D[0..999999999]", 0, 0)),
            "board.sch:4: found 'D[0..999999999]' and more than 400000 bus members"
            " on a sheet, expected a bus of some wires",
        ),
    ],
)
def test_sheets(project, text, message):
    assert error(project, text) == message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "EESchema-LIBRARY Version 2.4\nDEF R R 0 0 N Y 1 F N\nX ~ 1 0 150\n",
            "board-cache.lib:3: found a pin of too few words,"
            " expected 12 ('X name ...')",
        ),
        (
            "EESchema-LIBRARY Version 2.4\nDEF R R 0 0 N Y 1 F N\n",
            "board-cache.lib:2: found no ENDDEF for this symbol, expected one",
        ),
        (
            LIBRARY.replace("X ~ 2 0 -150", "X ~ 2 0 up"),
            "board-cache.lib:9: found '0 up',"
            " expected numbers for place, unit and drawing of a pin",
        ),
    ],
)
def test_libraries(project, text, message):
    assert error(project, text, "board-cache.lib") == message


def test_a_sheet_two_levels_down_that_contains_the_root(project):
    text = drawing(sheet("root", "board.sch", "BB"))
    assert error(project, text, "sub.sch").startswith("sub.sch:4: found sheet 'root'")


def test_unknown_lines_are_counted(project):
    board = project.load("Novelty 1\n" * 3)
    assert [(u.what, u.count) for u in board.unused] == [("unknown line 'Novelty'", 3)]


def test_sheets_that_multiply_are_refused(tmp_path):
    """Twenty files that use the next one twice make a million sheets."""
    project = Project(tmp_path)
    for n in range(20):
        twice = [sheet(f"s{k}", f"s{n + 1}.sch", f"{k}") for k in (1, 2)]
        project.write(f"s{n}.sch", drawing(*twice))
    project.write("s20.sch", drawing())
    with pytest.raises(ImporterError, match="found more than 20000 sheets"):
        load(tmp_path / "s0.sch")


def test_slanted_wires_of_every_direction(project):
    lines = [wire(0, 0, 5000 + n, 3000 + 7 * n * n) for n in range(3000)]
    labels = [label(f"N{n}", n, n) for n in range(8000)]
    with pytest.raises(ImporterError, match="expected a drawing of straight wires"):
        project.load(*lines, *labels)


@pytest.mark.parametrize(
    "line",
    ['F 1 "' + '\\"' * 300_000, "F 1 " + '"' * 300_001, "AR " + 'Path="' * 99_999],
)
def test_long_lines_end(project, line):
    try:
        project.load("$Comp\nL R R1\n" + line + "\n$EndComp\n")
    except ImporterError:
        pass


def test_work_grows_with_size_only(project):
    def work(count):
        items = []
        for n in range(count):
            x, y = n % 200 * 500, n // 200 * 1000
            items += [
                part(f"R{n}", x, y), wire(x, y + 150, x + 500, y + 150),
                junction(x, y + 150), label(f"N{n // 7}", x + 250, y + 150),
            ]  # fmt: skip
        project.write("board.sch", drawing(*items))

        def run():
            assert load(project.root).pin_count == 2 * count

        return operations(run)

    assert work(2000) < 5 * work(500)


def outcome(path):
    """Return the error's text, None for a board."""
    try:
        load(path, "kicad_legacy")
    except ImporterError as error:
        return str(error)
    return None


@pytest.mark.parametrize("seed", range(8))
def test_mutations_end_in_a_board_or_one_line(project, seed):
    chance = random.Random(seed)
    files = {"board.sch": GOOD, "sub.sch": SUB, "board-cache.lib": LIBRARY}
    odd = [b"-1", b"9" * 30, b'"', b"\n", b"\\", b"[0..99999999]", b"$EndComp\n", b"\0"]
    for name, text in files.items():
        project.write(name, text)
    boards = 0
    for _ in range(120):
        name = chance.choice(list(files))
        data = bytearray(files[name].encode())
        for _ in range(chance.choice([1, 1, 4, 20])):
            at = chance.randrange(len(data) + 1)
            kind = chance.randrange(4)
            if kind == 0 and at < len(data):
                data[at] = chance.randrange(256)
            elif kind == 1:
                data[at:at] = chance.choice(odd)
            elif kind == 2:
                del data[at : at + chance.randrange(60)]
            elif chance.random() < 0.2:
                del data[at:]
        (project.folder / name).write_bytes(data)
        message = outcome(project.root)
        boards += message is None
        assert message is None or "\n" not in message
        project.write(name, files[name])
    assert boards > 0
