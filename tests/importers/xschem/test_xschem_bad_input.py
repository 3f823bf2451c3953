"""Damaged xschem files: a board or one line, never a traceback, never a hang."""

import random

import pytest
from _operations import operations
from _xschem_pages import BLOCK, INNER, design

from ohmtrail.importers import ImporterError, load
from ohmtrail.netanalysis.board import Board

HEAD = "v {xschem version=3.4.5 file_version=1.2}\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("N 0 0 1 {}\n", "2: found '0 0 1' in a wire, expected 4 numbers"),
        ("N 0 0 1 e {}\n", "2: found '0 0 1 e' in a wire, expected 4 numbers"),
        ("N 0 0 1 1e999 {}\n", "2: found '0 0 1 1e999' in a wire"),
        ("N 0 0 1 1 {lab=a\n", "2: found 'N 0 0 1 1 {lab=a', expected a shape"),
        ("C {a} 0 0 5 0 {}\n", "2: found turn '0 0 5 0' of a component"),
        ("C {a} 0 0 0 0\n", "2: found 'C {a} 0 0 0 0', expected a text or component"),
        ("hello\n", "2: found 'hello', expected an object"),
        ("[\n", "2: found '[' that follows no component"),
        ("]\n", "2: found ']', expected an object"),
        ("C {a} 0 0 0 0 {}\n[\n", "2: found end of file, expected ']'"),
        ("C {none.sym} 0 0 0 0 {name=R1}\n", "2: found no file of any part's symbol"),
        ("C {ipin} 0 0 0 0 {lab=A[99999999:0]}\n", "2: found label 'A[99999999:0]'"),
        ("C {ipin} 0 0 0 0 {lab=999999*(9999*A)}\n", "2: found label"),
        ("C {ipin} 0 0 0 0 {lab=(A,B}\n", "2: found label '(A,B' with a loose '('"),
        ("C {ipin} 0 0 0 0 {lab=A[60000:0]}\n" * 200, "found more than 3000000 bits"),
        ("\0", "2: found a null byte"),
    ],
)
def test_one_line_with_file_and_line(text, message, tmp_path):
    path = tmp_path / "bad.sch"
    path.write_text(HEAD + text)
    with pytest.raises(ImporterError) as caught:
        load(path)
    line = str(caught.value)
    assert line.startswith(f"{path}:")
    assert message in line
    assert "\n" not in line


def _mutate(dice, text):
    kind = dice.randrange(5)
    a, b = sorted(dice.randrange(len(text)) for _ in range(2))
    b = min(b, a + 100)
    if kind == 0:
        return text[:a] + text[b:]
    if kind == 1:
        return text[:b] + text[a:]
    if kind == 2:
        return text[:a]
    if kind == 3:
        return text[:a] + dice.choice('[]{}TCNPBv0-9\n =\\é",*:(') + text[a + 1 :]
    lines = text.split("\n")
    dice.shuffle(lines)
    return "\n".join(lines)


def test_mutated_sheets_end_in_a_board_or_one_line(tmp_path):
    dice = random.Random(5)
    boards, messages = 0, []
    for serial in range(150):
        texts = [design(tmp_path, serial).read_text(), BLOCK, INNER]
        for _ in range(dice.randrange(1, 4)):
            which = dice.randrange(3)
            texts[which] = _mutate(dice, texts[which]) or "v"
        for name, text in zip(
            ("top.sch", "block.sym", "block.sch"), texts, strict=True
        ):
            (tmp_path / name).write_text(text)
        try:
            boards += isinstance(load(tmp_path / "top.sch", "xschem"), Board)
        except ImporterError as error:
            messages.append(str(error))
    assert not [text for text in messages if "\n" in text]
    assert boards > 15


RES = """[
G {type=resistor format="@name @pinlist @value" template="name=R1 value=1k"}
B 5 -2.5 -32.5 2.5 -27.5 {name=P dir=inout pinnumber=1}
B 5 -2.5 27.5 2.5 32.5 {name=M dir=inout pinnumber=2}
]
"""


def _grid(count):
    lines = [HEAD]
    for k in range(count):
        x, y = k % 300 * 100, k // 300 * 60
        lines.append(
            f"C {{r.sym}} {x} {y} 0 0 {{name=R{k} value=4k7 footprint=0603}}\n"
        )
        lines.append(RES if not k else "")
        lines.append(f"N {x} {y + 30} {x + 100} {y + 30} {{lab=#net{k}}}\n")
        lines.append(f"N {x - 3.5} {y + 20} {x + 3.5} {y + 40} {{}}\n")
        lines.append(
            f"C {{lab_pin.sym}} {x} {y - 30} 0 0 {{name=l{k} lab=N{k % 999}}}\n"
        )
    return "".join(lines)


def test_work_grows_with_the_file_only(tmp_path):
    def work(count):
        path = tmp_path / f"{count}.sch"
        path.write_text(_grid(count))

        def run():
            assert len(load(path).parts) == count

        return operations(run)

    assert work(2000) < 5 * work(500)
