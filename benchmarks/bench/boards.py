"""Invented power boards with their truth, written as netlist and layout."""

import hashlib
import itertools
from pathlib import Path

from bench import blocks
from bench.maker import Maker
from bench.model import Board

__all__ = ["board", "write"]

_KINDS = ("laptop", "motor", "charger", "instrument")


def board(seed: int) -> Board:
    """Return an invented board; the same seed makes the same one."""
    kind = _KINDS[seed % 4]
    maker = Maker(f"{kind}{seed}", seed, (150.0, 200.0))
    rng = maker.rng
    volts = {"laptop": (19.0, 20.0), "motor": (24.0, 18.0), "charger": (20.0, 15.0),
             "instrument": (12.0, 15.0)}[kind]  # fmt: skip
    supply = rng.choice(volts)
    main = rng.choice(("VMAIN", "VSYS", "VBUS_MAIN"))
    core_volts = rng.choice((0.8, 0.9, 1.0, 1.1, 1.2))
    core = "VCORE_" + f"{core_volts:.1f}".replace(".", "V")
    big = rng.choice((0, 0, 1, 1, 2, 3))
    maker.scale = (0.35, 0.8, 1.0, 1.6)[big]
    maker.rails |= {"DCIN": supply, main: supply}

    maker.add("connector", "DC jack", [("1", "", "/DCJACK"), ("2", "", "GND")], (4, 4))
    maker.two("fuse", "10A", "/DCJACK", "DCIN", (12, 4), ohms=rng.uniform(3e-3, 9e-3))
    maker.rails["/DCJACK"] = supply
    maker.two("tvs", f"TV{supply + 2:.0f}A", "GND", "DCIN", (18, 8), model="tvs")
    maker.caps("DCIN", rng.randint(2, 6), "1u 50V", (20, 4), 4)
    blocks.back_to_back(maker, "DCIN", main, (26, 6))
    maker.caps(main, rng.randint(5, 14), "10u 35V", (50, 10), 9)
    if rng.random() < 0.5:
        maker.two("tvs", f"TV{supply + 2:.0f}A", "GND", main, (46, 12), model="tvs")
    blocks.buck(maker, main, core, core_volts, (40, 40))

    for_five = blocks.single if big else blocks.integrated
    for_five(maker, main, "+5V", 5.0, "V5", (20, 90))
    for_three = blocks.single if big and rng.random() < 0.5 else blocks.integrated
    for_three(maker, main, "+3V3", 3.3, "V3", (70, 90))
    memory = rng.choice((1.5, 1.8, 2.5))
    rail = "VMEM_" + f"{memory:.1f}".replace(".", "V")
    if big >= 2:
        blocks.single(maker, main, rail, memory, "MEM", (115, 90))
    elif rng.random() < 0.7 * big:
        blocks.integrated(maker, "+5V", rail, memory, "MEM", (115, 90))
    if rng.random() < 0.5 + 0.2 * big:
        blocks.small_rail(maker, "+3V3", "+1V8", 1.8, "V18", (70, 125))
    if rng.random() < 0.4 * big:
        blocks.small_rail(maker, "+3V3", "+3V3_IO", 3.3, "VIO", (100, 125))
    if rng.random() < 0.3 * big:
        _boost(maker, (20, 150))
    if rng.random() < 0.4 * big:
        maker.two("bead", "600R 3A", "+3V3", "+3V3A", (90, 140), ohms=0.04)
        maker.rails["+3V3A"] = 3.3
        maker.caps("+3V3A", rng.randint(3, 6), "4u7 10V", (95, 142), 3)
    rails = [r for r in maker.rails if maker.rails[r] < 9 and r != core]
    for name in rails:
        count = big + rng.randint(0 if big else 1, 1 + 2 * big)
        blocks.loads(maker, name, count, (rng.uniform(20, 130), rng.uniform(140, 185)))
    _processor(maker, core, (80, 165))
    _extras(maker, big, (60, 180))
    return maker.board(core, main, "DCIN")


def _boost(maker: Maker, at: tuple[float, float]) -> None:
    """Add a small boost for a fan or a backlight."""
    maker.rails["+12V_AUX"] = 12.0
    pins = {"VIN": "+5V", "GND": "GND", "SW": "/BST_SW", "FB": "/+12V_AUX_FB",
            "EN": "/BST_EN"}  # fmt: skip
    maker.chip("PU120", pins, at)
    maker.two("inductor", "10u", "+5V", "/BST_SW", (at[0] + 4, at[1]), ohms=0.12)
    maker.two("diode", "BS140", "/BST_SW", "+12V_AUX", (at[0] + 7, at[1]),
              model="schottky")  # fmt: skip
    maker.two("resistor", "100k", "+5V", "/BST_EN", (at[0], at[1] + 4))
    maker.two("resistor", "180k", "+12V_AUX", "/+12V_AUX_FB", (at[0] + 2, at[1] + 4))
    maker.two("resistor", "10k", "/+12V_AUX_FB", "GND", (at[0] + 4, at[1] + 4))
    maker.caps("+12V_AUX", 5, "10u 25V", (at[0] + 8, at[1] + 4), 3)
    maker.add("connector", "FAN", [("1", "", "+12V_AUX"), ("2", "", "GND")],
              (at[0] + 12, at[1] + 6))  # fmt: skip


