"""EAGLE schematics and boards written by hand, and real ones against their boards."""

import math

import pytest
from _eagle_drawn import (
    BOARD,
    LIBRARIES,
    MODULE,
    ONE,
    PARTS,
    TOP,
    TWO,
    net,
    nets,
    part,
    read,
    schematic,
)
from _oracles import (
    board_nodes,
    corpus_file,
    name_differences,
    partition_differences,
    unknown_pins,
)

from ohmtrail.importers import load
from ohmtrail.netanalysis.board import Unused
from ohmtrail.netanalysis.join import join

# A schematic ------------------------------------------------------------------


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


def test_a_board_in_a_variant(tmp_path):
    # eagle.dtd: <board> has variantdefs, an <element> (attribute*, variant*).
    text = BOARD.replace(
        "<elements>",
        """<variantdefs>
<variantdef name="A" current="yes"/><variantdef name="B"/></variantdefs><elements>""",
    )
    text = text.replace(
        '<attribute name="OFF"/>',
        '<attribute name="OFF"/><variant name="A" populate="no"/>'
        '<variant name="B" value="OTHER"/>',
    ).replace(
        'populate="no" rot="R180"/>',
        'populate="no" rot="R180"><variant name="A" value="2k2"/></element>',
    )
    q1, r1 = read(tmp_path, text, "pump.brd").parts
    assert (q1.fitted, q1.value) == (False, "FET")
    assert (r1.fitted, r1.value) == (True, "2k2")
    q1, r1 = read(tmp_path, text.replace(' current="yes"', ""), "pump.brd").parts
    assert (q1.fitted, q1.value, r1.fitted, r1.value) == (True, "FET", False, "1k")


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
