"""IPC-2581: small files written by hand, and boards that KiCad exported."""

import math
import re
import subprocess

import pytest
from _operations import operations
from _oracles import (
    board_nodes,
    corpus_file,
    name_differences,
    partition_differences,
    program,
    unknown_pins,
)

from ohmtrail.importers import ParseError, load
from ohmtrail.netanalysis.board import Unused

BOM = """<Bom name="bom">
<BomItem OEMDesignNumberRef="NFET-30V" quantity="2" pinCount="2" category="ELECTRICAL"
 description="switch">
<RefDes name="Q1" packageRef="SO8" populate="true" layerRef="TOP"/>
<RefDes name="Q2" packageRef="SO8" populate="false" layerRef="TOP"/>
<Characteristics category="ELECTRICAL">
<Textual definitionSource="X" textualCharacteristicName="Value"
 textualCharacteristicValue="NF30"/>
<Textual definitionSource="X" textualCharacteristicName="Maker"
 textualCharacteristicValue="Nobody"/>
<Measured definitionSource="X" measuredCharacteristicName="Ron"
 measuredCharacteristicValue="4" engineeringUnitOfMeasure="MOHM"/>
</Characteristics></BomItem>
<BomItem OEMDesignNumberRef="TP" quantity="1" category="DOCUMENT">
<RefDes name="TP1" packageRef="PAD" populate="false" layerRef="BOTTOM"/></BomItem>
</Bom>
"""
LAYERS = """<Layer name="TOP" layerFunction="CONDUCTOR" side="TOP"/>
<Layer name="MID" layerFunction="PLANE" side="INTERNAL"/>
<Layer name="BOTTOM" layerFunction="SIGNAL" side="BOTTOM"/>
<Layer name="PASTE" layerFunction="SOLDERPASTE" side="TOP"/>
"""
PACKAGES = """<Package name="SO8"><Pin number="G" type="SURFACE"><Location x="2" y="0"/>
</Pin><Pin number="D" name="DRAIN" type="THRU"><Location x="0" y="1"/></Pin></Package>
<Package name="PAD"><Pin number="1" type="SURFACE"/></Package>
"""
COMPONENTS = """<Component refDes="Q1" packageRef="SO8" part="NFET" layerRef="TOP">
<Location x="10" y="20"/></Component>
<Component refDes="Q2" packageRef="SO8" part="NFET" layerRef="BOTTOM">
<Xform rotation="90" mirror="true"/><Location x="30" y="20"/></Component>
<Component refDes="TP1" packageRef="PAD" part="TP" layerRef="BOTTOM"/>
"""
NETS = """<LogicalNet name="SW"><PinRef componentRef="Q1" pin="D"/>
<PinRef componentRef="Q2" pin="D"/></LogicalNet>
<LogicalNet name="G1"><PinRef componentRef="Q1" pin="G"/>
<PinRef componentRef="TP1" pin="1"/></LogicalNet>
<LogicalNet name="IDLE"/>
"""


def document(inner, *, revision="C", units="MILLIMETER", bom=BOM, layers=LAYERS,
             outside=""):  # fmt: skip
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<IPC-2581 revision="{revision}" xmlns="http://webstds.ipc.org/2581">\n'
        f'<Content roleRef="Owner"><StepRef name="pump"/></Content>\n{bom}'
        f'<Ecad name="e"><CadHeader units="{units}"/><CadData>\n{layers}'
        f'<Step name="pump">{inner}</Step>{outside}</CadData></Ecad></IPC-2581>\n'
    )


def read(tmp_path, text):
    path = tmp_path / "pump.xml"
    path.write_text(text, encoding="utf-8")
    return load(path)


def nets(board):
    return {n.name: [p.key for p in n.pins] for n in board.nets}


WHOLE = PACKAGES + COMPONENTS + NETS