def _processor(maker: Maker, core: str, at: tuple[float, float]) -> None:
    """Add the load that the board is for."""
    pins = {f"VCORE*{n}": core for n in range(12)}
    pins |= {f"GND*{n}": "GND" for n in range(12)}
    pins |= {"VDDIO*1": "+3V3", "VDDIO*2": "+3V3", "RESET": "/RESET", "CLK": "/CLK"}
    for n in range(maker.rng.randint(4, 16)):
        pins[f"PA{n}"] = f"/PA{n}"
    maker.chip("CX9000", pins, at)
    maker.two("resistor", "10k", "+3V3", "/RESET", at)
    maker.two("capacitor", "100n 16V", "/RESET", "GND", at)
    maker.two("resistor", "33R", "/CLK", "/CLK_OUT", at)
    for n in range(0, 4, 2):
        maker.two("resistor", "4k7", "+3V3", f"/PA{n}", at)


def _extras(maker: Maker, big: int, at: tuple[float, float]) -> None:
    """Connectors, lamps and a few dividers, as every board has."""
    rng = maker.rng
    maker.two("resistor", "1k", "+3V3", "/LED_A", at)
    maker.two("led", "green", "/LED_A", "GND", at, model="led")
    pins = [("1", "", "+3V3"), ("2", "", "GND"), ("3", "", "/RESET"), ("4", "", "/PA0")]
    maker.add("connector", "DEBUG", pins, at)
    for n in range(rng.randint(0, 6) * (1 + 3 * big)):
        rail = rng.choice([r for r in maker.rails if r != "/DCJACK"])
        net = f"/MON{n}"
        maker.two("resistor", "100k", rail, net, (at[0] + n, at[1]))
        maker.two("resistor", "10k", net, "GND", (at[0] + n, at[1] + 3))
        maker.two("capacitor", "100n 16V", net, "GND", (at[0] + n, at[1] + 5))


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _uuid(*words: str) -> str:
    digest = hashlib.md5("/".join(words).encode(), usedforsecurity=False).hexdigest()
    cuts = (0, 8, 12, 16, 20, 32)
    return "-".join(digest[a:b] for a, b in itertools.pairwise(cuts))


def write(board: Board, folder: Path) -> None:
    """Write ``NAME.net`` and ``NAME.kicad_pcb``; set ``file`` and ``layout``."""
    nets = board.nets()
    lines = ['(export (version "E")', f'  (design (source "{board.name}.kicad_sch"))']
    lines.append("  (components")
    for part in board.parts.values():
        lines.append(
            f"    (comp (ref {_quoted(part.ref)}) (value {_quoted(part.value)})"
            f" (footprint {_quoted('Bench:' + part.body)}))"
        )
    lines += ["  )", "  (nets"]
    for code, (net, pads) in enumerate(nets.items(), 1):
        lines.append(f'    (net (code "{code}") (name {_quoted(net)})')
        for ref, number in pads:
            name = next(n for p, n, _ in board.parts[ref].pins if p == number)
            function = f" (pinfunction {_quoted(name)})" if name else ""
            lines.append(
                f'      (node (ref "{ref}") (pin "{number}"){function}'
                ' (pintype "passive"))'
            )
        lines.append("    )")
    lines += ["  ))", ""]
    netlist = folder / f"{board.name}.net"
    netlist.write_text("\n".join(lines), encoding="utf-8")
    layout = folder / f"{board.name}.kicad_pcb"
    layout.write_text(_layout(board, list(nets)), encoding="utf-8")
    board.file, board.layout = str(netlist), str(layout)


def _layout(board: Board, nets: list[str]) -> str:
    codes = {net: code for code, net in enumerate(nets, 1)}
    lines = ['(kicad_pcb (version 20221018) (generator "bench")']
    lines.append('  (layers (0 "F.Cu" signal) (31 "B.Cu" signal))')
    lines.append('  (net 0 "")')
    lines += [f"  (net {code} {_quoted(net)})" for net, code in codes.items()]
    for part in board.parts.values():
        layer = "F.Cu" if part.side == "top" else "B.Cu"
        lines.append(
            f'  (footprint {_quoted("Bench:" + part.body)} (layer "{layer}")'
            f" (tstamp {_uuid(board.name, part.ref)}) (at {part.x_mm} {part.y_mm})"
        )
        lines.append(f'    (fp_text reference "{part.ref}" (at 0 0) (layer "F.SilkS"))')
        lines.append(
            f'    (fp_text value {_quoted(part.value)} (at 0 0) (layer "F.Fab"))'
        )
        for number, name, net in part.pins:
            x, y = part.pads[number]
            function = f" (pinfunction {_quoted(name)})" if name else ""
            lines.append(
                f'    (pad "{number}" smd rect (at {x:.3f} {y:.3f}) (size 0.6 0.6)'
                f' (layers "{layer}") (net {codes[net]} {_quoted(net)}){function}'
                ' (pintype "passive"))'
            )
        lines.append("  )")
    return "\n".join([*lines, ")", ""])
