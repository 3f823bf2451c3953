"""KiCad netlists: the documented sample, what each form says, and the oldest form."""

import pytest
from _kicad_netlist_texts import OLD, RICH, SAMPLE, as_brackets, error, pins, read

from ohmtrail.netanalysis.board import Unused


def test_the_documented_sample(tmp_path):
    board = read(tmp_path, SAMPLE)
    assert (board.name, board.version) == ("netlist_test", "D")
    assert [p.ref for p in board.parts] == ["P1", "U2", "U1", "C1", "R1"]
    assert [(n.name, len(n.pins)) for n in board.nets] == [
        ("GND", 4),
        ("VCC", 6),
        ("unconnected-(U2-Pad6)", 1),
        ("Net-(U1-Pad2)", 2),
        ("/SIG_OUT", 3),
        ("/CLOCK_IN", 4),
    ]
    assert board.pin_count == 20
    assert pins(board.nets[3]) == {"U1.2", "U2.3"}
    assert board.part_by_ref["U1"].library == "74xx:74LS04"
    assert board.unused == (
        Unused("net without a name, named after a pin", str(tmp_path / "n.net"), 2),
    )


def test_the_sample_without_one_closing_tag(tmp_path):
    # The second copy in KiCad's documentation lacks one; this one lacks U1's.
    tag = "    </comp>\n"
    parts = SAMPLE.split(tag)
    assert error(tmp_path, tag.join(parts[:3]) + tag.join(parts[3:])) == (
        "FILE:38: found mismatched tag, expected </comp> for line 21"
    )


@pytest.mark.parametrize("form", [str, as_brackets])
def test_all_that_a_part_can_say(tmp_path, form):
    board = read(tmp_path, form(RICH))
    assert board.sheets == ("/", "/Core/")
    assert [p.ref for p in board.parts] == ["U1", "R1", "X9"]
    u1, r1, x9 = board.parts
    assert (u1.value, u1.footprint, u1.library) == ("LM5050", "SO:SO8", "Power:LM")
    assert (u1.description, u1.keywords) == ("ideal diode driver", "diode oring")
    assert (u1.sheet, u1.fitted) == ("/Core/", True)
    assert u1.fields == (("MPN", "XY-1"), ("DNP", "0"))
    assert [(p.number, p.net, p.name, p.electrical) for p in u1.pins] == [
        ("1", "/VIN", "IN", "power_in"),
        ("2", "/B", "ALT", "output"),
        ("3", None, "NC", "no_connect"),
    ]
    assert (r1.value, r1.fitted, r1.sheet) == ("", False, "/")
    assert [(p.number, p.net, p.name) for p in r1.pins] == [
        ("1", "/VIN", "A"),
        ("2", "/VIN", ""),
    ]
    assert (x9.value, x9.pins[0].key, x9.pins[0].net) == ("", "X9.A1", "/VIN")
    path = str(tmp_path / "n.net")
    assert board.unused == (
        Unused("section 'groups'", path),
        Unused("'tie' of a net", path),
        Unused("net '/VIN' written again, taken as one net", path),
        Unused("part marked as not on the board", "H1"),
        Unused("'variants' of a part", path),
        Unused("part in the nets that is not in the components", "X9"),
    )


@pytest.mark.parametrize("form", [str, as_brackets])
def test_the_two_forms_say_the_same(tmp_path, form):
    assert read(tmp_path, form(SAMPLE)).parts == read(tmp_path, SAMPLE).parts


def test_names_made_up_stay_apart(tmp_path):
    text = SAMPLE.replace('name="/SIG_OUT"', 'name="Net-(U1-Pad2)"')
    board = read(tmp_path, text)
    assert pins(board.net_by_name["Net-(U1-Pad2)"]) == {"P1.2", "U2.5", "U2.2"}
    assert pins(board.net_by_name["Net-(U1-Pad2)_2"]) == {"U1.2", "U2.3"}


def test_stacked_pins_of_a_symbol(tmp_path):
    text = RICH.replace('num="3" name="NC"', 'num="[3,7-9]" name="NC"')
    numbers = [p.number for p in read(tmp_path, text).part_by_ref["U1"].pins]
    assert numbers == ["1", "2", "3", "7", "8", "9"]


# The text form before KiCad 4 --------------------------------------------------


@pytest.mark.parametrize(
    "text", [OLD, OLD.replace("# EE", "( { EE").replace("16:12:17\n(", "16:12:17 }")]
)
def test_the_old_text_form(tmp_path, text):
    board = read(tmp_path, text)
    assert (board.format, board.version) == ("kicad_netlist", "1.1")
    c8, j1 = board.parts
    assert (c8.value, c8.library, c8.footprint) == ("100 nF", "C", "")
    assert (j1.value, j1.library, j1.footprint) == ("DB9", "", "DB9FC")
    assert [(p.number, p.net) for p in j1.pins] == [
        ("1", None),
        ("2", "GND"),
        ("A3", "/sockets/VCC"),
    ]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            " )\n ( 442",
            " ( 442",
            "FILE:6: found '( 442A4C93 DB9FC J1 DB9', expected "
            "'( pin net )' or ')' for C8 of line 3",
        ),
        (
            "( 2 GND )",
            "( 1 GND )",
            "FILE:9: found pin J1.1 in net 'GND', but it is in net '?'",
        ),
        ("J1", "C8", "FILE:7: found C8 again, first in line 3"),
        (
            " ( 442A4C93",
            "hello",
            "FILE:7: found 'hello DB9FC J1 DB9', expected '( "
            "stamp footprint ref value'",
        ),
        ("\n(\n", "\n[\n", "FILE:2: found '[', expected '('"),
    ],
)
def test_the_old_text_form_gone_bad(tmp_path, old, new, message):
    assert error(tmp_path, OLD.replace(old, new, 1)) == message


def test_what_nobody_expects_is_counted(tmp_path):
    part = "(comp (ref R1) (()) x)"
    text = f"(export (version D) ((a)) word word (components {part}) (nets))"
    path = str(tmp_path / "n.net")
    assert read(tmp_path, text).unused == (
        Unused("section 'a nameless list'", path),
        Unused("section 'a word'", path, 2),
        Unused("'a nameless list' of a part", path),
        Unused("'a word' of a part", path),
    )


def test_a_hole_whose_pad_has_no_number(tmp_path):
    text = SAMPLE.replace('<node ref="U2" pin="6"/>', '<node ref="U2" pin=""/>')
    assert read(tmp_path, text).part_by_ref["U2"].pin("").net == "unconnected-(U2-Pad)"
