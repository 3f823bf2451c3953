"""EAGLE, IPC-D-356, IPC-2581 from strangers: a board or one line, and in time."""

import random
import re

import pytest

from ohmtrail.importers import ImporterError, load

EAGLE = """<?xml version="1.0"?>
<!DOCTYPE eagle SYSTEM "eagle.dtd">
<eagle version="9.0"><drawing><schematic><libraries><library name="l"><packages>
<package name="P"><smd name="1" x="0" y="0" dx="1" dy="1" layer="1"/><pad name="2" x="1"
 y="0" drill="1"/></package></packages><symbols><symbol name="S"><pin name="A" x="0"
 y="0"/><pin name="B@1" x="0" y="0" direction="pwr"/></symbol></symbols><devicesets>
<deviceset name="D*?"><description>{}</description><gates><gate name="G" symbol="S"
 x="0" y="0"/></gates><devices><device name="X" package="P"><connects><connect gate="G"
 pin="A" pad="1"/><connect gate="G" pin="B@1" pad="2"/></connects><technologies>
<technology name=""><attribute name="V" value="1"/></technology></technologies></device>
</devices></deviceset></devicesets></library></libraries>
<modules>{}<module name="M" prefix="" dx="1" dy="1"><ports><port name="B[0..1]"
 side="left" coord="0"/></ports><parts><part name="R1" library="l" deviceset="D*?"
 device="X"/></parts><sheets><sheet><nets><net name="B0"><segment><pinref part="R1"
 gate="G" pin="A"/></segment></net></nets></sheet></sheets></module></modules>
<parts><part name="R1" library="l" deviceset="D*?" device="X" value="1"><variant
 name="V" populate="no"/></part></parts><sheets><sheet><moduleinsts><moduleinst name="I"
 module="M" offset="100" x="0" y="0"/></moduleinsts><busses><bus name="B[0..1]">
<segment><portref moduleinst="I" port="B[0..1]"/></segment></bus></busses><nets>
<net name="B0"><segment><pinref part="R1" gate="G" pin="A"/></segment></net></nets>
</sheet></sheets></schematic></drawing></eagle>
"""
IPC_D356 = """P  JOB   x
P  UNITS CUST 0
P  NNAMEm1 LONG
327m1               R1    -1          A01X+010000Y+020000X0512Y0591R180 S1
317GND              R1    -2    D0350PA00X+010000Y+020000X0512Y0591R180 S1
327GND              CONNEC-SHIE       A02X+010000Y+020000X0512Y0591R180 S1
327A                CONNEC-SHIE       A02X+010000Y+020000X0512Y0591R180 S1
327A                COMMUNICATION-1-1          A02X+010000Y+020000X0512Y0591R180 S1
999
"""
IPC_2581 = """<?xml version="1.0"?>
<IPC-2581 revision="C" xmlns="http://webstds.ipc.org/2581"><Content><StepRef name="s"/>
{}</Content><Bom name="b"><BomItem OEMDesignNumberRef="N" category="DOCUMENT"><RefDes
 name="Q1" populate="false"/></BomItem></Bom><Ecad><CadHeader units="INCH"/><CadData>
<Layer name="T" layerFunction="CONDUCTOR" side="TOP"/><Step name="s"><Package name="P">
<Pin number="1" type="THRU"><Location x="1" y="2"/></Pin></Package><Component
 refDes="Q1" packageRef="P" layerRef="T"><Xform rotation="90"/><Location x="1" y="2"/>
</Component><LogicalNet name="N"><PinRef componentRef="Q1" pin="1"/></LogicalNet>
<LayerFeature layerRef="T"><Set net="N"><Pad><Location x="0" y="0"/><PinRef
 componentRef="Q1" pin="1"/></Pad></Set></LayerFeature></Step></CadData></Ecad>
</IPC-2581>
"""
SEEDS = {
    "eagle": EAGLE.replace("{}", ""),
    "ipc_d356": IPC_D356,
    "ipc_2581": IPC_2581.replace("{}", ""),
}
BITS = (
    b'"', b"<", b">", b"&", b"/", b"\0", b"\xff", b"-", b"999", b"nan", b"1e999", b" ",
    b"\n", b"=", b"]]>", b"<!--", b"<![CDATA[", b"&#0;", b"NNAME", b"IMAGE", b"9" * 30,
)  # fmt: skip


