"""KiCad netlists: the documented sample, what each form says, and bad ones."""

import time

import pytest

from ohmtrail.importers import ParseError, load
from ohmtrail.netanalysis.board import Unused

# After the sample of KiCad's documentation (Schematic Editor, "Intermediate
# netlist"): 5 parts and 20 nodes; two nets have the empty name.
SAMPLE = """\
<?xml version="1.0" encoding="utf-8"?>
<export version="D">
  <design>
    <source>F:\\kicad_aux\\netlist_test\\netlist_test.sch</source>
    <date>29/08/2010 21:07:51</date>
    <tool>eeschema (2010-08-28 BZR 2458)-unstable</tool>
  </design>
  <components>
    <comp ref="P1">
      <value>CONN_4</value>
      <libsource lib="conn" part="CONN_4"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E2141</tstamp>
    </comp>
    <comp ref="U2">
      <value>74LS74</value>
      <libsource lib="74xx" part="74LS74"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E20BA</tstamp>
    </comp>
    <comp ref="U1">
      <value>74LS04</value>
      <libsource lib="74xx" part="74LS04"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E20A6</tstamp>
    </comp>
    <comp ref="C1">
      <value>CP</value>
      <libsource lib="device" part="CP"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E2094</tstamp>
    </comp>
    <comp ref="R1">
      <value>R</value>
      <libsource lib="device" part="R"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E208A</tstamp>
    </comp>
  </components>
  <libparts/>
  <libraries/>
  <nets>
    <net code="1" name="GND">
      <node ref="U1" pin="7"/>
      <node ref="C1" pin="2"/>
      <node ref="U2" pin="7"/>
      <node ref="P1" pin="4"/>
    </net>
    <net code="2" name="VCC">
      <node ref="R1" pin="1"/>
      <node ref="U1" pin="14"/>
      <node ref="U2" pin="4"/>
      <node ref="U2" pin="1"/>
      <node ref="U2" pin="14"/>
      <node ref="P1" pin="1"/>
    </net>
    <net code="3" name="">
      <node ref="U2" pin="6"/>
    </net>
    <net code="4" name="">
      <node ref="U1" pin="2"/>
      <node ref="U2" pin="3"/>
    </net>
    <net code="5" name="/SIG_OUT">
      <node ref="P1" pin="2"/>
      <node ref="U2" pin="5"/>
      <node ref="U2" pin="2"/>
    </net>
    <net code="6" name="/CLOCK_IN">
      <node ref="R1" pin="2"/>
      <node ref="C1" pin="1"/>
      <node ref="U1" pin="1"/>
      <node ref="P1" pin="3"/>
    </net>
  </nets>
</export>
"""


