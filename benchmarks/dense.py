"""The densest files of every format: each must end within 10 s and 1 GB.

Usage: python benchmarks/dense.py [--megabytes N] [FORMAT ...]

Each case repeats one short record until the file has N megabytes (default 20).
Reads each in a process of its own and prints CPU time, peak memory of the process
and how it ended; status 1 if any took longer than 10 s or more than 1 GB.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIMIT_S = 10
LIMIT_BYTES = 1_000_000_000
#: A reading is ended then.
GIVE_UP_S = 60

_SCH = ('(kicad_sch (version 20231120) (uuid "r") (lib_symbols)\n', ")\n")
_PCB = ("(kicad_pcb (version 20240108)\n", ")\n")
_NET = ('(export (version "E") (components\n', ") (nets))\n")
_NODES = ('(export (version "E") (components (comp (ref R1))) (nets\n', "))\n")
_XML = (
    '<?xml version="1.0"?>\n<export version="E"><components/><nets>\n',
    "</nets></export>\n",
)
_SCR = ("EESchema Schematic File Version 4\nEELAYER END\n", "$EndSCHEMATC\n")
_EAGLE = (
    '<?xml version="1.0"?>\n<!DOCTYPE eagle SYSTEM "eagle.dtd">\n<eagle version="9">'
    "<drawing><schematic><sheets><sheet><nets>\n",
    "</nets></sheet></sheets></schematic></drawing></eagle>\n",
)
_BRD = (
    '<?xml version="1.0"?>\n<!DOCTYPE eagle SYSTEM "eagle.dtd">\n<eagle version="9">'
    '<drawing><board><libraries><library name="l"><packages><package name="p">'
    '<smd name="1" x="0" y="0" dx="1" dy="1" layer="1"/></package></packages>'
    "</library></libraries><elements>\n",
    "</elements></board></drawing></eagle>\n",
)
_IPC = (
    '<?xml version="1.0"?>\n<IPC-2581 revision="C"><Content/><Ecad name="e">'
    '<CadHeader units="MILLIMETER"/><CadData><Step name="s"><Component refDes="R1"/>\n',
    "</Step></CadData></Ecad></IPC-2581>\n",
)
_EDIF = (
    "(edif m (edifVersion 2 0 0) (edifLevel 0) (keywordMap (keywordLevel 0))\n"
    "(library p (edifLevel 0) (technology (numberDefinition))\n"
    "(cell T (cellType GENERIC) (view n (viewType NETLIST)"
    "(interface (port a (direction INOUT))))))\n"
    "(library w (edifLevel 0) (technology (numberDefinition))\n"
    "(cell t (cellType GENERIC) (view n (viewType NETLIST) (interface) (contents\n",
    "))))\n(design d (cellRef t (libraryRef w))))\n",
)
_LEPTON = ("v 20201216 2\n", "")
_XSCHEM = ("v {xschem version=3.4.4 file_version=1.2\n}\n", "")
_D356 = ("P  CODE 00\nP  UNITS CUST 0\n", "999\n")
_PADS = ("!PADS-POWERPCB-V3.0-MILS!\n*PART*\n", "*END*\n")
_SIGNALS = ("!PADS-POWERPCB-V3.0-MILS!\n*PART*\nR1 P\n*NET*\n", "*END*\n")
_TEDAX = ("tEDAx v1\nbegin netlist v1 n\n", "end netlist\n")
_LAND = "X+000000Y+000000X0000Y0000R000S0"

_MANY = range(2, 1000)
_SMDS = "".join(f'<smd name="{n}" x="0" y="0" dx="1" dy="1" layer="1"/>' for n in _MANY)
_PINS = "".join(f'<Pin number="{n}"/>' for n in _MANY)
_DRAWN = "".join(
    f'(pin passive line (at 0 {n} 0) (length 1) (name "") (number "{n}"))'
    for n in _MANY
)
_LISTED = "".join(f"(pin (num {n}))" for n in _MANY)

#: Format -> case -> (head, tail), record; "@" in a record is its number.
CASES: dict[str, dict[str, tuple[tuple[str, str], str]]] = {
    "kicad_schematic": {
        "empty lists": (_SCH, "()"),
        "short lists": (_SCH, "(a b)"),
        "nested lists": (_SCH, "(a(b))"),
        "wires": (_SCH, "(wire(pts(xy @ 0)(xy @ 1)))"),
        "crossing wires": (_SCH, "(wire(pts(xy @ 0)(xy 0 @)))"),
        "one long row of wires": (_SCH, "(wire(pts(xy 0 0)(xy @ 0)))"),
        "junctions": (_SCH, "(junction(at @ 0))"),
        "labels": (_SCH, '(label "a"(at @ 0 0))'),
        "sheets": (_SCH, "(sheet(at 0 0)(size 1 1))"),
        "symbols": (_SCH, '(symbol(lib_id "a")(at @ 0 0))'),
        "strings": (_SCH, '"a"'),
        "symbols of many pins": (
            (f'{_SCH[0][:-2]}(symbol "a" (symbol "a_1_1" {_DRAWN})))\n', _SCH[1]),
            '(symbol(lib_id "a")(at @ 0 0))',
        ),
    },
    "kicad_legacy": {
        "wires": (_SCR, "Wire Wire Line\n@ 0 @ 1\n"),
        "junctions": (_SCR, "Connection ~ @ 0\n"),
        "labels": (_SCR, "Text Label @ 0 0 60 ~ 0\na\n"),
        "parts": (_SCR, "$Comp\nL R R@\nU 1 1 0\nP @ 0\n$EndComp\n"),
        "blank lines": (_SCR, "\n"),
    },
    "kicad_netlist": {
        "empty lists": (_NET, "()"),
        "short lists": (_NET, "(a b)"),
        "parts": (_NET, "(comp(ref R@))"),
        "nets": (_NODES, "(net(name N@))"),
        "nodes": (_NODES, "(net(name N@)(node(ref R1)(pin @)))"),
        "nodes of unknown parts": (_NODES, "(net(name N@)(node(ref R@)(pin 1)))"),
        "parts of many pins": (
            (
                '(export (version "E") (nets) (libparts (libpart (part p) (pins '
                f"{_LISTED}))) (components\n",
                "))\n",
            ),
            "(comp(ref R@)(libsource(part p)))",
        ),
        "elements": (_XML, "<a/>"),
        "XML nodes": (_XML, '<net name="@"><node ref="R1" pin="@"/></net>'),
    },
    "kicad_layout": {
        "empty lists": (_PCB, "()"),
        "short lists": (_PCB, "(a b)"),
        "nets": (_PCB, '(net @ "@")'),
        "footprints": (_PCB, '(footprint ""(at 0 0)(pad "1" smd rect(at 0 0)))'),
        "footprints, named": (
            _PCB,
            '(footprint ""(at 0 0)(property "Reference" "R@")'
            '(pad "1" smd rect(at 0 0)))',
        ),
        "pads": (
            (_PCB[0] + '(footprint ""(at 0 0)(property "Reference" "R1")\n', "))\n"),
            '(pad "@" smd rect(at 0 0)(net "@"))',
        ),
        "segments": (_PCB, "(segment)"),
    },
    "eagle": {
        "elements": (_EAGLE, "<a/>"),
        "nets": (_EAGLE, '<net name="@"/>'),
        "attributes": (_EAGLE, '<net name="@" a="" b="" c="" d="" e="" f=""/>'),
        "board elements": (
            _BRD,
            '<element name="@" library="l" package="p" x="0" y="0"/>',
        ),
        "elements of many pads": (
            (_BRD[0].replace('<smd name="1"', _SMDS + '<smd name="1"'), _BRD[1]),
            '<element name="@" library="l" package="p" x="0" y="0"/>',
        ),
    },
    "lepton": {
        "wires": (_LEPTON, "N @ 0 @ 9 4\n"),
        "one long row of wires": (_LEPTON, "N 0 0 @ 0 4\n"),
        "crossing wires": (_LEPTON, "N @ 0 0 @ 4\n"),
        "parts": (_LEPTON, "C @ 0 1 0 0 a.sym\n"),
        "texts": (_LEPTON, "T 0 0 1 1 1 1 0 0 1\na=b\n"),
        "embedded parts": (_LEPTON, "C @ 0 1 0 0 EMBEDDEDa.sym\n[\n]\n"),
        "blank lines": (_LEPTON, "\n"),
    },
    "xschem": {
        "wires": (_XSCHEM, "N @ 0 @ 9 {}\n"),
        "one long row of wires": (_XSCHEM, "N 0 0 @ 0 {}\n"),
        "named wires": (_XSCHEM, "N @ 0 @ 9 {lab=N@}\n"),
        "parts": (_XSCHEM, "C {a.sym} @ 0 0 0 {}\n"),
        "resistors": (_XSCHEM, "C {res.sym} @ 0 0 0 {name=R@}\n"),
        "buses": (_XSCHEM, "C {res.sym} @ 0 0 0 {name=R[9999:0]}\n"),
        "properties": (_XSCHEM, "N 0 0 0 9 {a=b c=d e=f g=h}\n"),
    },
    "ipc_d356": {
        "pads of one part": (
            _D356,
            "327A                 R1    -1          A01" + _LAND,
        ),
        "vias": (_D356, "317A                 VIA   -            A01X+000000Y+000000"),
        "pads, cut names": (
            _D356,
            "327NET@              R     -1          A01X+000000Y+000000",
        ),
        "names": (_D356, "P  NNAME@ N@\n"),
        "short records": (_D356, "378\n"),
        "blank lines": (_D356, "\n"),
    },
    "ipc_2581": {
        "elements": (_IPC, "<a/>"),
        "components": (_IPC, '<Component refDes="@"/>'),
        "nets": (_IPC, '<LogicalNet name="@"/>'),
        "pins": (
            (_IPC[0] + '<LogicalNet name="n">\n', "</LogicalNet>" + _IPC[1]),
            '<PinRef componentRef="R@" pin="1"/>',
        ),
        "packages": (_IPC, '<Package name="@"><Pin number="1"/></Package>'),
        "components of many pins": (
            (f'{_IPC[0]}<Package name="p">{_PINS}</Package>\n', _IPC[1]),
            '<Component refDes="@" packageRef="p"/>',
        ),
    },
    "pin_table": {
        "parts": (("ref,pin,net\n", ""), "@,1,\n"),
        "pins of one part": (("ref,pin,net\n", ""), "a,@,b\n"),
        "nets": (("ref,pin,net\n", ""), "@,1,@\n"),
        "the same row": (("ref,pin,net\n", ""), "a,1,\n"),
        "fields": (("ref,pin,net,x,y,z\n", ""), "a,1,,@,@,@\n"),
        "blank lines": (("ref,pin,net\n", "a,1,b\n"), "\n"),
        "columns": (("ref,pin,net", "\na,1,b\n"), ",c@"),
        "comments": (("ref,pin,net\n", "a,1,b\n"), "#\n"),
    },
    "edif": {
        "empty lists": (_EDIF, "()"),
        "short lists": (_EDIF, "(a b)"),
        "instances": (_EDIF, "(instance i@(viewRef n(cellRef T(libraryRef p))))"),
        "nets": (_EDIF, "(net n@(joined))"),
        "net of ports": (
            (_EDIF[0] + "(instance i(viewRef n(cellRef T(libraryRef p))))\n", _EDIF[1]),
            "(net n@(joined(portRef a(instanceRef i))))",
        ),
        "words": (_EDIF, "a "),
    },
    "spice": {
        "resistors": (("* t\n", ".end\n"), "R@ a b 1\n"),
        "resistors on many nodes": (("* t\n", ".end\n"), "R@ @ 0 1\n"),
        "sources": (("* t\n", ".end\n"), "V@ 1 0\n"),
        "calls of no subcircuit": (("* t\n", ".end\n"), "X@ 1 a\n"),
        "calls of many nodes": (("* t\n", ".end\n"), "X@" + " 1 2" * 40 + " a\n"),
        "calls": (("* t\n.subckt s a\nR1 a 0 1\n.ends\n", ".end\n"), "X@ 1 s\n"),
        "subcircuits": (("* t\n", ".end\n"), ".subckt @ a\n.ends\n"),
        "models": (("* t\n", ".end\n"), ".model @ d\n"),
        "parameters": (("* t\n", ".end\n"), ".param a@=1\n"),
        "parameters, each of the one before": (
            ("* t\n.param a=1\n", "R1 a 0 {a}\n.end\n"),
            ".param a@={a}\n",
        ),
        "includes": (("* t\n", ".end\n"), ".inc a@\n"),
        "commands": (("* t\n", ".end\n"), ".x@\n"),
        "parallel": (("* t\n", ".end\n"), "R@ a b 1 m=64\n"),
        "couplings": (("* t\n", ".end\n"), "K1\n"),
        "blank lines": (("* t\n", ".end\n"), "\n"),
        "continuations": (("* t\nR1 a b\n", ".end\n"), "+\n"),
    },
    "tedax": {
        "conn": (_TEDAX, " conn a R@ 1\n"),
        "nets": (_TEDAX, " conn N@ R1 @\n"),
        "values": (_TEDAX, " value R@ 1\n"),
        "pin names": (_TEDAX, " pinname R1 @ a\n"),
        "tags": (_TEDAX, " comptag R1 @ a\n"),
        "other blocks": (("tEDAx v1\n", ""), "begin a v1 b\nend a\n"),
        "blank lines": (_TEDAX, "\n"),
    },
    "tango": {
        "parts": (("", ""), "[\n@\n]\n"),
        "nets": (("[\nR1\n]\n", ""), "(\n@\n)\n"),
        "pins": (("[\nR1\n]\n(\nN\n", ")\n"), "R1-@\n"),
        "pins of unknown parts": (("(\nN\n", ")\n"), "@-1\n"),
        "blank lines": (("[\nR1\n", "]\n"), "\n"),
    },
    "pads_netlist": {
        "parts": (_PADS, "R@\n"),
        "nets": (_SIGNALS, "*SIGNAL* @\n"),
        "pins": ((_SIGNALS[0] + "*SIGNAL* a\n", _SIGNALS[1]), "R1.@ "),
        "pins a line": ((_SIGNALS[0] + "*SIGNAL* a\n", _SIGNALS[1]), "R@.1\n"),
        "sections": (_PADS, "*A@*\n"),
        "blank lines": (_PADS, "\n"),
    },
}


def write(case: tuple[tuple[str, str], str], size: int, path: Path) -> None:
    """Write a file of about ``size`` bytes."""
    (head, tail), record = case
    if record[:3] in ("327", "317"):
        record += "\n"
    left = size - len(head) - len(tail)
    number = 0
    with path.open("w", encoding="ascii") as file:
        file.write(head)
        while left > 0:
            text = record.replace("@", str(number))
            if text[:3] in ("327", "317"):  # in columns
                net, _, rest = text.partition(" ")
                text = f"{net:17.17}   {rest.lstrip()}"
            file.write(text)
            left -= len(text)
            number += 1
        file.write(tail)


def read(format: str, path: Path) -> None:
    """Read in this process; print CPU time (s) and how it ended."""
    from ohmtrail.importers._errors import ImporterError
    from ohmtrail.importers._registry import load

    resource.setrlimit(resource.RLIMIT_CPU, (GIVE_UP_S, GIVE_UP_S))
    begin = time.process_time()
    try:
        board = load(path, format)
        end = f"{board.pin_count:,} pins"
    except ImporterError as error:
        end = str(error).partition(": ")[2]
        assert "\n" not in end
    print(f"{time.process_time() - begin}\n{end}")


def measure(format: str, path: Path) -> tuple[float, int, str]:
    """Read in a process of its own; return CPU time (s), peak bytes and end."""
    process = subprocess.Popen(
        [sys.executable, __file__, "--read", format, str(path)],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    lines = process.stdout.read().splitlines()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        return usage.ru_utime + usage.ru_stime, usage.ru_maxrss * 1024, "no end"
    return float(lines[0]), usage.ru_maxrss * 1024, lines[1]


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("formats", nargs="*")
    parser.add_argument("--megabytes", type=float, default=20)
    parser.add_argument("--read", nargs=2, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.read:
        read(options.read[0], Path(options.read[1]))
        return 0
    bad = 0
    print(f"{'format':16} {'case':36} {'time':>8} {'peak':>8}  end")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "dense.txt"
        for format in options.formats or CASES:
            for name, case in CASES[format].items():
                write(case, int(options.megabytes * 1e6), path)
                took, peak, end = measure(format, path)
                over = took > LIMIT_S or peak > LIMIT_BYTES or end == "no end"
                bad += over
                print(
                    f"{format:16} {name:36} {took:6.2f} s {peak / 1e6:5.0f} MB  "
                    f"{end[:70]}{'  OVER' if over else ''}",
                    flush=True,
                )
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