@pytest.mark.parametrize("revision", ["A", "B", "B1", "C"])
def test_logical_nets_and_the_parts_list(tmp_path, revision):
    board = read(tmp_path, document(WHOLE, revision=revision))
    assert (board.name, board.format, board.version) == ("pump", "ipc_2581", revision)
    assert nets(board) == {"SW": ["Q1.D", "Q2.D"], "G1": ["Q1.G", "TP1.1"]}
    q1, q2, tp1 = board.parts
    assert (q1.value, q1.description, q1.footprint) == ("NF30", "switch", "SO8")
    assert q1.fields == (
        ("Maker", "Nobody"),
        ("Ron", "4 MOHM"),
        ("OEMDesignNumber", "NFET-30V"),
    )
    assert (q1.fitted, q2.fitted, tp1.fitted) == (True, False, True)
    assert (q1.side, q2.side, tp1.value) == ("top", "bottom", "TP")
    assert (q1.x_mm, q1.y_mm, tp1.x_mm) == (10, -20, None)
    assert [p.name for p in q1.pins] == ["", "DRAIN"]
    assert board.unused == (
        Unused("part left out of the list, taken as fitted", "TP1"),
        Unused("net without pins", "pump.xml"),
    )


def test_positions_of_pins_from_the_package(tmp_path):
    q1, q2, tp1 = read(tmp_path, document(WHOLE)).parts
    assert [(p.x_mm, p.y_mm, p.side) for p in q1.pins] == [
        (12, -20, "top"),
        (10, -21, "both"),
    ]
    # Programs differ in how they mirror, so a mirrored package places nothing.
    assert [(p.x_mm, p.side) for p in q2.pins] == [(None, "bottom"), (None, "both")]
    assert (tp1.pins[0].x_mm, tp1.pins[0].side) == (None, "bottom")


@pytest.mark.parametrize(
    ("units", "mm"), [("MILLIMETER", 10), ("MICRON", 0.01), ("INCH", 254)]
)
def test_units(tmp_path, units, mm):
    assert read(tmp_path, document(WHOLE, units=units)).parts[0].x_mm == mm


PADS = """<LayerFeature layerRef="TOP"><Set net="SW"><Pad><Location x="1" y="2"/>
<PinRef componentRef="Q1" pin="D"/></Pad></Set><Set><Pad><Location x="3" y="4"/>
<PinRef componentRef="Q1" pin="G"/></Pad></Set><Set net="G2"><Pad>
<PinRef componentRef="Q2" pin="G"/></Pad></Set></LayerFeature>
<LayerFeature layerRef="PASTE"><Set net="OTHER"><Pad><Location x="9" y="9"/>
<PinRef componentRef="Q1" pin="D"/></Pad></Set></LayerFeature>
<LayerFeature layerRef="BOTTOM"><Set net="SW"><Pad><Location x="9" y="9"/>
<PinRef componentRef="Q1" pin="D"/></Pad></Set></LayerFeature>
<LayerFeature layerRef="MID"><Set net="SW"><Pad><Location x="9" y="9"/>
<PinRef componentRef="X9" pin="1"/></Pad></Set></LayerFeature>
"""


def test_pads_give_the_nets_where_no_logical_net_does(tmp_path):
    board = read(tmp_path, document(PACKAGES + COMPONENTS + PADS))
    assert nets(board) == {"SW": ["Q1.D", "X9.1"], "G2": ["Q2.G"]}
    gate, drain = board.parts[0].pins
    assert (gate.net, gate.x_mm, gate.y_mm, gate.side) == (None, 3, -4, "top")
    assert (drain.x_mm, drain.y_mm, drain.side) == (1, -2, "both")
    assert Unused("part in the nets that is no component", "X9") in board.unused


def test_pads_that_contradict_a_logical_net_are_counted(tmp_path):
    board = read(tmp_path, document(WHOLE + PADS.replace('"SW"', '"HMM"')))
    assert nets(board)["SW"] == ["Q1.D", "Q2.D"]
    assert Unused("pad on net HMM, taken as on SW", "Q1.D", 2) in board.unused


