"""One question a drawing; the answers are those of KiCad 9.0.8's netlister.

Each answer is checked against kicad-cli again where that is installed.
"""

import subprocess

import pytest
from _kicad_drawing import Drawing, write
from _oracles import program

from ohmtrail.importers._sexpr import Grammar
from ohmtrail.importers.kicad_schematic import IMPORTER

LEFT, MIDDLE, RIGHT = (10.16, 10.16), (30.48, 10.16), (50.8, 10.16)
ABOVE, BELOW = (30.48, 2.54), (30.48, 50.8)


def wire_with_parts(root):
    root.wire(LEFT, RIGHT)
    root.pad("R1", LEFT)
    root.pad("R2", RIGHT)


def crossing(root):
    wire_with_parts(root)
    root.wire(ABOVE, BELOW)
    root.pad("R3", ABOVE)
    root.pad("R4", BELOW)


def pads(drawing, prefix, names, x=10.16, y=101.6):
    for number, name in enumerate(names, 1):
        drawing.pad(f"{prefix}{number}", (x + number * 10.16, y), name)


def crossing_wires_stay_apart(root):
    crossing(root)
    return "Net-(R1-Pad1): R1.1 R2.1; Net-(R3-Pad1): R3.1 R4.1"


def label_on_a_crossing_joins_it(root):
    crossing(root)
    root.label("X", MIDDLE)
    return "/X: R1.1 R2.1 R3.1 R4.1"


def wire_end_on_a_wire_without_junction(root):
    wire_with_parts(root)
    root.wire(MIDDLE, BELOW)
    root.pad("R3", BELOW)
    return "Net-(R1-Pad1): R1.1 R2.1; unconnected-(R3-Pad1): R3.1"


def pin_in_the_middle_of_a_wire(root):
    wire_with_parts(root)
    root.pad("R3", MIDDLE)
    return "Net-(R1-Pad1): R1.1 R2.1; unconnected-(R3-Pad1): R3.1"


def label_in_the_middle_of_a_wire(root):
    wire_with_parts(root)
    root.label("X", MIDDLE)
    return "/X: R1.1 R2.1"


def label_on_a_pin_in_the_middle_of_a_wire(root):
    wire_with_parts(root)
    root.pad("R3", MIDDLE, "X")
    return "/X: R3.1; Net-(R1-Pad1): R1.1 R2.1"


def overlapping_wires_stay_apart(root):
    root.wire(LEFT, (40.64, 10.16))
    root.wire(MIDDLE, RIGHT)
    root.pad("R1", LEFT)
    root.pad("R2", RIGHT)
    return "unconnected-(R1-Pad1): R1.1; unconnected-(R2-Pad1): R2.1"


def local_and_global_label_of_one_name_on_a_sheet(root):
    root.pad("R1", LEFT, "X")
    root.pad("R2", MIDDLE, "X", kind="global_label")
    child = Drawing("child")
    child.pad("R3", LEFT, "X")
    root.sheet("sub", child)
    return [child], "/sub/X: R3.1; X: R1.1 R2.1"


def two_power_symbols_short(root):
    root.power("V5", LEFT, "#PWR1")
    root.power("VB", LEFT, "#PWR2")
    root.pad("R1", LEFT)
    root.power("VB", MIDDLE, "#PWR3")
    root.pad("R2", MIDDLE)
    return "V5: R1.1 R2.1"


def hidden_power_pins_are_global(root):
    pins = [
        ("1", "VCC", "power_in", 0, 0, 1, 1, True),
        ("2", "Q", "output", 5.08, 0),
    ]
    root.lib("t:U", pins)
    root.symbol("t:U", "U1", LEFT)
    root.symbol("t:U", "U2", MIDDLE)
    root.pad("R1", (30.48, 50.8), "VCC", kind="global_label")
    return (
        "VCC: R1.1 U1.1 U2.1; unconnected-(U1-Q-Pad2): U1.2;"
        " unconnected-(U2-Q-Pad2): U2.2"
    )


def sheet_used_twice(root):
    child = Drawing("child")
    child.pad("R1", LEFT, "IN", kind="hierarchical_label")
    child.wire(LEFT, MIDDLE)
    child.pad("R2", RIGHT, "local")
    root.sheet("a", child, [("IN", (100, 20))])
    root.sheet("b", child, [("IN", (150, 20))])
    root.wire((100, 20), (90, 20))
    root.wire((150, 20), (140, 20))
    root.pad("R9", (140, 20), "B")
    return [child], "/B: R11.1 R9.1; /a/IN: R1.1; /a/local: R2.1; /b/local: R21.1"


