"""Small EAGLE files for the tests, drawn piece by piece."""

from ohmtrail.importers import load

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
