"""EAGLE schematics and boards written by hand, and real ones against their boards."""

import math
import time

import pytest
from _oracles import (
    board_nodes,
    corpus_file,
    name_differences,
    partition_differences,
    unknown_pins,
)

from ohmtrail.importers import ParseError, load
from ohmtrail.netanalysis.board import Unused
from ohmtrail.netanalysis.join import join

HEAD = """<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE eagle SYSTEM "eagle.dtd">
<eagle version="9.6.0"><drawing>
"""
TAIL = "</drawing></eagle>\n"


def smd(*names):
    return "".join(
        f'<smd name="{n}" x="{i}" y="0" dx="1" dy="1" layer="1"/>'
        for i, n in enumerate(names)
    )


def pin(name, direction=""):
    direction = f' direction="{direction}"' if direction else ""
    return f'<pin name="{name}" x="0" y="0"{direction}/>'


def connect(gate, pin, pads):
    return f'<connect gate="{gate}" pin="{pin}" pad="{pads}"/>'


PACKAGES = f"""<packages>
<package name="R0603">{smd("1", "2")}</package>
<package name="SO14">{smd("1", "2", "3", "4", "7", "14")}</package>
<package name="SO8">{smd("1", "2", "3", "4", "EP")}<pad name="T" x="0" y="2"
 drill="1"/></package></packages>"""

LIBRARIES = f"""<libraries><library name="parts">{PACKAGES}
<symbols>
<symbol name="R">{pin("A", "pas")}{pin("B", "pas")}</symbol>
<symbol name="GATE">{pin("I", "in")}{pin("O", "out")}</symbol>
<symbol name="PWR">{pin("GND", "pwr")}{pin("VCC", "pwr")}</symbol>
<symbol name="FET">{pin("G")}{pin("D@1")}{pin("S")}</symbol>
<symbol name="GND">{pin("GND", "sup")}</symbol>
<symbol name="SIM">{pin("P", "pas")}</symbol>
</symbols>
<devicesets>
<deviceset name="R" prefix="R" uservalue="yes">
<description>&lt;b&gt;Resistor&lt;/b&gt;, thick film&lt;p&gt;Source: none</description>
<gates><gate name="G$1" symbol="R" x="0" y="0"/></gates>
<devices><device name="0603" package="R0603"><connects>
{connect("G$1", "A", "1")}{connect("G$1", "B", "2")}</connects>
<technologies><technology name=""><attribute name="RATED" value="0.1W"/>
<attribute name="EMPTY" value=""/></technology></technologies></device></devices>
</deviceset>
<deviceset name="74*04?" prefix="IC">
<gates><gate name="A" symbol="GATE" x="0" y="0"/><gate name="B" symbol="GATE" x="0"
 y="0"/><gate name="P" symbol="PWR" x="0" y="0" addlevel="request"/></gates>
<devices><device name="D" package="SO14"><connects>
{connect("A", "I", "1")}{connect("A", "O", "2")}{connect("B", "I", "3")}
{connect("B", "O", "4")}{connect("P", "GND", "7")}{connect("P", "VCC", "14")}
</connects><technologies><technology name=""/><technology name="LS"/></technologies>
</device></devices></deviceset>
<deviceset name="FET" prefix="Q">
<gates><gate name="G$1" symbol="FET" x="0" y="0"/></gates>
<devices><device name="-SO8" package="SO8"><connects>
{connect("G$1", "G", "4")}{connect("G$1", "S", "1 2 3")}{connect("G$1", "D@1", "EP")}
</connects><technologies><technology name=""/></technologies></device></devices>
</deviceset>
<deviceset name="GND" prefix="GND"><gates><gate name="1" symbol="GND" x="0" y="0"/>
</gates><devices><device name=""><technologies><technology name=""/></technologies>
</device></devices></deviceset>
<deviceset name="SIM" prefix="V"><gates><gate name="1" symbol="SIM" x="0" y="0"/>
</gates><devices><device name=""><technologies><technology name=""/></technologies>
</device></devices></deviceset>
</devicesets></library></libraries>
"""