def name_of_the_upper_sheet_wins(root):
    child, grandchild = Drawing("child"), Drawing("grandchild")
    grandchild.pad("R1", LEFT, "deep", kind="hierarchical_label")
    child.sheet("low", grandchild, [("deep", (100, 20))])
    child.label("mid", (100, 20), "hierarchical_label")
    root.sheet("high", child, [("mid", (100, 20))])
    root.pad("R2", (100, 20))
    return [child, grandchild], "/high/mid: R1.1 R2.1"


def vector_bus_renamed_by_position(root):
    child = Drawing("child")
    child.bus(LEFT, RIGHT)
    child.label("E[4..7]", LEFT, "hierarchical_label")
    pads(child, "R", ["E4", "E7"])
    root.bus(LEFT, RIGHT)
    root.label("D[0..3]", LEFT)
    root.sheet("sub", child, [("E[4..7]", RIGHT)])
    pads(root, "C", ["D0", "D3", "D1"])
    return [child], "/D0: C1.1 R1.1; /D1: C3.1; /D3: C2.1 R2.1"


def group_bus_with_prefix_and_alias(root):
    child = Drawing("child")
    child.bus(LEFT, RIGHT)
    child.label("M{AL W}", LEFT, "hierarchical_label")
    pads(child, "R", ["M.X", "M.Z1", "M.W"])
    root.raw('(bus_alias "AL" (members "X" "Z[0..1]"))')
    root.bus(LEFT, RIGHT)
    root.label("N{AL W}", LEFT)
    root.sheet("sub", child, [("M{AL W}", RIGHT)])
    pads(root, "C", ["N.X", "N.W"])
    return [child], "/N.W: C2.1 R3.1; /N.X: C1.1 R1.1; /N.Z1: R2.1"


def overbars_do_not_enter_bus_members(root):
    child = Drawing("child")
    child.bus(LEFT, RIGHT)
    child.label("M{~{CS} B}", LEFT, "hierarchical_label")
    pads(child, "R", ["M.CS", "M.~{CS}", "M.B"])
    root.bus(LEFT, RIGHT)
    root.sheet("sub", child, [("M{~{CS} B}", RIGHT)])
    root.label("M{~{CS} B}", LEFT)
    pads(root, "C", ["M.CS"])
    return [child], "/M.B: R3.1; /M.CS: C1.1 R1.1; /sub/M.~{CS}: R2.1"


def bus_entry_connects_by_name_only(root):
    root.bus((20.32, 10.16), (50.8, 10.16))
    root.label("D[0..1]", (50.8, 10.16))
    root.entry((20.32, 10.16))
    root.wire((22.86, 12.7), (22.86, 30.48))
    root.pad("R1", (22.86, 30.48))
    pads(root, "C", ["D0"])
    return "/D0: C1.1; unconnected-(R1-Pad1): R1.1"


def pin_of_type_no_connect_stays_alone(root):
    root.lib("t:N", [("1", "NC", "no_connect", 0, 0), ("2", "A", "passive", 0, 5.08)])
    root.symbol("t:N", "U1", (60.96, 50.8))
    root.pad("R1", (60.96, 50.8), "Q")
    return "/Q: R1.1; unconnected-(U1-A-Pad2): U1.2; unconnected-(U1-NC-Pad1): U1.1"


def names_without_labels(root):
    pins = [
        ("1", "A/B", "input", 0, 0, 1),
        ("2", "V", "passive", 0, 5.08, 1),
        ("3", "V", "passive", 0, 10.16, 1),
        ("4", "4", "input", 0, 15.24, 2),
    ]
    root.lib("t:M", pins)
    root.symbol("t:M", "U1", (10.16, 50.8), unit=1)
    root.symbol("t:M", "U1", (50.8, 50.8), unit=2)
    for x, y in ((10.16, 50.8), (10.16, 45.72), (50.8, 35.56)):
        root.wire((x, y), (x + 10.16, y))
    root.pad("Z1", (20.32, 50.8))
    root.pad("Z2", (20.32, 45.72))
    return (
        "Net-(U1A-A{slash}B): U1.1 Z1.1; Net-(U1A-V-Pad2): U1.2 Z2.1;"
        " unconnected-(U1-Pad4): U1.4; unconnected-(U1A-V-Pad3): U1.3"
    )


def alternate_functions_do_not_rename_nets(root):
    alternates = [("UART", "output"), ("NC", "no_connect")]
    root.lib("t:U", [("1", "PA1", "bidirectional", 0, 0, 1, 1, False, alternates)])
    root.symbol("t:U", "U1", LEFT, functions=[("1", "UART")])
    root.wire(LEFT, MIDDLE)
    root.pad("R1", MIDDLE)
    root.symbol("t:U", "U2", RIGHT, functions=[("1", "NC")])
    root.pad("R2", RIGHT)
    return (
        "Net-(U1-PA1): R1.1 U1.1; unconnected-(R2-Pad1): R2.1;"
        " unconnected-(U2-PA1-Pad1): U2.1"
    )