def read(tmp_path, text, name="n.net"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return load(path, format="kicad_netlist")


def error(tmp_path, text):
    with pytest.raises(ParseError) as caught:
        read(tmp_path, text)
    message = str(caught.value)
    assert "\n" not in message
    return message.replace(str(tmp_path / "n.net"), "FILE")


def pins(net):
    return {p.key for p in net.pins}


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


RICH = """\
<export version="E">
  <design><source>/home/x/pump.kicad_sch</source>
    <sheet number="1" name="/" tstamps="/"/>
    <sheet number="2" name="/Core/" tstamps="/1/"/></design>
  <components>
    <comp ref="U1">
      <value>LM5050</value><footprint>SO:SO8</footprint><datasheet>~</datasheet>
      <description>ideal diode driver</description>
      <fields><field name="MPN">XY-1</field><field name="Footprint">SO:SO8</field>
      </fields>
      <libsource lib="Power" part="LM" description="ignored"/>
      <property name="MPN" value="XY-1"/><property name="DNP" value="0"/>
      <property name="ki_keywords" value="diode oring"/>
      <property name="Sheetname" value="Core"/>
      <sheetpath names="/Core/" tstamps="/1/"/>
    </comp>
    <comp ref="R1"><value>~</value><variants/><property name="dnp"/>
      <property name="exclude_from_bom"/></comp>
    <comp ref="H1"><value>hole</value><property name="exclude_from_board"/></comp>
  </components>
  <libparts>
    <libpart lib="Power" part="LM"><pins>
      <pin num="1" name="IN" type="power_in"/><pin num="2" name="~" type="BiDi"/>
      <pin num="3" name="NC" type="NotConnected"/></pins></libpart>
  </libparts>
  <libraries/><groups/>
  <nets>
    <net code="1" name="/VIN">
      <node ref="U1" pin="1" pintype="power_in"/>
      <node ref="R1" pin="1" pinfunction="A" pintype="passive"/>
      <node ref="H1" pin="1"/>
      <node ref="X9" pin="A1"/></net>
    <net code="2" name="/B">
      <node ref="U1" pin="2" pinfunction="ALT" pintype="output+no_connect"/></net>
    <net code="3" name="/VIN"><tie/><node ref="R1" pin="2"/></net>
  </nets>
</export>
"""


def as_brackets(text):
    """The s-expression twin of an XML netlist, as KiCad writes it."""
    from xml.etree import ElementTree

    def one(element):
        words = [element.tag]
        words += [f'({name} "{value}")' for name, value in element.items()]
        words += [f'"{element.text}"'] if (element.text or "").strip() else []
        return "(" + "\n ".join(words + [one(child) for child in element]) + ")"

    return one(ElementTree.fromstring(text.encode()))


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


# Bad netlists -----------------------------------------------------------------

HEAD = '<export version="E"><components/>\n<nets>\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            HEAD + '<net name="A"><node ref="R1" pin="1"/></net>\n'
            '<net name="B">\n<node ref="R1" pin="1"/></net></nets></export>',
            "FILE:5: found pin R1.1 in net 'B', but it is in net 'A' since line 3",
        ),
        (
            '(export (version "E") (components)\n(nets (net (code 1) (name A)\n'
            "(node (ref R1) (pin 1)))\n(net (code 2) (name B)\n(node (ref R1)\n"
            "(pin 1)))))",
            "FILE:5: found pin R1.1 in net 'B', but it is in net 'A' since line 3",
        ),
        (
            HEAD + '<net name="A"><node ref="R1"/></net></nets></export>',
            "FILE:3: found a node without a pin in net 'A'",
        ),
        (
            HEAD + '<net name="A"><node pin="1"/></net></nets></export>',
            "FILE:3: found a node without a ref in net 'A'",
        ),
        (
            '<export version="E"><nets/><components>\n<comp ref="R1"/>\n'
            '<comp ref="R1"/></components></export>',
            "FILE:3: found R1 again, first in line 2",
        ),
        (
            '<export version="E"><nets/><components>\n<comp/></components></export>',
            "FILE:2: found a part without a ref",
        ),
        (
            '<export version="E"><components/></export>',
            "FILE: found no section 'nets', expected one",
        ),
        (
            '<export version="E"><nets/></export>',
            "FILE: found no section 'components', expected one",
        ),
        (
            '<export version="E"><nets/><nets/></export>',
            "FILE: found a second section 'nets'",
        ),
        (HEAD, "FILE:3: found end of file, expected </nets> for line 2"),
        ("<!-- no root -->", "FILE:1: found end of file"),
        (
            "<kicad><export/></kicad>",
            "FILE:1: found <kicad>, expected <export>",
        ),
        (
            HEAD + "<net name='A'><node ref='R&x;'/></net></nets></export>",
            "FILE:3: found undefined entity, expected </net> for line 3",
        ),
        (
            '<?xml version="1.0" encoding="klingon"?><export version="E"/>',
            "FILE:1: found unknown encoding: klingon",
        ),
        (
            b'<export version="E"><components>\n\xff\xfe\0</components></export>',
            "FILE:2: found not well-formed (invalid token), expected </components> "
            "for line 1",
        ),
        ("<" + "a" * 99, "FILE:1: found end of file inside a tag"),
        (
            "(export (version D)",
            "FILE:1: found end of file, expected ')' for the '(' of line 1",
        ),
        (
            "(export (version D) (components) (nets)))",
            "FILE:1: found ')', expected end of file",
        ),
        ("(kicad_sch (version 1))", "FILE:1: found '(kicad_sch', expected '(export'"),
        ("()", "FILE:1: found '(', expected '(export'"),
        ("((()))", "FILE:1: found '(', expected '(export'"),
        (
            "(export (components) (nets (net (name A)\n(node (ref) (pin 1)))))",
            "FILE:2: found a node without a ref in net 'A'",
        ),
    ],
)
def test_one_line_says_what_is_wrong(tmp_path, text, message):
    assert error(tmp_path, text) == message


def test_a_billion_laughs(tmp_path):
    entities = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    text = (
        f'<?xml version="1.0"?>\n<!DOCTYPE export [<!ENTITY l0 "lol">{entities}]>\n'
        '<export version="E"><components/><nets>&l9;</nets></export>'
    )
    begun = time.process_time()
    assert error(tmp_path, text) == (
        "FILE:2: found a DOCTYPE, expected none: netlists have no use for one"
    )
    assert time.process_time() - begun < 1


@pytest.mark.parametrize("form", ["net", "xml", "old"])
def test_every_truncation_is_one_line(tmp_path, form):
    """Nothing half-loaded: each shorter copy is an error, never a smaller board."""
    text = {"net": as_brackets(RICH), "xml": RICH, "old": OLD.split("*")[0]}[
        form
    ].strip()
    ends = range(1, len(text), 7)
    for end in ends:
        assert error(tmp_path, text[:end]).startswith("FILE:")


def test_100_mb_of_elements_take_bounded_time(tmp_path):
    begun = time.process_time()
    deep = error(tmp_path, b'<export version="E">' + b"<a>" * 33_000_000)
    assert deep == "FILE:1: found elements nested deeper than 32"
    many = error(tmp_path, b'<export version="E">' + b"<a/>" * 25_000_000)
    assert many == "FILE:1: found more than 8000000 elements"
    assert time.process_time() - begun < 60


# The text form before KiCad 4 --------------------------------------------------

OLD = """\
# EESchema Netlist Version 1.1 created  15/6/2008-16:12:17
(
 ( /48553E7C/4639BE2C $noname  C8 100 nF {Lib=C}
  (    1 /sockets/VCC )
  (    2 GND )
 )
 ( 442A4C93 DB9FC J1 DB9
  ( 1 ? )
  ( 2 GND )
  ( A3 /sockets/VCC )
 )
)
*
{ Allowed footprints by component:
$endlist
}
"""


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
