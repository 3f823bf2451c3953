"""Random gEDA pages: parts, wires and attributes thrown onto a small grid."""

import random
from pathlib import Path

BLOCK = """v 20201216 2
B 100 0 800 700 3 0 0 0 -1 -1 0 -1 -1 -1 -1 -1
P 0 100 100 100 1 0 0
{
T 0 0 5 8 0 1 0 0 1
pinnumber=1
T 0 0 5 8 0 1 0 0 1
pinlabel=IN
}
P 1000 300 900 300 1 0 0
{
T 0 0 5 8 0 1 0 0 1
pinnumber=2
T 0 0 5 8 0 1 0 0 1
pinlabel=OUT
}
T 0 0 5 8 0 1 0 0 1
source=inner.sch
T 0 0 5 8 0 1 0 0 1
device=BLOCK
"""

#: Installed symbols: name, letter of the reference ("" for none).
SYMBOLS = (
    ("resistor-1.sym", "R"),
    ("resistor-2.sym", "R"),
    ("capacitor-2.sym", "C"),
    ("7400-1.sym", "U"),
    ("7404-1.sym", "U"),
    ("lm324-1.sym", "U"),
    ("lm7805-1.sym", "U"),
    ("npn-1.sym", "Q"),
    ("connector2-2.sym", "J"),
    ("header10-2.sym", "J"),
    ("gnd-1.sym", ""),
    ("5V-plus-1.sym", ""),
    ("generic-power.sym", ""),
    ("nc-right-1.sym", ""),
    ("busripper-1.sym", ""),
)


def _text(line: str) -> list[str]:
    return ["T 0 0 5 10 0 0 0 0 1", line]


def page(dice: random.Random, count: int, blocks: int, ports: tuple[str, ...]) -> str:
    """A page with so many components, blocks and ports."""
    lines = ["v 20201216 2"]
    spots = []

    def spot():
        return dice.randrange(0, 30) * 100, dice.randrange(0, 30) * 100

    def component(name, attributes):
        x, y = spot()
        angle, mirror = dice.choice((0, 90, 180, 270)), dice.randrange(2)
        lines.append(f"C {x} {y} 1 {angle} {mirror} {name}")
        if attributes:
            lines.append("{")
            for attribute in attributes:
                lines.extend(_text(attribute))
            lines.append("}")
        spots.append((x, y))

    for serial in range(count):
        name, letter = dice.choice(SYMBOLS)
        attributes = [f"refdes={letter}{serial}"] if letter else []
        if letter == "U" and dice.random() < 0.6:
            attributes = [f"refdes=U{dice.randrange(3)}"]
            attributes.append(f"slot={dice.randrange(1, 6)}")
        if dice.random() < 0.2:
            net, pin = dice.choice(("GND", "Vcc", "A")), dice.randrange(1, 16)
            attributes.append(f"net={net}:{pin},{pin + 20}")
        if dice.random() < 0.3:
            attributes.append(f"value={serial}k")
        component(name, attributes)
    for serial in range(blocks):
        component("block.sym", [f"refdes=X{serial}"])
    for label in ports:
        component("input-2.sym", [f"refdes={label}"])
    for _ in range(count * 4):
        (ax, ay), (bx, by) = spot(), spot()
        kind = dice.random()
        if kind < 0.45:
            by = ay
        elif kind < 0.9:
            bx = ax
        if (ax, ay) == (bx, by):
            continue
        lines.append(f"N {ax} {ay} {bx} {by} 4")
        if dice.random() < 0.1:
            lines.append("{")
            lines.extend(_text(f"netname={dice.choice('ABCDE')}"))
            lines.append("}")
    lines.append("U 0 0 4000 4000 10 1")
    return "\n".join([*lines, ""])


def design(folder: Path, seed: int) -> Path:
    """Write a design with blocks inside blocks; return its root."""
    dice = random.Random(seed)
    (folder / "gafrc").write_text('(component-library ".")\n(source-library ".")\n')
    (folder / "block.sym").write_text(BLOCK)
    deep = BLOCK.replace("inner.sch", "deep.sch")
    (folder / "deepblock.sym").write_text(deep)
    inner = page(dice, 6, 0, ("IN", "OUT")).splitlines()
    inner += ["C 500 500 1 0 0 deepblock.sym", "{", *_text("refdes=Y1"), "}", ""]
    (folder / "inner.sch").write_text("\n".join(inner))
    (folder / "deep.sch").write_text(page(dice, 4, 0, ("IN", "OUT", "OUT")))
    root = folder / "top.sch"
    root.write_text(page(dice, dice.randrange(5, 25), dice.randrange(0, 3), ()))
    return root