def test_what_layers_draw_besides_pads_is_counted(tmp_path):
    # IPC-2581C, LayerFeature: a Set holds Pad, Hole, SlotCavity, Features and more.
    drawn = """<LayerFeature layerRef="TOP"><Set net="SW"><Features><UserSpecial/>
</Features><Features/></Set><Set net="SW" padUsage="VIA"><Pad><Location x="1" y="1"/>
</Pad></Set><Set><ColorRef id="x"/></Set></LayerFeature><LayerFeature layerRef="DRILL">
<Set net="SW"><Hole name="H1"/><SlotCavity name="S1"/></Set></LayerFeature>"""
    board = read(tmp_path, document(WHOLE + drawn + PADS.replace('"G2"', '"SW"')))
    copper = "track, via or plane: nets are those of the pins"
    other = "drawing, hole or opening on a layer that is no copper"
    assert Unused(copper, "pump.xml", 3) in board.unused
    # Two drills, and the opening for paste.
    assert Unused(other, "pump.xml", 3) in board.unused


def test_nets_outside_the_step_and_namespace_prefixes(tmp_path):
    text = document(PACKAGES + COMPONENTS, outside=NETS)
    text = re.sub(r"<(/?)(?=[A-Z])", r"<\1i:", text).replace("xmlns=", "xmlns:i=")
    assert nets(read(tmp_path, text))["SW"] == ["Q1.D", "Q2.D"]


def test_another_step_is_counted(tmp_path):
    panel = (
        '<Step name="coupon"><Component refDes="R1" packageRef="PAD"/>'
        '<LogicalNet name="C"><PinRef componentRef="R1" pin="1"/></LogicalNet></Step>'
    )
    text = document(WHOLE).replace('<Step name="pump">', panel + '<Step name="pump">')
    board = read(tmp_path, text)
    assert "R1" not in board.part_by_ref
    assert Unused("component of a further step", "coupon") in board.unused


# Bad files --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("MILLIMETER", "FURLONG", "found units='FURLONG', expected MILLIMETER, "
         "MICRON, INCH, MIL"),
        ('<PinRef componentRef="TP1" pin="1"/>', '<PinRef componentRef="Q1" pin="D"/>',
         "found pin Q1.D in net 'G1', but it is in net 'SW'"),
        ('refDes="Q2"', 'refDes="Q1"', "found component Q1 again"),
        ('refDes="Q2"', "", "found <Component> without refDes="),
        ('x="30"', 'x="3O"', "found x='3O', expected a number"),
        ("Component", "Thing", "found no <Step> with components, expected one"),
        ('<CadHeader units="MILLIMETER"/>', "", "found no <CadHeader> in <Ecad>, "
         "expected one"),
        ("<Content", "<!DOCTYPE a><Content", None),
        ("<?xml version=\"1.0\" encoding=\"UTF-8\"?>", "<!DOCTYPE IPC-2581 SYSTEM "
         "\"x.dtd\">", "found a DOCTYPE, expected none"),
        ('name="SW"', 'name="&sw;"', None),
    ],
)  # fmt: skip
def test_one_line_says_what_is_wrong(tmp_path, old, new, message):
    text = document(WHOLE)
    assert old in text
    with pytest.raises(ParseError) as caught:
        read(tmp_path, text.replace(old, new))
    found = str(caught.value)
    assert "\n" not in found
    where, _, words = found.partition(": ")
    assert words == message or (message is None and "no well-formed XML" in words)
    assert int(where.rpartition(":")[2]) <= text.count("\n")


def test_every_truncation_is_one_line(tmp_path):
    text = document(WHOLE).rstrip()
    for end in range(text.index("<Content"), len(text), 37):
        with pytest.raises(ParseError):
            read(tmp_path, text[:end])


def test_work_grows_with_size_only(tmp_path):
    assert _work(tmp_path, 1600) < 5 * _work(tmp_path, 400)


def _work(tmp_path, count):
    parts = "".join(
        f'<Component refDes="R{n}" packageRef="SO8" part="X" layerRef="TOP"/>\n'
        for n in range(count)
    )
    wires = "".join(
        f'<LogicalNet name="N{n}"><PinRef componentRef="R{n}" pin="G"/>'
        f'<PinRef componentRef="R{n * 7 % count}" pin="D"/></LogicalNet>\n'
        for n in range(count)
    )
    text = document(PACKAGES + parts + wires)
    text = text.replace("</Step>", "<Polygon/>" * count + "</Step>")

    def run():
        assert read(tmp_path, text).pin_count == 2 * count

    return operations(run)