def mutated(seed, chance):
    data = bytearray(seed)
    for _ in range(chance.choice((1, 1, 2, 4, 16))):
        at = chance.randrange(len(data))
        to = min(len(data), at + chance.choice((1, 2, 8, 40, 200)))
        act = chance.randrange(5)
        if act == 0:
            data[at] = chance.randrange(256)
        elif act == 1:
            del data[at:to]
        elif act == 2:
            data[at:at] = data[at:to]
        elif act == 3:
            data[at:at] = chance.choice(BITS)
        else:  # what stands in one place, in another
            spans = [m.span() for m in re.finditer(rb'[^\s"<>]+', bytes(data))]
            if spans:
                (a, b), (c, d) = chance.choice(spans), chance.choice(spans)
                data[a:b] = data[c:d]
        data = data or bytearray(b"x")
    return bytes(data)


def outcome(path, name):
    """The error in words, "" for a board."""
    try:
        load(path, format=name)
    except ImporterError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("name", SEEDS)
def test_mutations_end_in_a_board_or_one_line(tmp_path, name):
    chance, ends = random.Random(356), {True: 0, False: 0}
    path = tmp_path / "x"
    for _ in range(600):
        path.write_bytes(mutated(SEEDS[name].encode(), chance))
        message = outcome(path, name)
        ends[not message] += 1
        assert "\n" not in message
    assert min(ends.values()) > 20


MB = 1_000_000
RECORD = "327{:14}   {:6}-{:4}       A01X+010000Y+020000X0512Y0591R180 S1"


def records(names):
    lines = "\n".join(RECORD.format(*name) for name in names)
    return IPC_D356.replace("999\n", lines + "\n999\n")


def modules(count):
    """A chain of modules, each in the one before."""
    return "".join(
        f'<module name="M{n}"><sheets><sheet><moduleinsts><moduleinst name="I" '
        f'module="M{n + 1}" x="0" y="0"/></moduleinsts></sheet></sheets></module>'
        for n in range(count)
    )


HOSTILE = {
    "deep": ("eagle", lambda: EAGLE.replace("{}", "<a>" * (6 * MB))),
    "elements": ("eagle", lambda: EAGLE.replace("{}", "<a/>" * (5 * MB))),
    "text": ("eagle", lambda: EAGLE.replace("{}", "x" * (20 * MB))),
    "attributes": (
        "eagle",
        lambda: EAGLE.replace(
            "{}", "<a " + " ".join(f'a{n}=""' for n in range(MB)) + "/>", 1
        ).replace("{}", ""),
    ),
    "blanks in descriptions": (
        "eagle",
        lambda: EAGLE.replace("{}", "", 1).replace(
            "<devicesets>",
            "<devicesets>"
            + ("<deviceset name='x'><description>&lt;" + " " * 4000 + "</description>"
               "</deviceset>") * 4900,
        ).replace("{}", ""),
    ),
    "modules in modules": (
        "eagle",
        lambda: EAGLE.replace("{}", "", 1)
        .replace("{}", modules(60_000) + '<module name="M60000"/>')
        .replace('module="M"', 'module="M0"'),
    ),
    "blanks in an alias": (
        "ipc_d356",
        lambda: IPC_D356.replace("m1 LONG", "m1 A" + " " * (20 * MB) + "B"),
    ),
    "one pin on many nets": (
        "ipc_d356",
        lambda: records((f"N{n}", "R1", "SHIE") for n in range(100_000)),
    ),
    "one part on many nets": (
        "ipc_d356",
        lambda: records((f"N{n}", "CONNEC", "1") for n in range(100_000)),
    ),
    "steps": (
        "ipc_2581",
        lambda: IPC_2581.replace(
            "{}", "".join(f'<StepRef name="s{n}"/>' for n in range(150_000))
        ).replace(
            "</CadData>",
            "".join(f'<Step name="s{n}"><Component/></Step>' for n in range(150_000))
            + "</CadData>",
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", HOSTILE)
def test_hostile_files_end_in_a_board_or_one_line(tmp_path, case):
    name, make = HOSTILE[case]
    path = tmp_path / "x"
    path.write_text(make())
    message = outcome(path, name)
    assert "\n" not in message
    assert len(message) < 400
