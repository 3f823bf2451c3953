"""Generated files of every format: chains of resistors, each with a capacitor."""

from collections.abc import Callable, Iterator
from pathlib import Path

from made_xml import eagle, ipc_2581

__all__ = ["MAKERS", "write"]
#: Head, text of block n, tail, of a file of about so many blocks.
Maker = Callable[[int], tuple[str, Callable[[int], str], str]]
_COLUMNS = 200


def _kicad_schematic(_count: int) -> tuple[str, Callable[[int], str], str]:
    def library(name: str) -> str:
        pins = "".join(
            f'(pin passive line (at 0 {y} {turn}) (length 1.27) (name "~") '
            f'(number "{number}"))'
            for number, y, turn in ((1, 3.81, 270), (2, -3.81, 90))
        )
        return f'(symbol "Device:{name}" (symbol "{name}_1_1" {pins}))'

    def one(kind: str, ref: str, x: float, y: float, nets: tuple[str, str]) -> str:
        text = (
            f' (symbol (lib_id "Device:{kind}") (at {x:.2f} {y:.2f} 0) (unit 1)\n'
            f'  (in_bom yes) (on_board yes) (dnp no) (uuid "u{ref}")\n'
            f'  (property "Reference" "{ref}" (at {x:.2f} {y:.2f} 0)\n'
            "   (effects (font (size 1.27 1.27)) (justify left)))\n"
            f'  (property "Value" "10k" (at {x:.2f} {y:.2f} 0))\n'
            f'  (instances (project "p" (path "/root" (reference "{ref}")\n'
            "   (unit 1)))))\n"
        )
        for net, end in zip(nets, (y - 3.81, y + 3.81), strict=True):
            text += (
                f" (wire (pts (xy {x:.2f} {end:.2f}) (xy {x + 2.54:.2f} {end:.2f}))\n"
                "  (stroke (width 0) (type default)))\n"
                f' (label "{net}" (at {x + 2.54:.2f} {end:.2f} 0)\n'
                "  (effects (font (size 1.27 1.27)) (justify left)))\n"
            )
        return text

    def block(n: int) -> str:
        x, y = n % _COLUMNS * 12.7, n // _COLUMNS * 12.7
        return one("R", f"R{n}", x, y, (f"N{n}", f"N{n + 1}")) + one(
            "C", f"C{n}", x + 6.35, y, (f"N{n}", "GND")
        )

    head = '(kicad_sch (version 20231120) (generator "made") (uuid "root")\n'
    head += f' (paper "A4") (lib_symbols {library("R")} {library("C")})\n'
    return head, block, ")\n"


#: Long enough that 20 MB hold less than the 250,000 parts that are the most.
_LAND = "RESC1608X55N-CHIP-0603-THICK-FILM"
_SHEET = "/power/channels/lower_half/of_a_long_name/"
LEGACY_LIBRARY = """EESchema-LIBRARY Version 2.4
DEF R R 0 0 N Y 1 F N
F0 "R" 80 0 50 V V C CNN
DRAW
X ~ 1 0 150 50 D 50 50 1 1 P
X ~ 2 0 -150 50 U 50 50 1 1 P
ENDDRAW
ENDDEF
"""


def _kicad_legacy(_count: int) -> tuple[str, Callable[[int], str], str]:
    def one(ref: str, x: int, y: int, nets: tuple[str, str]) -> str:
        text = (
            f"$Comp\nL R {ref}\nU 1 1 {0x5A000000 + x * 7 + y:X}\nP {x} {y}\n"
            f'F 0 "{ref}" V {x} {y} 50  0000 C CNN\n'
            f'F 1 "10k" V {x} {y} 50  0000 C CNN\n'
            f"\t1    {x} {y}\n\t1    0    0    -1\n$EndComp\n"
        )
        for net, end in zip(nets, (y - 150, y + 150), strict=True):
            text += f"Wire Wire Line\n\t{x} {end} {x + 100} {end}\n"
            text += f"Text Label {x + 100} {end} 0    60   ~ 0\n{net}\n"
        return text

    def block(n: int) -> str:
        x, y = n % _COLUMNS * 500, n // _COLUMNS * 500
        return one(f"R{n}", x, y, (f"N{n}", f"N{n + 1}")) + one(
            f"C{n}", x + 250, y, (f"N{n}", "GND")
        )

    head = "EESchema Schematic File Version 4\nEELAYER 30 0\nEELAYER END\n"
    head += '$Descr A4 11693 8268\nSheet 1 1\nTitle ""\n$EndDescr\n'
    return head, block, "$EndSCHEMATC\n"