def body_styles(root):
    pins = [
        ("1", "A", "input", 0, 0, 1, 1),
        ("1", "A", "input", 10.16, 0, 1, 2),
        ("2", "V", "power_in", 0, 7.62, 1, 0),
    ]
    root.lib("t:G", pins)
    root.symbol("t:G", "U1", LEFT, style=2)
    root.label("X", (20.32, 10.16))
    root.label("V", (10.16, 2.54))
    root.symbol("t:G", "U2", RIGHT)
    root.label("Y", RIGHT)
    return "/V: U1.2; /X: U1.1; /Y: U2.1; unconnected-(U2-V-Pad2): U2.2"


def turned_and_mirrored(root):
    root.lib("t:T", [("1", "A", "input", 2.54, 7.62)])
    wanted = []
    places = {
        (0, ""): (2.54, -7.62),
        (90, ""): (-7.62, -2.54),
        (180, ""): (-2.54, 7.62),
        (270, ""): (7.62, 2.54),
        (0, "x"): (2.54, 7.62),
        (90, "x"): (-7.62, 2.54),
        (180, "x"): (-2.54, -7.62),
        (270, "x"): (7.62, -2.54),
        (0, "y"): (-2.54, -7.62),
        (90, "y"): (7.62, -2.54),
        (180, "y"): (2.54, 7.62),
        (270, "y"): (-7.62, 2.54),
    }
    for number, ((angle, mirror), (dx, dy)) in enumerate(places.items(), 1):
        x, y = 25.4 * number, 50.8
        root.symbol("t:T", f"U{number}", (x, y), angle=angle, mirror=mirror)
        root.label(f"N{number}", (round(x + dx, 2), round(y + dy, 2)))
        wanted.append(f"/N{number}: U{number}.1")
    return "; ".join(wanted)


def not_on_the_board(root):
    root.symbol("t:P", "R1", LEFT, flags="(in_bom yes) (on_board no) (dnp no)")
    root.symbol("t:P", "R2", LEFT, flags="(in_bom no) (on_board yes) (dnp yes)")
    return "Net-(R2-Pad1): R2.1"


def text_variables(root):
    root.raw('(title_block (title "Log") (rev "2"))')
    root.pad("R1", LEFT, "${TITLE}_${REVISION}")
    root.pad("R2", MIDDLE, "A{slash}B")
    root.pad("R3", RIGHT, "${NOPE}")
    return "/${NOPE}: R3.1; /A{slash}B: R2.1; /Log_2: R1.1"


def symbol_used_by_another_design_only(root):
    other = '(instances (project "o" (path "/else" (reference "R7") (unit 1))))'
    root.symbol("t:P", "R1", LEFT, instances=other)
    root.label("X", LEFT)
    return "/X: R7.1"


CASES = [
    function
    for name, function in list(globals().items())
    if callable(function)
    and getattr(function, "__module__", "") == __name__
    and name not in ("wire_with_parts", "crossing", "pads")
]


def draw(case, folder):
    root = Drawing("root")
    answer = case(root)
    children, wanted = answer if isinstance(answer, tuple) else ([], answer)
    return write(folder, root, *children), sorted(wanted.split("; "))


def spelled(nets):
    return sorted(f"{name}: {' '.join(sorted(keys))}" for name, keys in nets.items())


@pytest.mark.parametrize("case", CASES)
def test_answer(case, tmp_path):
    path, wanted = draw(case, tmp_path)
    board = IMPORTER.read(path)
    assert spelled({n.name: [p.key for p in n.pins] for n in board.nets}) == wanted


@pytest.mark.parametrize("case", CASES)
def test_answer_is_the_netlisters(case, tmp_path):
    path, wanted = draw(case, tmp_path)
    out = tmp_path / "out.net"
    command = [program("kicad-cli"), "sch", "export", "netlist", "-o", out, path]
    subprocess.run(command, check=True, capture_output=True)
    tree = Grammar().parse(out.read_text(encoding="utf-8"), out)
    nets = {}
    for net in next(x for x in tree if x[0] == "nets")[1:]:
        name = next(x[1] for x in net if x[0] == "name")
        nodes = [dict(x[1:3]) for x in net if x[0] == "node"]
        nets[name] = [f"{node['ref']}.{node['pin']}" for node in nodes]
    assert spelled(nets) == wanted
