"""Small files that stand for millions of pins are refused, and names stay apart.

The bounds are made small here; their real size is measured in ``benchmarks/dense.py``.
Expected behaviour: common practice, no source.
"""

import pytest

from ohmtrail.importers import ParseError, load

MANY = range(1, 30)
EAGLE = (
    '<eagle version="9"><drawing><board><libraries><library name="l"><packages>'
    '<package name="p">'
    + "".join(f'<smd name="{n}" x="0" y="0" dx="1" dy="1" layer="1"/>' for n in MANY)
    + "</package></packages></library></libraries><elements>"
    + "".join(
        f'<element name="U{n}" library="l" package="p" x="0" y="0"/>' for n in MANY
    )
    + "</elements></board></drawing></eagle>"
)
IPC = (
    '<IPC-2581 revision="C"><Content/><Ecad name="e"><CadHeader units="MILLIMETER"/>'
    '<CadData><Step name="s"><Package name="p">'
    + "".join(f'<Pin number="{n}"/>' for n in MANY)
    + "</Package>"
    + "".join(f'<Component refDes="U{n}" packageRef="p"/>' for n in MANY)
    + "</Step></CadData></Ecad></IPC-2581>"
)
IPC_NETS = (
    '<IPC-2581 revision="C"><Content/><Ecad name="e"><CadHeader units="MILLIMETER"/>'
    '<CadData><Step name="s"><Component refDes="U1"/>'
    + "".join(
        f'<LogicalNet name="{n}">'
        + "".join(f'<PinRef componentRef="U{u}" pin="{n}"/>' for u in MANY)
        + "</LogicalNet>"
        for n in MANY
    )
    + "</Step></CadData></Ecad></IPC-2581>"
)
NETLIST = (
    '(export (version "E") (nets) (libparts (libpart (part p) (pins '
    + "".join(f"(pin (num {n}))" for n in MANY)
    + "))) (components "
    + "".join(f"(comp (ref U{n}) (libsource (part p)))" for n in MANY)
    + "))"
)
LAYOUT = (
    "(kicad_pcb (version 20240108) "
    + "".join(
        f'(footprint "" (at 0 0) (property "Reference" "U{u}") '
        + "".join(f'(pad "{n}" smd rect (at 0 0))' for n in MANY)
        + ")"
        for u in MANY
    )
    + ")"
)
TABLE = "ref,pin,net\n" + "".join(f"U{u},{n},A\n" for u in MANY for n in MANY)
RECORDS = (
    "P  UNITS CUST 0\n"
    + "".join(
        f"327A                 U{u:<5}-{n:<4}       A01X+000000Y+000000\n"
        for u in MANY
        for n in MANY
    )
    + "999\n"
)


@pytest.mark.parametrize(
    ("format", "module", "text"),
    [
        ("eagle", "eagle._board", EAGLE),
        ("ipc_2581", "ipc_2581._nets", IPC),
        ("ipc_2581", "ipc_2581._nets", IPC_NETS),
        ("kicad_netlist", "kicad_netlist._export", NETLIST),
        ("kicad_layout", "kicad_layout._read", LAYOUT),
        ("pin_table", "pin_table._read", TABLE),
        ("ipc_d356", "ipc_d356._read", RECORDS),
    ],
)
def test_parts_times_pins_are_bounded(tmp_path, monkeypatch, format, module, text):
    path = tmp_path / "many.txt"
    path.write_text(text)
    assert load(path, format).pin_count == len(MANY) ** 2
    monkeypatch.setattr(f"ohmtrail.importers.{module}.PINS_MAX", 800)
    with pytest.raises(ParseError, match=r"found more than .* pins, expected a board"):
        load(path, format)
    monkeypatch.undo()
    monkeypatch.setattr(f"ohmtrail.importers.{module}.PARTS_MAX", 20)
    with pytest.raises(ParseError, match=r"found more than .* parts or"):
        load(path, format)


@pytest.mark.parametrize(
    ("format", "module", "head", "wire"),
    [
        ("lepton", "lepton._parse", "v 20201216 2\n", "N {0} 0 {0} 9 4\n"),
        (
            "xschem",
            "xschem._file",
            "v {xschem version=3.4.4 file_version=1.2\n}\n",
            "N {0} 0 {0} 9 {{}}\n",
        ),
    ],
)
def test_wires_are_bounded(tmp_path, monkeypatch, format, module, head, wire):
    path = tmp_path / "many.sch"
    path.write_text(head + "".join(wire.format(n) for n in MANY))
    load(path, format)
    monkeypatch.setattr(f"ohmtrail.importers.{module}.OBJECTS_MAX", len(MANY) - 1)
    with pytest.raises(ParseError, match=r"found more than 28 .*, expected a drawing"):
        load(path, format)


