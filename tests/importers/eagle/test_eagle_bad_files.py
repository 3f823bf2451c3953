"""EAGLE files gone bad: one line each, in bounded time."""

import pytest
from _eagle_drawn import (
    HEAD,
    MODULE,
    ONE,
    PARTS,
    TAIL,
    TOP,
    TWO,
    net,
    part,
    read,
    schematic,
)
from _operations import operations

from ohmtrail.importers import ParseError

# Bad files --------------------------------------------------------------------


def error(tmp_path, text):
    with pytest.raises(ParseError) as caught:
        read(tmp_path, text)
    message = str(caught.value)
    assert "\n" not in message
    return message.replace(str(tmp_path / "pump.sch"), "FILE")


GOOD = schematic(PARTS, ONE + TWO)
LAST = GOOD.count("\n") + 1


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('gate="A" pin="I"/>', 'gate="A" pin="Z"/>', "found pin 'Z' of gate 'A', "
         "which IC1 lacks"),
        ('pinref part="R2"', 'pinref part="R9"', "found unknown part 'R9'"),
        ('instance part="R2"', 'instance part="R9"', "found unknown part 'R9'"),
        ('part name="R2"', 'part name="R1"', "found part R1 again"),
        ('deviceset="74*04?"', 'deviceset="75"', "found device set '75', which "
         "library 'parts' lacks"),
        ('device="D"', 'device="X"', "found device 'X', which '74*04?' does not "
         "come in"),
        ('package="SO14"', 'package="DIP"', "found package 'DIP', which library "
         "'parts' lacks"),
        ('part name="R2" library="parts"', 'part name="R2" library="more"',
         "found unknown library 'more'"),
        ('part name="R2" library="parts"', 'part name="R2"',
         "found <part> without library="),
        ('x="1" y="0"', 'x="nan" y="0"', "found x='nan', expected a number"),
    ],
)  # fmt: skip
def test_one_line_says_what_is_wrong(tmp_path, old, new, message):
    assert old in GOOD
    found = error(tmp_path, GOOD.replace(old, new, 1))
    where, _, words = found.partition(": ")
    assert words == message
    assert 1 < int(where.removeprefix("FILE:")) <= LAST


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HEAD + "<library/>" + TAIL,
         "FILE:3: found a library, expected a schematic or a board"),
        (HEAD + TAIL, "FILE:3: found neither <schematic> nor <board>"),
        (HEAD, "FILE:4: found no well-formed XML: Premature end of data in tag "
         "drawing line 3"),
        (GOOD.replace('"eagle.dtd"', '"http://x/eagle.dtd"'),
         'FILE:2: found another DOCTYPE than <!DOCTYPE eagle SYSTEM "eagle.dtd">'),
        (GOOD.replace('"eagle.dtd"', '"eagle.dtd" [<!ENTITY a "b">]'),
         'FILE:2: found another DOCTYPE than <!DOCTYPE eagle SYSTEM "eagle.dtd">'),
        (GOOD.replace('"SIG"', '"&lol;"', 1), None),
        (GOOD.replace('pad="7"', 'pad="7" q="&xxe;"'), None),
        (HEAD + "<a>" * 300, None),
    ],
)  # fmt: skip
def test_files_that_are_no_schematic(tmp_path, text, message):
    found = error(tmp_path, text)
    assert found == message or (message is None and "no well-formed XML" in found)


@pytest.mark.parametrize(
    ("modules", "message"),
    [
        ("", "found unknown module 'AMP'"),
        (MODULE + MODULE, "found module 'AMP' again"),
        (MODULE.replace('name="IN" side', 'name="OUT" side'),
         "found unknown port 'IN' of 'LEFT'"),
        (MODULE.replace("<sheet>", '<sheet><moduleinsts><moduleinst name="X" '
         'module="AMP" x="0" y="0"/></moduleinsts>'), "found module AMP in itself"),
    ],
)  # fmt: skip
def test_modules_gone_bad(tmp_path, modules, message):
    text = schematic(part("R1", "R", "0603"), TOP, modules)
    assert error(tmp_path, text).partition(": ")[2] == message


def test_modules_that_multiply_are_refused(tmp_path):
    """Ten in ten in ten ... would be a billion parts from a few kilobytes."""
    module = (
        '<module name="M{}"><sheets><sheet><moduleinsts>{}</moduleinsts></sheet>'
        "</sheets></module>"
    )
    uses = '<moduleinst name="I{}" module="M{}" x="0" y="0"/>'
    modules = "".join(
        module.format(n, "".join(uses.format(i, n + 1) for i in range(10)))
        for n in range(9)
    ) + module.format(9, "")
    top = "<sheet><moduleinsts>" + uses.format(0, 0) + "</moduleinsts></sheet>"
    found = error(tmp_path, schematic("", top, modules))
    assert found.partition(": ")[2] == "found more than 10000 uses of modules"


def test_a_line_beyond_65535(tmp_path):
    """libxml2 counts so far; people's files are longer."""
    text = GOOD.replace("<parts>", "\n" * 70_000 + "<parts>")
    text = text.replace('part name="R2"', 'part name="R1"')
    line = text[: text.rindex('<part name="R1"')].count("\n") + 1
    assert error(tmp_path, text) == f"FILE:{line}: found part R1 again"


def test_every_truncation_is_one_line(tmp_path):
    text = GOOD.rstrip()
    start = text.index("<drawing")
    for end in range(start, len(text), 97):
        assert error(tmp_path, text[:end]).startswith("FILE:")


def test_work_grows_with_size_only(tmp_path):
    assert _work(tmp_path, 1600) < 5 * _work(tmp_path, 400)


def _work(tmp_path, count):
    one = part("R{0}", "R", "0603")
    parts = "".join(one.format(n) for n in range(count))
    wires = "".join(
        net(f"N${n}", f"R{n}.G$1.A", f"R{(n * 7) % count}.G$1.B") for n in range(count)
    )
    text = schematic(parts, f"<sheet><nets>{wires}</nets></sheet>")

    def run():
        assert len(read(tmp_path, text).parts) == count

    return operations(run)
