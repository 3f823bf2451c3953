"""Small legacy projects, drawn line by line."""

from pathlib import Path
from zlib import crc32

from ohmtrail.importers import load

LIBRARY = """EESchema-LIBRARY Version 2.4
#encoding utf-8
DEF R R 0 0 N Y 1 F N
F0 "R" 80 0 50 V V C CNN
F1 "R" 0 0 50 V V C CNN
ALIAS RES
DRAW
X ~ 1 0 150 50 D 50 50 1 1 P
X ~ 2 0 -150 50 U 50 50 1 1 P
ENDDRAW
ENDDEF
DEF Amp U 0 20 Y Y 3 L N
F0 "U" 0 200 50 H V L CNN
F1 "Amp" 0 -200 50 H V L CNN
DRAW
X IN 3 -300 0 100 R 50 50 1 1 I
X OUT 1 300 0 100 L 50 50 1 1 O
X IN 5 -300 0 100 R 50 50 2 1 I
X OUT 7 300 0 100 L 50 50 2 1 O
X OUT 7 300 100 100 L 50 50 2 2 O
X V+ 8 0 300 100 D 50 50 3 0 W N
X V- 4 0 -300 100 U 50 50 3 0 W N
ENDDRAW
ENDDEF
DEF ~GND #PWR 0 0 Y Y 1 F P
F0 "#PWR" 0 -250 50 H I C CNN
F1 "GND" 0 -150 50 H V C CNN
DRAW
X GND 1 0 0 0 D 50 50 1 1 W N
ENDDRAW
ENDDEF
"""
UPRIGHT = "1    0    0    -1"


def part(ref, x, y, name="R", unit=1, convert=1, matrix=UPRIGHT, value="1k", uses=()):
    """Lines of a part; pins of R stand 150 above and below its place."""
    stamp = f"{crc32(f'{ref} {unit}'.encode()):08X}"
    stated = "".join(
        f'AR Path="{path}/{stamp}" Ref="{other}"  Part="{unit}" \n'
        for path, other in uses
    )
    return (
        f"$Comp\nL {name} {ref}\nU {unit} {convert} {stamp}\nP {x} {y}\n{stated}"
        f'F 0 "{ref}" H {x} {y} 50  0000 C CNN\n'
        f'F 1 "{value}" H {x} {y} 50  0000 C CNN\n'
        f'F 2 "" H {x} {y} 50  0001 C CNN\n'
        f'F 4 "Maker-{ref}" H {x} {y} 50  0001 C CNN "MPN"\n'
        f"\t{unit}    {x} {y}\n\t{matrix}  \n$EndComp\n"
    )


def wire(ax, ay, bx, by, kind="Wire"):
    """Lines of a wire, or of a bus with ``kind="Bus"``."""
    return f"Wire {kind} Line\n\t{ax} {ay} {bx} {by}\n"


def label(text, x, y, kind="Label"):
    """Lines of a label: Label, HLabel or GLabel."""
    return f"Text {kind} {x} {y} 0    50   ~ 0\n{text}\n"


def junction(x, y):
    """Line of a junction."""
    return f"Connection ~ {x} {y}\n"


def sheet(name, file, stamp, *pins):
    """Lines of a sheet symbol; each pin is text, x, y."""
    edges = "".join(
        f'F{n} "{text}" B L {x} {y} 50 \n' for n, (text, x, y) in enumerate(pins, 2)
    )
    return (
        f'$Sheet\nS 9000 9000 500 500\nU {stamp}\nF0 "{name}" 50\n'
        f'F1 "{file}" 50\n{edges}$EndSheet\n'
    )


def drawing(*items, version=4, end="$EndSCHEMATC\n"):
    """Text of a sheet file."""
    head = f"EESchema Schematic File Version {version}\nEELAYER 30 0\nEELAYER END\n"
    return head + "".join(items) + end


class Project:
    """A folder with sheets and a cache library."""

    def __init__(self, folder: Path, library: str = LIBRARY):
        self.folder = folder
        self.root = folder / "board.sch"
        if library:
            self.write("board-cache.lib", library)

    def write(self, name, text):
        """Write a file of the project."""
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def load(self, *items, version=4):
        """Return the board of a root sheet with these items."""
        self.write("board.sch", drawing(*items, version=version))
        return load(self.root)

    def nets(self, *items, version=4):
        """Return the nets of such a board: name -> its pins in words."""
        return shown(self.load(*items, version=version))


def shown(board):
    """Return the nets of a board: name -> its pins in words."""
    return {
        net.name: " ".join(sorted(pin.key for pin in net.pins)) for net in board.nets
    }
