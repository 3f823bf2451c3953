"""Bad input: one line, with file and line number, and nothing half-loaded."""

import itertools

import pytest
from _kicad_drawing import Drawing, write
from _operations import operations

from ohmtrail.importers import _wires
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.kicad_schematic import IMPORTER

HEAD = "(kicad_sch (version 20250114)\n"


def error(folder, text):
    path = folder / "board.kicad_sch"
    data = text if isinstance(text, bytes) else text.encode()
    path.write_bytes(data)
    with pytest.raises(ParseError) as caught:
        IMPORTER.read(path)
    message = str(caught.value)
    assert "\n" not in message
    assert message.startswith(str(path))
    return message.removeprefix(str(path))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", ":1: found '', expected '(kicad_sch'"),
        ("(kicad_pcb (version 1))", ":1: found '(kicad_pcb (version ', expected"),
        ("EESchema Schematic", ":1: found 'EESchema Schematic', expected '(kicad_sch'"),
        ("(kicad_sch (paper A4))", ":1: found no (version ...), expected one"),
        (HEAD + "(wire", ":2: found end of file, expected ')' for the '(' of line 2"),
        (HEAD + "\n)\n)", ":4: found ')', expected end of file"),
        (HEAD + '(label "X', ":2: found end of file inside a string, expected '\"'"),
        (
            HEAD + "\n(wire (pts (xy 1 2))))",
            ":3: found a damaged group (wire ...), expected KiCad's form",
        ),
        (
            HEAD + '(symbol (lib_id "a:b") (at ten 2 0)))',
            ":2: found a damaged group (symbol ...), expected KiCad's form",
        ),
        (
            HEAD + "(global_label (shape input) (at 1 2 0)))",
            ":2: found a damaged group (global_label ...), expected KiCad's form",
        ),
        (
            HEAD + '(symbol (lib_id "a:b") (uuid (at 1 2 0))))',
            ":2: found a damaged group (symbol ...), expected KiCad's form",
        ),
        (
            HEAD + '(lib_symbols (symbol "a:b" (pin input line (number (x))))))',
            ":2: found a damaged group (lib_symbols ...), expected KiCad's form",
        ),
        (
            HEAD + '(symbol (lib_id "a:b") (at 1e999 2 0)))',
            ":2: found a damaged group (symbol ...), expected KiCad's form",
        ),
        (
            HEAD + '(bus_alias "A" (members "{A A}")) (label "{A}" (at 1 1 0)))',
            ":1: found bus aliases that contain one another, expected a design",
        ),
    ],
)
def test_message(text, expected, tmp_path):
    assert error(tmp_path, text).startswith(expected)


def test_every_truncation_is_an_error(tmp_path):
    root = Drawing("root")
    root.wire((10, 10), (20, 10))
    root.pad("R1", (10, 10), "X")
    text = root.text().rstrip()
    for end in range(0, len(text), 37):
        assert error(tmp_path, text[:end])


def test_binary_junk(tmp_path):
    assert error(tmp_path, bytes(range(256)) * 1000).startswith(":")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (HEAD + "()" * 1_600_000, ":2: found more than 1500000 brackets"),
        (HEAD + "(" * 15_000_000, ":2: found brackets nested deeper than 400"),
        ("(" * 100_000_000, ":1: found '((((((((((((((((((((', expected '(kicad_sch'"),
    ],
    ids=["hundred million", "fifteen million", "no head"],
)
def test_brackets_without_end_are_refused(text, expected, tmp_path):
    assert error(tmp_path, text).startswith(expected)


def test_missing_sheet_file(tmp_path):
    root = Drawing("root")
    root.sheet("core", "gone.kicad_sch")
    path = write(tmp_path, root)
    line = (
        path.read_text()
        .splitlines()
        .index(next(x for x in path.read_text().splitlines() if "Sheetfile" in x))
    )
    with pytest.raises(ParseError) as caught:
        IMPORTER.read(path)
    assert str(caught.value) == (
        f"{path}:{line + 1}: found no file 'gone.kicad_sch' for sheet 'core',"
        " expected it beside the schematic"
    )


def test_damage_in_a_sub_sheet_names_that_file(tmp_path):
    root, child = Drawing("root"), Drawing("child")
    root.sheet("core", child)
    path = write(tmp_path, root, child)
    (tmp_path / "child.kicad_sch").write_text(HEAD)
    with pytest.raises(ParseError) as caught:
        IMPORTER.read(path)
    assert caught.value.path == str(tmp_path / "child.kicad_sch")
    assert caught.value.line == 1


def test_a_sheet_that_contains_itself(tmp_path):
    root, child, low = Drawing("root"), Drawing("child"), Drawing("low")
    root.sheet("one", child)
    child.sheet("two", low)
    low.sheet("three", "child.kicad_sch")
    path = write(tmp_path, root, child, low)
    with pytest.raises(ParseError) as caught:
        IMPORTER.read(path)
    assert str(caught.value).endswith(
        "found sheet 'three' that contains itself ('child.kicad_sch'),"
        " expected a tree of sheets"
    )
    assert caught.value.line == 5


def test_sheets_that_multiply_without_end(tmp_path):
    drawings = [Drawing(f"s{n}") for n in range(20)]
    for upper, lower in itertools.pairwise(drawings):
        upper.sheet("a", lower)
        upper.sheet("b", lower)
        upper.sheet("c", lower)
    for drawing in drawings:
        drawing.paths = ["/x"]
        (tmp_path / f"{drawing.name}.kicad_sch").write_text(drawing.text())
    with pytest.raises(ParseError, match="found more than 20000 sheets"):
        IMPORTER.read(tmp_path / "s0.kicad_sch")


def test_carriage_returns_and_a_byte_order_mark_are_fine(tmp_path):
    root = Drawing("root")
    root.pad("R1", (10, 10), "X")
    path = write(tmp_path, root)
    text = path.read_text()
    plain = IMPORTER.read(path)
    path.write_bytes(("\ufeff" + text.replace("\n", "\r\n")).encode())
    assert IMPORTER.read(path) == plain


def test_a_vector_of_absurd_numbers_is_a_plain_name(tmp_path):
    # Common practice, no source: no bus is that wide.
    name = f"D[0..{'9' * 5000}]"
    root = Drawing("root")
    root.pad("R1", (10, 10), name)
    (net,) = IMPORTER.read(write(tmp_path, root)).nets
    assert net.name == f"/{name}"


def _slanted(folder, count, length):
    """Wires aslant with a label behind each, as nobody draws by the thousand."""
    drawing = Drawing(f"slanted{count}")
    for n in range(count):
        drawing.wire((n, 0), (n + length, 3))
        drawing.label(f"a{n}", (n, 90))
    return write(folder, drawing)


def test_work_grows_with_the_number_of_slanted_wires(tmp_path):
    def work(count):
        path = _slanted(tmp_path, count, 1)
        return operations(lambda: IMPORTER.read(path))

    work(10)  # what is imported
    assert work(800) < 6 * work(200)


def test_long_slanted_wires_without_end(tmp_path, monkeypatch):
    monkeypatch.setattr(_wires, "_SLANTED_MAX", 5_000)
    # Short ones set the grid; the long ones are near every label.
    path = _slanted(tmp_path, 300, 1)
    text = path.read_text()
    for n in range(100):
        text = text.replace(f"(xy {n + 1} 3)", f"(xy {n + 1000} 300)", 1)
    path.write_text(text)
    with pytest.raises(ParseError) as caught:
        IMPORTER.read(path)
    assert str(caught.value) == (
        f"{path}: found too many long slanted wires, expected a design"
    )
