"""Random xschem schematics: vectors, buses and blocks, turned every way."""

import random
from pathlib import Path

BLOCK = """v {xschem version=2.9.9 file_version=1.1}
G {type=subcircuit
format="@name @pinlist @symname"
template="name=x1"}
V {}
S {}
B 5 -42.5 -12.5 -37.5 -7.5 {name=A[1:0] dir=in}
B 5 37.5 -2.5 42.5 2.5 {name=Z dir=out}
"""
INNER = """v {xschem version=2.9.9 file_version=1.1}
G {}
V {}
S {}
C {devices/ipin} 0 0 0 0 {name=p1 lab=A[1:0]}
C {devices/opin} 200 0 0 0 {name=p2 lab=Z}
C {devices/res} 0 30 0 0 {name=R1[1:0] value=1k}
C {devices/lab_pin} 0 60 0 0 {name=p3 lab=Z,MID}
C {devices/capa} 400 0 0 0 {name=C1 value=1n}
C {devices/vdd} 400 -30 0 0 {name=l1 lab=VDD}
C {devices/lab_pin} 400 30 0 0 {name=p4 lab=MID}
"""
#: Symbol, letter, pins (place and width).
KINDS = (
    ("devices/res", "R", (((0, -30), 1), ((0, 30), 1))),
    ("devices/capa", "C", (((0, -30), 1), ((0, 30), 1))),
    (
        "devices/nmos4",
        "M",
        (((20, -30), 1), ((-20, 0), 1), ((20, 30), 1), ((20, 0), 1)),
    ),
    ("block", "x", (((-40, -10), 2), ((40, 0), 1))),
)
LABELS = {
    1: ("A", "VDD", "D[2]", "N1", "D[0]"),
    2: ("D[1:0]", "A,B", "2*N1", "A"),
    4: ("D[3:0]", "D[1:0],A,B", "E[6:0:2]", "A", "2*(A,B)", "D[1:0]"),
    8: ("D[7:0]", "4*(A,B)", "D[3:0]", "B"),
}


def _turned(x, y, rotation, flip):
    x = -x if flip else x
    return [(x, y), (-y, x), (-x, -y), (y, -x)][rotation]


def design(folder: Path, seed: int) -> Path:
    """Write a design; return its root."""
    dice = random.Random(seed)
    (folder / "block.sym").write_text(BLOCK)
    (folder / "block.sch").write_text(INNER)
    lines = ["v {xschem version=2.9.9 file_version=1.1}", "G {}", "V {}", "S {}"]
    lines.append("C {devices/vdd} 0 -5000 0 0 {name=g1 lab=VDD}")
    labels = 0
    for serial in range(dice.randrange(3, 12)):
        symbol, letter, pins = dice.choice(KINDS)
        copies = dice.choice((1, 1, 2, 4))
        name = f"{letter}{serial}" + (f"[{copies - 1}:0]" if copies > 1 else "")
        rotation, flip = dice.randrange(4), dice.randrange(2)
        x, y = serial * 500, dice.randrange(20) * 10
        lines.append(f"C {{{symbol}}} {x} {y} {rotation} {flip} {{name={name}}}")
        for (px, py), width in pins:
            dx, dy = _turned(px, py, rotation, flip)
            ax, ay = x + dx, y + dy
            if dice.random() < 0.6:
                # A wire, a second one from its middle, perhaps slanted.
                bx, by = ax + dice.choice((-8, 0, 8)), ay + 8
                lines.append(f"N {ax} {ay} {bx} {by} {{}}")
                ax, ay = (ax + bx) / 2, (ay + by) / 2
                lines.append(f"N {ax} {ay} {ax + 1} {ay - 3} {{}}")
                ax, ay = ax + 1, ay - 3
            label = dice.choice(LABELS[min(width * copies, 8)])
            turn = dice.randrange(4)
            lines.append(
                f"C {{devices/lab_pin}} {ax} {ay} {turn} 0"
                f" {{name=l{labels} lab={label}}}"
            )
            labels += 1
    root = folder / "top.sch"
    root.write_text("\n".join([*lines, ""]))
    return root
