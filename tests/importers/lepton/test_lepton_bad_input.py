"""Damaged gEDA files: a board or one line, never a traceback, never a hang."""

import random

import pytest
from _lepton_pages import BLOCK, page
from _operations import operations

from ohmtrail.importers import ImporterError, load
from ohmtrail.importers.lepton.drawn import drawn_pages
from ohmtrail.netanalysis.board import Board


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("v 20201216 2\nC 0 0 1 45 0 r.sym\n", "2: found angle 45 of a component"),
        ("v 20201216 2\nC 0 0 1 0 0\n", "2: found a component without a symbol name"),
        ("v 20201216 2\nN 0 0 1\n", "2: found 3 fields of a net, expected 4"),
        ("v 20201216 2\nN 0 0 x 4 4\n", "2: found 'x' in a net, expected a whole"),
        # libgeda reads coordinates with "%d": 32 bits.
        (f"v 20201216 2\nN 0 0 {10**40} 4 4\n", "2: found '10000"),
        ("v 20201216 2\n]\n", "2: found ']' without its '['"),
        ("v 20201216 2\n[\n]\n", "2: found '[' that follows no component"),
        (
            "v 20201216 2\nC 0 0 1 0 0 EMBEDDEDa\n[\n",
            "2: found end of file, expected ']'",
        ),
        ("v 20201216 2\nN 0 0 1 1 4\n{\n", "3: found end of file, expected '}'"),
        ("v 20201216 2\nN 0 0 1 1 4\n{\nN 0 0 1 1 4\n", "4: found 'N 0 0 1 1 4' among"),
        ("v 20201216 2\nT 0 0 5 8 0 1 0 0 9\na\n", "2: found end of file, expected 9"),
        ("v 20201216 2\nT 0 0 5 8 0 1 0 0 -1\n", "2: found end of file, expected -1"),
        ("v 20201216 2\nH 3 10 0 0 9\n", "2: found '9', expected the number of lines"),
        (
            "v 20201216 2\nG 0 0 1 1 0 0 1\nx.png\nAAAA\n",
            "2: found end of file, expected '.'",
        ),
        ("v 20201216 2\nhello\n", "2: found 'hello', expected an object"),
        ("v 20201216 2\nC 0 0 1 0 0 nowhere-9.sym\n", "2: found no file of any symbol"),
        ("v 20201216 2\n" + "C 0 0 1 0 0 EMBEDDEDa\n[\n" * 30, "deep"),
        ("v 20201216 2\n\0", "2: found a null byte"),
    ],
)
def test_one_line_with_file_and_line(text, message, tmp_path):
    path = tmp_path / "bad.sch"
    path.write_text(text)
    with pytest.raises(ImporterError) as caught:
        load(path)
    line = str(caught.value)
    assert line.startswith(f"{path}:")
    assert message in line
    assert "\n" not in line


@pytest.mark.parametrize("shape", ["L 0 0 {} 9 3", "V 0 0 {} 3", "A 0 0 {} 0 90 3"])
def test_a_shape_beyond_any_page_takes_no_room(shape, tmp_path):
    symbol = "v 20201216 2\nP 0 0 100 0 1 0 0\n{\nT 0 0 5 8 0 1 0 0 1\npinnumber=1\n}\n"
    part = "C 0 0 1 0 0 zz.sym\n{\nT 0 0 5 10 0 0 0 0 1\nrefdes=R1\n}\n"
    path = tmp_path / "top.sch"
    path.write_text("v 20201216 2\n" + part)
    (tmp_path / "zz.sym").write_text(symbol)
    plain = drawn_pages(path)
    line = shape.format(10**400) + " 0 0 0 -1 -1\n"
    (tmp_path / "zz.sym").write_text(symbol + line)
    assert drawn_pages(path) == plain


def _mutate(dice, text):
    kind = dice.randrange(5)
    a, b = sorted(dice.randrange(len(text)) for _ in range(2))
    b = min(b, a + 200)
    if kind == 0:
        return text[:a] + text[b:]
    if kind == 1:
        return text[:b] + text[a:]
    if kind == 2:
        return text[:a]
    if kind == 3:
        return text[:a] + dice.choice("[]{}TCNPUv0-9\n =\\é") + text[a + 1 :]
    lines = text.split("\n")
    dice.shuffle(lines)
    return "\n".join(lines)


def test_mutated_pages_end_in_a_board_or_one_line(tmp_path):
    dice = random.Random(4)
    (tmp_path / "block.sym").write_text(BLOCK)
    symbol = BLOCK.replace("source=inner.sch", "value=1").partition("\n")[2]
    boards, messages = 0, []
    for serial in range(400):
        text = page(dice, 6, 1, ("IN",))
        text += f"C 0 0 1 0 0 EMBEDDEDx.sym\n[\n{symbol}]\n"
        for _ in range(dice.randrange(1, 4)):
            text = _mutate(dice, text) or "v"
        path = tmp_path / f"{serial}.sch"
        path.write_text("v 20201216 2\n" + text)
        try:
            boards += isinstance(load(path, "lepton"), Board)
        except ImporterError as error:
            messages.append(str(error))
    assert not [text for text in messages if "\n" in text]
    assert boards > 20


def _grid(count):
    """A page of resistors in rows, all joined by wires."""
    symbol = (
        "[\nP 0 0 100 0 1 0 0\n{\nT 0 0 5 8 0 1 0 0 1\npinnumber=1\n}\n"
        "P 900 0 800 0 1 0 0\n{\nT 0 0 5 8 0 1 0 0 1\npinnumber=2\n}\n]\n"
    )
    lines = ["v 20201216 2\n"]
    for k in range(count):
        x, y = k % 300 * 1000, k // 300 * 500
        pins = symbol.replace("P 0 0 100 0", f"P {x} {y} {x + 100} {y}")
        pins = pins.replace("P 900 0 800 0", f"P {x + 900} {y} {x + 800} {y}")
        lines.append(f"C {x} {y} 1 0 0 EMBEDDEDr.sym\n{pins}")
        lines.append(f"{{\nT 0 0 5 8 0 1 0 0 1\nrefdes=R{k}\n}}\n")
        lines.append(f"N {x + 900} {y} {x + 1000} {y} 4\nN {x} {y} {x} {y + 500} 4\n")
    return "".join(lines)


def test_work_grows_with_the_file_only(tmp_path):
    def work(count):
        path = tmp_path / f"{count}.sch"
        path.write_text(_grid(count))

        def run():
            assert len(load(path).parts) == count

        return operations(run)

    assert work(2000) < 5 * work(500)