# Boards that KiCad exported ----------------------------------------------------

LAYOUTS = {
    "mjpower-ss": "boards/mjpower-ss/hw/mjpower-ss/mjpower_ss.kicad_pcb",
    "bms-c1": "boards/bms-c1/kicad/bms-c1.kicad_pcb",
    "mppt-2420-hc": "boards/mppt-2420-hc/kicad/mppt-2420-hc.kicad_pcb",
}
#: Pads whose numbers KiCad changes in the file ("S1" to "S1_1", "~" to "_").
RENUMBERED = {"bms-c1": {"J3"}, "mppt-2420-hc": {"FID1", "FID2", "FID3"}}


def exported(tmp_path, name, revision):
    if (name, revision) == ("mjpower-ss", "C"):
        return corpus_file("formats/ipc2581/mjpower_ss.ipc2581.xml")
    out = tmp_path / "out.xml"
    subprocess.run(
        [program("kicad-cli"), "pcb", "export", "ipc2581", "--version", revision,
         "-o", out, corpus_file(LAYOUTS[name])],
        capture_output=True,
        check=False,
    )  # fmt: skip
    assert out.exists(), "kicad-cli wrote no IPC-2581"
    return out


@pytest.mark.parametrize("revision", ["B", "C"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_exports_equal_their_layout(tmp_path, name, revision):
    board = load(exported(tmp_path, name, revision))
    layout = load(corpus_file(LAYOUTS[name]))
    assert board.version == revision
    theirs = board_nodes(layout)
    assert partition_differences(board, theirs) == []
    here, there = unknown_pins(board, theirs)
    odd = RENUMBERED.get(name, set())
    assert {r for r, _ in here if not r.startswith("REF_")} - odd - {
        "REF**_1", "REF**_2", "REF**_3"} == set()  # fmt: skip
    assert {r for r, _ in there if r != "REF**"} - odd == set()
    if revision == "C":  # revision B has other letters than A-Z replaced
        plain = {tuple(x.replace("~{RESET}", "~RESET").split(" here, "))
                 for x in name_differences(board, theirs)}  # fmt: skip
        assert {one for one in plain if f"{one[0]} there" != one[1]} <= {
            ("GND_2", "GND there")  # KiCad keeps names of different things apart
        }
    for part in board.parts:
        other = layout.part_by_ref.get(part.ref)
        if other is None or part.ref == "REF**":
            continue
        assert (part.fitted, part.side) == (other.fitted, other.side)
        assert part.value == other.value
        assert math.dist((part.x_mm, part.y_mm), (other.x_mm, other.y_mm)) < 0.001
        for pin in part.pins:
            pad = other.pin(pin.number)
            if pad is not None:
                assert pin.side == pad.side
                assert math.dist((pin.x_mm, pin.y_mm), (pad.x_mm, pad.y_mm)) < 0.001


@pytest.mark.parametrize("name", ["bms-c1", "mppt-2420-hc"])
def test_pins_placed_by_their_package_are_where_the_pads_are(tmp_path, name):
    """The same file with its pads forgotten: only the turning is left."""
    path = exported(tmp_path, name, "C")
    whole = load(path)
    text = path.read_text(encoding="utf-8")
    nets = "".join(
        f'<LogicalNet name="{n}"><PinRef componentRef="{p.ref}" pin="{p.number}"/>'
        "</LogicalNet>"
        for n, p in enumerate(p for part in whole.parts for p in part.pins)
    )
    text = re.sub(r"<LayerFeature.*</LayerFeature>", nets, text, flags=re.DOTALL)
    bare = read(tmp_path, text)
    wrong, count = [], 0
    for part in whole.parts:
        for pin in part.pins:
            other = bare.part_by_ref[part.ref].pin(pin.number)
            if other.x_mm is None:
                continue
            count += 1
            if math.dist((pin.x_mm, pin.y_mm), (other.x_mm, other.y_mm)) > 0.01:
                wrong.append((pin, other))
    assert wrong == []
    assert count > 400