def _kicad_netlist(count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        if n < count:
            return (
                f'  (comp (ref "R{n}") (value "10k") (footprint "R_0603"))\n'
                f'  (comp (ref "C{n}") (value "1u") (footprint "C_0603"))\n'
            )
        if n == count:
            return " )\n (nets\n" + _net(0)
        return _net(n - count)

    def _net(n: int) -> str:
        nodes = [("R", n, 1), ("C", n, 1)] + ([("R", n - 1, 2)] if n else [])
        text = "".join(
            f'   (node (ref "{kind}{k}") (pin "{pin}") (pintype "passive"))\n'
            for kind, k, pin in nodes
        )
        return f'  (net (code "{n + 1}") (name "N{n}")\n{text}  )\n'

    head = '(export (version "E")\n (design (source "made"))\n (components\n'
    return head, block, " )\n)\n"


def _kicad_layout(_count: int) -> tuple[str, Callable[[int], str], str]:
    def one(ref: str, x: float, y: float, nets: tuple[str, str]) -> str:
        pads = "".join(
            f'  (pad "{n}" smd roundrect (at {2 * n - 3} 0) (size 1 1)\n'
            f'   (layers "F.Cu" "F.Paste" "F.Mask") (net {n} "{net}"))\n'
            for n, net in enumerate(nets, 1)
        )
        return (
            f' (footprint "R:R_0603" (layer "F.Cu") (at {x} {y})\n'
            f'  (property "Reference" "{ref}" (at 0 1) (layer "F.SilkS"))\n'
            f'  (property "Value" "10k" (at 0 2) (layer "F.Fab"))\n'
            f"{pads} )\n"
        )

    def block(n: int) -> str:
        x, y = n % _COLUMNS * 4, n // _COLUMNS * 8
        return (
            one(f"R{n}", x, y, (f"N{n}", f"N{n + 1}"))
            + one(f"C{n}", x, y + 4, (f"N{n}", "GND"))
            + f" (segment (start {x} {y}) (end {x} {y + 4}) (width 0.2)"
            f' (layer "F.Cu") (net 1))\n'
        )

    return '(kicad_pcb (version 20240108) (generator "made")\n', block, ")\n"


def _lepton(_count: int) -> tuple[str, Callable[[int], str], str]:
    def one(ref: str, x: int, y: int, nets: tuple[str, str]) -> str:
        text = (
            f"C {x} {y} 1 0 0 EMBEDDEDresistor.sym\n[\n"
            f"B {x + 100} {y} 700 200 3 0 0 0 -1 -1 0 -1 -1 -1 -1 -1\n"
        )
        for number, end, inner in ((1, x, x + 100), (2, x + 900, x + 800)):
            text += (
                f"P {end} {y + 100} {inner} {y + 100} 1 0 0\n{{\n"
                f"T {end} {y} 5 8 0 1 0 0 1\npinnumber={number}\n}}\n"
            )
        text += f"]\n{{\nT {x} {y} 5 10 1 1 0 0 1\nrefdes={ref}\n}}\n"
        for net, end in zip(nets, (x, x + 900), strict=True):
            text += (
                f"N {end} {y + 100} {end} {y + 300} 4\n{{\n"
                f"T {end} {y} 5 10 1 1 0 0 1\nnetname={net}\n}}\n"
            )
        return text

    def block(n: int) -> str:
        x, y = n % _COLUMNS * 2000, n // _COLUMNS * 2000
        return one(f"R{n}", x, y, (f"N{n}", f"N{n + 1}")) + one(
            f"C{n}", x, y + 1000, (f"N{n}", "GND")
        )

    return "v 20201216 2\n", block, ""


def _xschem(_count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        x, y = n % _COLUMNS * 200, n // _COLUMNS * 200
        text = ""
        for kind, ref, at, nets in (
            ("res", f"R{n}", x, (f"N{n}", f"N{n + 1}")),
            ("capa", f"C{n}", x + 100, (f"N{n}", "GND")),
        ):
            text += f"C {{{kind}.sym}} {at} {y} 0 0 {{name={ref}\nvalue=10k\nm=1}}\n"
            for net, end in zip(nets, (y - 30, y + 30), strict=True):
                text += f"N {at} {end} {at + 40} {end} {{lab={net}}}\n"
                text += f"C {{lab_pin.sym}} {at + 40} {end} 0 1 "
                text += f"{{name=p{ref}{end % 7} sig_type=std_logic lab={net}}}\n"
        return text

    head = "v {xschem version=3.4.4 file_version=1.2\n}\nG {}\nK {}\nV {}\nS {}\nE {}\n"
    return head, block, ""


def _edif(count: int) -> tuple[str, Callable[[int], str], str]:
    head = """(edif made (edifVersion 2 0 0) (edifLevel 0) (keywordMap (keywordLevel 0))
 (library parts (edifLevel 0) (technology (numberDefinition))
  (cell TWO (cellType GENERIC) (view netlist (viewType NETLIST) (interface
   (port (rename p1 "1") (direction INOUT))
   (port (rename p2 "2") (direction INOUT))))))
 (library work (edifLevel 0) (technology (numberDefinition))
  (cell top (cellType GENERIC) (view netlist (viewType NETLIST) (interface)
   (contents
"""

    def block(n: int) -> str:
        if n < count:
            return "".join(
                f"    (instance {kind}{n} (viewRef netlist (cellRef TWO"
                ' (libraryRef parts))) (property value (string "10k")))\n'
                for kind in "RC"
            )
        k = n - count
        ends = [("R", k, 1), ("C", k, 1)] + ([("R", k - 1, 2)] if k else [])
        text = "".join(
            f"     (portRef p{pin} (instanceRef {kind}{place}))\n"
            for kind, place, pin in ends
        )
        return f"    (net N{k} (joined\n{text}    ))\n"

    tail = "   ))))\n (design made (cellRef top (libraryRef work))))\n"
    return head, block, tail


def _spice(_count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        note = (
            f"* part {n} of the chain, with its capacitor to ground, as a tool notes it"
        )
        more = "tc1=1m tc2=2u temp=27"  # 250,000 devices are the most in one file
        return f"{note}\nR{n} N{n} N{n + 1} 10k {more}\nC{n} N{n} 0 1u {more} ic=0\n"

    return "* made\n", block, ".end\n"


def _ipc_d356(_count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        text = ""
        for ref, nets in (
            (f"R{n % 99999}", (f"N{n}", f"N{n + 1}")),
            (f"C{n % 99999}", (f"N{n}", "GND")),
        ):
            for pin, net in enumerate(nets, 1):
                text += (
                    f"327{net:<14}   {ref:<6}-{pin:<4}       A01"
                    f"X+{n % 900000:06}Y+{pin * 1000:06}X0315Y0374R000S2\n"
                )
        return text

    return "P  CODE 00\nP  UNITS CUST 0\nP  DIM   N\n", block, "999\n"


def _pin_table(_count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        return (
            f"R{n},1,N{n},,10k {_LAND},resistor\nR{n},2,N{n + 1},,,\n"
            f"C{n},1,N{n},,1u {_LAND},capacitor\nC{n},2,GND,,,\n"
        )

    return "ref,pin,net,name,value,kind\n", block, ""


def _tedax(_count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        return (
            f"\tfootprint R{n} 0603\n\tvalue R{n} 10k\n\tdevice R{n} RESISTOR\n"
            f"\tfootprint C{n} 0603\n\tvalue C{n} 1u\n\tdevice C{n} CAPACITOR\n"
            f"\tconn N{n} R{n} 1\n\tconn N{n + 1} R{n} 2\n"
            f"\tconn N{n} C{n} 1\n\tconn GND C{n} 2\n"
        )

    return "tEDAx v1\nbegin netlist v1 netlist\n", block, "end netlist\n"


def _tango(count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        if n < count:
            return (
                f"[\nR{n}\n{_LAND}\nRESISTOR\n10k\n\n]\n"
                f"[\nC{n}\n{_LAND}\nCAPACITOR\n1u\n\n]\n"
            )
        k = n - count
        return (
            f"(\n{_SHEET}N{k}\nR{k}-1\nC{k}-1\n"
            + (f"R{k - 1}-2\n" if k else "")
            + ")\n"
        )

    return "", block, ""


def _pads_netlist(count: int) -> tuple[str, Callable[[int], str], str]:
    def block(n: int) -> str:
        if n < count:
            return f"R{n}\t{_LAND}\nC{n}\t{_LAND}\n"
        k = n - count
        head, more = ("", f" R{k - 1}.2") if k else ("\n*NET*\n", "")
        return f"{head}*SIGNAL* {_SHEET}N{k}\n R{k}.1 C{k}.1{more}\n"

    return "!PADS-POWERPCB-V3.0-MILS!\n\n*PART*\n", block, "\n*END*\n"


MAKERS: dict[str, tuple[Maker, int]] = {
    "kicad_schematic": (_kicad_schematic, 1),
    "kicad_legacy": (_kicad_legacy, 1),
    "kicad_netlist": (_kicad_netlist, 2),
    "kicad_layout": (_kicad_layout, 1),
    "eagle": (eagle, 3),
    "lepton": (_lepton, 1),
    "xschem": (_xschem, 1),
    "ipc_d356": (_ipc_d356, 1),
    "ipc_2581": (ipc_2581, 2),
    "pin_table": (_pin_table, 1),
    "edif": (_edif, 2),
    "spice": (_spice, 1),
    "tedax": (_tedax, 1),
    "tango": (_tango, 2),
    "pads_netlist": (_pads_netlist, 2),
}


def texts(format: str, size: int) -> Iterator[str]:
    """Give the pieces of a file of about ``size`` bytes."""
    maker, rounds = MAKERS[format]
    count = 1000
    for _ in range(3):  # numbers grow longer with the file
        head, block, tail = maker(count)
        every = max(1, count * rounds // 999)
        lengths = [len(block(n)) for n in range(0, count * rounds, every)]
        count = max(2, size * len(lengths) // (sum(lengths) * rounds))
    head, block, tail = maker(count)
    yield head
    for n in range(count * rounds):
        yield block(n)
    yield tail


def write(format: str, size: int, path: Path) -> None:
    """Write a file, and the library that legacy schematics need beside it."""
    with path.open("w", encoding="utf-8") as file:
        file.writelines(texts(format, size))
    if format == "kicad_legacy":
        beside = path.with_name(f"{path.stem}-cache.lib")
        beside.write_text(LEGACY_LIBRARY, encoding="utf-8")