def test_subcircuits_are_bounded(tmp_path, monkeypatch):
    path = tmp_path / "many.cir"
    path.write_text("t\n" + "".join(f".subckt s{n} a\n.ends\n" for n in MANY))
    load(path)
    monkeypatch.setattr("ohmtrail.importers.spice._deck._DEFINITIONS_MAX", 28)
    with pytest.raises(ParseError, match="found more than 28 subcircuits"):
        load(path)


@pytest.mark.parametrize(
    ("bound", "lines", "message"),
    [
        ("_deck._LINES_MAX", "K{0} L1 L2 1\n", "28 lines that say something"),
        ("_flatten._INSTANCES_MAX", "X{0} a s\n", "28 uses of subcircuits"),
    ],
)
def test_lines_and_uses_of_subcircuits_are_bounded(
    tmp_path, monkeypatch, bound, lines, message
):
    path = tmp_path / "many.cir"
    head = "t\nR1 a 0 1\n.subckt s a\nR1 a 0 1\n.ends\n"
    path.write_text(head + "".join(lines.format(n) for n in MANY))
    load(path)
    monkeypatch.setattr(f"ohmtrail.importers.spice.{bound}", 28)
    with pytest.raises(ParseError, match=f"found more than {message}"):
        load(path)


def test_includes_that_are_not_there_are_bounded(tmp_path, monkeypatch):
    path = tmp_path / "many.cir"
    path.write_text("t\nR1 a 0 1\n" + "".join(f".inc {n}.lib\n" for n in MANY))
    assert len(load(path).unused) == len(MANY)
    monkeypatch.setattr("ohmtrail.importers.spice._include._NAMES_MAX", 28)
    with pytest.raises(ParseError, match="found more than 28 files to include"):
        load(path)


def test_things_not_used_are_all_counted(tmp_path, monkeypatch):
    monkeypatch.setattr("ohmtrail.importers.spice._deck._SORTS_MAX", 10)
    path = tmp_path / "many.cir"
    path.write_text("t\nR1 a 0 1\n" + "".join(f".odd{n}\n" for n in MANY))
    unused = load(path, "spice").unused
    assert len(unused) == 11
    assert sum(one.count for one in unused) == len(MANY)


def test_symbols_times_pins_on_all_sheets_are_bounded(tmp_path, monkeypatch):
    drawn = "".join(
        f'(pin passive line (at 0 {n} 0) (length 1) (name "") (number "{n}"))'
        for n in MANY
    )
    path = tmp_path / "many.kicad_sch"
    path.write_text(
        '(kicad_sch (version 20231120) (uuid "r") (lib_symbols (symbol "a" (symbol '
        f'"a_1_1" {drawn})))'
        + "".join(f'(symbol (lib_id "a") (at {n} 0 0))' for n in MANY)
        + ")"
    )
    load(path)
    gather = "ohmtrail.importers.kicad_schematic._gather._ITEMS_MAX"
    monkeypatch.setattr(gather, 800)
    with pytest.raises(ParseError, match="found more than 800 symbols, pins and"):
        load(path)


def test_sheets_nest_so_deep_and_no_deeper(tmp_path):
    def sheet(number: int) -> str:
        return (
            f'(sheet (at 0 0) (size 9 9) (uuid "s") (property "Sheetname" "S")'
            f' (property "Sheetfile" "{number}.kicad_sch"))'
        )

    for number in range(202):
        below = sheet(number + 1) if number < 201 else ""
        (tmp_path / f"{number}.kicad_sch").write_text(
            f'(kicad_sch (version 20231120) (uuid "u{number}") {below})'
        )
    assert len(load(tmp_path / "2.kicad_sch").sheets) == 200
    with pytest.raises(ParseError, match="found sheets nested deeper than 200"):
        load(tmp_path / "0.kicad_sch")


def test_tables_of_comments_alone_end(tmp_path, monkeypatch):
    monkeypatch.setattr("ohmtrail.importers.pin_table._read._LINES_MAX", 1000)
    path = tmp_path / "a.csv"
    path.write_text("ref,pin,net\nR1,1,A\n" + "#\n" * 2000)
    with pytest.raises(ParseError, match="found more than 1000 lines"):
        load(path)


def test_signals_of_pads_lists_keep_the_blanks_in_their_names(tmp_path):
    """KiCad 9 writes ``*SIGNAL* /ESP32-C3 MCU/CAN_TX`` (seen in its own export)."""
    path = tmp_path / "a.asc"
    path.write_text(
        "*PADS-PCB*\n*PART*\nR1 0603\nR2 0603\n*NET*\n*SIGNAL* /My sheet/TX\n R1.1\n"
        "*SIGNAL* /My sheet/RX\n R1.2 R2.1\n*SIGNAL* GND 12 0.5\n R2.2\n*END*\n"
    )
    board = load(path)
    assert [(net.name, len(net.pins)) for net in board.nets] == [
        ("/My sheet/TX", 1),
        ("/My sheet/RX", 2),
        ("GND", 1),
    ]
    assert [one.what for one in board.unused] == ["rule after the name of a signal"]