def part(name, device_set, device="", inner="", **more):
    more = "".join(f' {key}="{value}"' for key, value in more.items())
    return (
        f'<part name="{name}" library="parts" deviceset="{device_set}" '
        f'device="{device}"{more}>{inner}</part>\n'
    )


def place(*gates):
    return (
        "<instances>"
        + "".join(
            f'<instance part="{p}" gate="{g}" x="0" y="0"/>'
            for p, g in (one.split(".") for one in gates)
        )
        + "</instances>"
    )


def net(name, *pins, ports=()):
    refs = "".join(
        '<pinref part="{}" gate="{}" pin="{}"/>'.format(*one.split(".")) for one in pins
    )
    refs += "".join(
        '<portref moduleinst="{}" port="{}"/>'.format(*one.split(".")) for one in ports
    )
    return f'<net name="{name}" class="0"><segment>{refs}</segment></net>\n'


def schematic(parts, sheets, modules="", variants=""):
    return (
        f"{HEAD}<schematic>\n{LIBRARIES}<variantdefs>{variants}</variantdefs>"
        f"<modules>{modules}</modules><parts>{parts}</parts>\n"
        f"<sheets>{sheets}</sheets></schematic>{TAIL}"
    )


def read(tmp_path, text, name="pump.sch"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return load(path)


def nets(board):
    return {n.name: sorted(p.key for p in n.pins) for n in board.nets}


# A schematic ------------------------------------------------------------------

PARTS = (
    part("R1", "R", "0603", '<attribute name="MPN" value="X1"/>', value="10k")
    + part("R2", "R", "0603")
    + part("IC1", "74*04?", "D", technology="LS")
    + part("Q1", "FET", "-SO8")
    + part("GND1", "GND")
    + part("V1", "SIM")
)
ONE = (
    "<sheet>"
    + place("R1.G$1", "IC1.A", "GND1.1", "V1.1")
    + "<nets>"
    + net("GND", "R1.G$1.B", "GND1.1.GND", "V1.1.P")
    + net("SIG", "R1.G$1.A", "IC1.A.I")
    + net("EMPTY")
    + "</nets></sheet>"
)
TWO = (
    "<sheet>"
    + place("R2.G$1", "Q1.G$1")
    + "<nets>"
    + net("GND", "Q1.G$1.S", "R2.G$1.B")
    + net("OUT", "IC1.A.O", "Q1.G$1.G", "R2.G$1.A")
    + "</nets></sheet>"
)


def test_pins_become_pads(tmp_path):
    board = read(tmp_path, schematic(PARTS, ONE + TWO))
    assert (board.name, board.format, board.version) == ("pump", "eagle", "9.6.0")
    assert board.sheets == ("/1/", "/2/")
    assert nets(board) == {
        # One net over both sheets; all pads of a pin; the hidden power pin.
        "GND": ["IC1.7", "Q1.1", "Q1.2", "Q1.3", "R1.2", "R2.2"],
        "SIG": ["IC1.1", "R1.1"],
        "OUT": ["IC1.2", "Q1.4", "R2.1"],
    }
    assert [p.ref for p in board.parts] == ["R1", "R2", "IC1", "Q1"]
    r1, r2, ic1, q1 = board.parts
    assert (r1.value, r1.library, r1.footprint) == ("10k", "parts:R", "parts:R0603")
    assert (r1.description, r1.sheet) == ("Resistor , thick film", "/1/")
    assert r1.fields == (("RATED", "0.1W"), ("MPN", "X1"))
    # Without a value of its own a part is called by its device; R asks for one.
    assert (r2.value, ic1.value, q1.value) == ("", "74LS04D", "FET-SO8")
    assert [(p.number, p.name, p.electrical, p.net) for p in q1.pins] == [
        ("1", "S", "", "GND"),
        ("2", "S", "", "GND"),
        ("3", "S", "", "GND"),
        ("4", "G", "", "OUT"),
        ("EP", "D", "", None),
        ("T", "", "", None),
    ]
    assert [(p.number, p.electrical) for p in ic1.pins if p.electrical != "input"] == [
        ("2", "output"),
        ("4", "output"),
        ("7", "power_in"),
        ("14", "power_in"),
    ]
    assert board.unused == (
        Unused("power pin not drawn, taken as on net GND", "IC1 GND"),
        Unused("power pin on no net", "IC1 VCC"),
        Unused("part without a package, so not on the board", "V1"),
        Unused("net without pads", "pump.sch"),
    )


def test_a_variant_says_what_is_fitted(tmp_path):
    parts = part(
        "R1",
        "R",
        "0603",
        '<variant name="A" populate="no"/><variant name="B" value="22k"/>',
        value="10k",
    )
    defs = '<variantdef name="A"{}/><variantdef name="B"{}/>'
    now = ' current="yes"'

    def r1(a, b):
        text = schematic(parts, "<sheet/>", "", defs.format(a, b))
        return read(tmp_path, text).parts[0]

    assert (r1("", "").fitted, r1("", "").value) == (True, "10k")
    assert (r1(now, "").fitted, r1(now, "").value) == (False, "10k")
    assert (r1("", now).fitted, r1("", now).value) == (True, "22k")


def test_two_libraries_of_one_name(tmp_path):
    other = LIBRARIES.replace('pad="1"', 'pad="9"').replace(
        'name="parts"', 'name="parts" urn="urn:x:library:1"'
    )
    both = LIBRARIES.replace("</libraries>", "") + other.replace("<libraries>", "")
    parts = part("R1", "R", "0603", library_urn="urn:x:library:1") + part(
        "R2", "R", "0603"
    )
    sheet = "<sheet><nets>" + net("A", "R1.G$1.A", "R2.G$1.A") + "</nets></sheet>"
    text = schematic(parts, sheet).replace(LIBRARIES, both)
    assert nets(read(tmp_path, text)) == {"A": ["R1.9", "R2.1"]}


# Modules ----------------------------------------------------------------------

MODULE = (
    '<module name="AMP" prefix="" dx="1" dy="1"><ports>'
    '<port name="IN" side="left" coord="0"/>'
    '<port name="D[0..1]" side="left" coord="1"/>'
    "</ports><parts>"
    + part("R1", "R", "0603", '<variant name="CHEAP" populate="no"/>', value="1k")
    + part("R2", "R", "0603", value="2k")
    + part("GND1", "GND")
    + "</parts><sheets><sheet><nets>"
    + net("IN", "R1.G$1.A")
    + net("N$1", "R1.G$1.B", "R2.G$1.A")
    + net("GND", "R2.G$1.B", "GND1.1.GND")
    + "</nets></sheet></sheets></module>"
)
TOP = (
    '<sheet><moduleinsts><moduleinst name="LEFT" module="AMP" x="0" y="0"/>'
    '<moduleinst name="RIGHT" module="AMP" offset="100" modulevariant="CHEAP" x="0"'
    ' y="0"/></moduleinsts><nets>'
    + net("AUDIO", "R1.G$1.A", ports=["LEFT.IN", "RIGHT.IN"])
    + net("GND", "R1.G$1.B")
    + "</nets></sheet>"
)


def test_modules_unfold(tmp_path):
    board = read(tmp_path, schematic(part("R1", "R", "0603"), TOP, MODULE))
    assert nets(board) == {
        "AUDIO": ["LEFT:R1.1", "R1.1", "R101.1"],
        # A supply symbol makes its net one through all modules.
        "GND": ["LEFT:R2.2", "R1.2", "R102.2"],
        "LEFT:N$1": ["LEFT:R1.2", "LEFT:R2.1"],
        "RIGHT:N$1": ["R101.2", "R102.1"],
    }
    assert board.net_by_name["AUDIO"].aliases == ("LEFT:IN", "RIGHT:IN")
    assert board.sheets == ("/", "/LEFT/", "/RIGHT/")
    assert [p.ref for p in board.parts if not p.fitted] == ["R101"]
    assert board.part_by_ref["R102"].sheet == "/RIGHT/"


def test_buses_through_ports(tmp_path):
    inner = net("D0", "R1.G$1.A") + net("D1", "R2.G$1.A")
    module = MODULE.replace(net("IN", "R1.G$1.A"), inner).replace(
        net("N$1", "R1.G$1.B", "R2.G$1.A"), ""
    )
    bus = (
        '<busses><bus name="DATA:X[7..6]"><segment>'
        '<portref moduleinst="LEFT" port="D[0..1]"/></segment></bus></busses>'
    )
    top = TOP.replace("<nets>", bus + "<nets>" + net("X6", "R1.G$1.A")).replace(
        net("AUDIO", "R1.G$1.A", ports=["LEFT.IN", "RIGHT.IN"]), ""
    )
    board = read(tmp_path, schematic(part("R1", "R", "0603"), top, module))
    assert nets(board)["X6"] == ["LEFT:R2.1", "R1.1"]
    assert nets(board)["X7"] == ["LEFT:R1.1"]


def test_modules_in_modules(tmp_path):
    wrap = (
        '<module name="STEREO" prefix="" dx="1" dy="1"><ports>'
        '<port name="A" side="left" coord="0"/></ports><parts/><sheets><sheet>'
        '<moduleinsts><moduleinst name="L" module="AMP" x="0" y="0"/></moduleinsts>'
        "<nets>" + net("A", ports=["L.IN"]) + "</nets></sheet></sheets></module>"
    )
    top = (
        '<sheet><moduleinsts><moduleinst name="HIFI" module="STEREO" x="0" y="0"/>'
        "</moduleinsts><nets>" + net("TUNER", ports=["HIFI.A"]) + "</nets></sheet>"
    )
    board = read(tmp_path, schematic("", top, MODULE + wrap))
    assert nets(board)["TUNER"] == ["HIFI:L:R1.1"]
    assert board.part_by_ref["HIFI:L:R2"].sheet == "/HIFI/L/"


# A board ----------------------------------------------------------------------

BOARD = f"""{HEAD}<board><plain/><libraries><library name="parts">{PACKAGES}</library>
</libraries><elements>
<element name="Q1" library="parts" package="SO8" value="FET" x="10" y="20" rot="MR90">
<attribute name="MPN" value="X"/><attribute name="OFF"/></element>
<element name="R1" library="parts" package="R0603" value="1k" x="-1" y="0"
 populate="no" rot="R180"/>
</elements><signals>
<signal name="A"><contactref element="Q1" pad="1"/><contactref element="R1" pad="1"/>
<wire x1="0" y1="0" x2="1" y2="1" width="1" layer="1"/></signal>
<signal name="B"><contactref element="Q1" pad="T"/></signal><signal name="C"/>
</signals></board>{TAIL}"""


def test_a_board(tmp_path):
    board = read(tmp_path, BOARD, "pump.brd")
    assert (board.name, board.format, board.sheets) == ("pump", "eagle", ())
    assert nets(board) == {"A": ["Q1.1", "R1.1"], "B": ["Q1.T"]}
    q1, r1 = board.parts
    assert (q1.x_mm, q1.y_mm, q1.side, q1.fitted) == (10, -20, "bottom", True)
    assert (r1.x_mm, r1.y_mm, r1.side, r1.fitted) == (-1, 0, "top", False)
    assert q1.fields == (("MPN", "X"),)
    # Turned left by 90 degrees, then seen from behind; pads 1 mm apart, y down.
    where = {p.number: (p.x_mm, p.y_mm, p.side) for p in q1.pins}
    assert where["2"] == (10, -21, "bottom")
    assert where["T"] == (12, -20, "both")
    assert [(p.x_mm, p.y_mm, p.side) for p in r1.pins] == [
        (-1, 0, "top"),
        (-2, 0, "top"),
    ]
    assert board.unused == (
        Unused("net without pads", "pump.brd"),
        Unused("track, via or polygon: nets are those of the pads", "pump.brd"),
    )


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
    begun = time.process_time()
    found = error(tmp_path, schematic("", top, modules))
    assert found.partition(": ")[2] == "found more than 10000 uses of modules"
    assert time.process_time() - begun < 5


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


def test_20_mb_take_less_than_10_seconds(tmp_path):
    one = part("R{0}", "R", "0603")
    count = 96_000
    parts = "".join(one.format(n) for n in range(count))
    wires = "".join(
        net(f"N${n}", f"R{n}.G$1.A", f"R{(n * 7) % count}.G$1.B") for n in range(count)
    )
    text = schematic(parts, f"<sheet><nets>{wires}</nets></sheet>")
    assert len(text) > 20_000_000
    begun = time.process_time()
    board = read(tmp_path, text)
    assert time.process_time() - begun < 10
    assert len(board.parts) == count


# Real designs -----------------------------------------------------------------

REAL = {
    "moteus-r4-eagle": "hw/controller/controller",
    "bms-15s80-sc": "LibreSolar_BMS48V",
    "oresat-batteries-eagle": "eagle/oresat-batteries",
}


@pytest.mark.parametrize("name", REAL)
@pytest.mark.parametrize("suffix", [".sch", ".brd"])
def test_real_designs_equal_the_signals_of_their_board(name, suffix):
    board = load(corpus_file(f"boards/{name}/{REAL[name]}{suffix}"))
    oracle = corpus_file(f"nets/{name}/brd_nodes.tsv")
    assert partition_differences(board, oracle) == []
    assert name_differences(board, oracle) == []
    connected = {k: v for k, v in board_nodes(board).items() if v is not None}
    assert unknown_pins(connected, oracle) == ([], [])


@pytest.mark.parametrize("name", REAL)
def test_real_schematics_and_boards_are_one_design(name):
    sch = load(corpus_file(f"boards/{name}/{REAL[name]}.sch"))
    brd = load(corpus_file(f"boards/{name}/{REAL[name]}.brd"))
    both = join(sch, brd, "the board")
    doubts = set(both.unused) - set(sch.unused) - set(brd.unused)
    # A logo that only the board has; values and packages agree on every part.
    known = {"oresat-batteries-eagle": {"part that only the board has"}}
    assert {one.what for one in doubts} == known.get(name, set())
    assert all(p.footprint == brd.part_by_ref[p.ref].footprint for p in sch.parts)
    assert all(p.x_mm is not None for p in both.parts)


def test_tracks_end_on_the_pads_of_turned_and_mirrored_parts():
    """moteus' board has parts on the bottom at 0, 90, 180 and 270 degrees."""
    from lxml import etree

    path = corpus_file("boards/moteus-r4-eagle/hw/controller/controller.brd")
    board, tree = load(path), etree.parse(str(path))
    turned = {e.get("name"): e.get("rot", "R0") for e in tree.iter("element")}
    hits = {}
    for signal in tree.iter("signal"):
        ends = [
            (float(w.get("x" + n)), -float(w.get("y" + n)))
            for w in signal.iter("wire")
            for n in "12"
        ]
        for one in board.net_by_name[signal.get("name")].pins:
            near = any(math.dist((one.x_mm, one.y_mm), end) < 0.02 for end in ends)
            hits.setdefault(turned[one.ref], []).append(near)
    # Pads under copper areas have no track; all that have one must hit.
    assert all(hits["MR0"] + hits["MR180"] + hits["MR270"])
    assert sum(hits["R90"]) > 20
    assert sum(hits["R270"]) > 60
    assert sum(hits["MR90"]) == 4
