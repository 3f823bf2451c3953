"""IPC-D-356: columns, aliases, units; and files that other programs wrote."""

import csv
import re

import pytest
from _operations import operations
from _oracles import (
    board_nodes,
    corpus_file,
    corpus_files,
    partition_differences,
    unknown_pins,
)

from ohmtrail.importers import ParseError, load
from ohmtrail.netanalysis.board import Unused


def record(
    net="NET_A",
    ref="R1",
    pin="1",
    *,
    code="327",
    mid=" ",
    hole="",
    access="A01",
    x="+010000",
    y="+020000",
    tail="X0512Y0591R180 S1",
):
    """One record; a long reference pushes what follows, as some programs do."""
    return (
        f"{code}{net:14}   {ref:6}-{pin:4}{mid}{hole:6}{access}X{x}Y{y}{tail}".rstrip()
    )


HEAD = "C  a board drawn by hand\nP  JOB   pump\nP  UNITS CUST 0\n"


def read(tmp_path, *lines, head=HEAD, end="\n999\n"):
    path = tmp_path / "pump.d356"
    path.write_text(head + "\n".join(lines) + end)
    return load(path)


def nets(board):
    return {n.name: [p.key for p in n.pins] for n in board.nets}


def error(tmp_path, *lines, **more):
    with pytest.raises(ParseError) as caught:
        read(tmp_path, *lines, **more)
    message = str(caught.value)
    assert "\n" not in message
    return message.replace(str(tmp_path / "pump.d356"), "FILE")


def test_the_columns_of_the_standard(tmp_path):
    board = read(
        tmp_path,
        record(),
        record("GND", "R1", "2", access="A02", y="-000200"),
        record("GND", "J1", "1", code="317", hole="D0350P", access="A00"),
        record("N/C", "J1", "2", code="317", hole="D0350P", access="A00"),
        record("", "J1", "3", code="317", hole="D0350P", access="A00"),
        record("GND", "VIA", "", code="317", mid="M", hole="D0150P", access="A00"),
        record("", "", "", code="367", hole="D1250U", access="A00"),
    )
    assert (board.name, board.format, board.version) == ("pump", "ipc_d356", "CUST 0")
    assert nets(board) == {"NET_A": ["R1.1"], "GND": ["R1.2", "J1.1"]}
    r1, j1 = board.parts
    # X+010000 in ten-thousandths of an inch is 25.4 mm.
    assert [(p.x_mm, p.y_mm, p.side) for p in r1.pins] == [
        (25.4, -50.8, "top"),
        (25.4, 0.508, "bottom"),
    ]
    assert [(p.number, p.net, p.side) for p in j1.pins] == [
        ("1", "GND", "both"),
        ("2", None, "both"),
        ("3", None, "both"),
    ]
    assert (r1.side, j1.side, r1.x_mm) == ("", "", None)
    assert board.unused == (
        Unused("via", "pump.d356"),
        Unused("hole or point without a part", "pump.d356"),
    )


def test_the_record_of_the_manual(tmp_path):
    """Drill .0150 in, x .6647, y 1.2900 in."""
    text = "317+5VDC            J1    -1    D0150PA00X 006647Y 012900X0000          S3"
    pin = read(tmp_path, text).parts[0].pins[0]
    assert (pin.x_mm, pin.y_mm) == (
        pytest.approx(0.6647 * 25.4),
        pytest.approx(-1.29 * 25.4),
    )


@pytest.mark.parametrize(
    ("words", "mm"),
    [
        ("CUST", 25.4),
        ("CUST 0", 25.4),
        ("CUST 1", 10),
        ("CUST 2", 25.4),
        ("SI", 10),
        ("cust 1", 10),
    ],
)
def test_units(tmp_path, words, mm):
    board = read(tmp_path, record(), head=f"P  UNITS {words}\n")
    assert board.parts[0].pins[0].x_mm == mm
    assert board.version == words.upper()


def test_no_units_are_said_to_be_taken_as_inches(tmp_path):
    board = read(tmp_path, record(), head="P  JOB x\n")
    assert board.parts[0].pins[0].x_mm == 25.4
    assert board.unused == (
        Unused("no UNITS, taken as CUST 0 (0.0001 inch)", "pump.d356"),
    )


def test_solder_mask_where_some_programs_put_it(tmp_path):
    board = read(tmp_path, record(tail="X0512Y0591R180S1"), record(ref="R2"))
    assert board.unused == (
        Unused("solder mask in column 72, where the standard has 73", "pump.d356"),
    )


def test_numbers_padded_with_blanks(tmp_path):
    line = "317GND              DMX   -3    D  40PA00X   7050Y  13900X 600Y1200R 90"
    pin = read(tmp_path, line).parts[0].pins[0]
    assert (pin.key, pin.x_mm, pin.y_mm) == ("DMX.3", 17.907, -35.306)


def test_references_longer_than_six(tmp_path):
    board = read(
        tmp_path,
        record("A", "COMMUNICATION-1", "2"),
        record("A", "COMMUNICATION-1", "12", code="317", hole="D0350P", access="A00"),
    )
    assert nets(board) == {"A": ["COMMUNICATION-1.2", "COMMUNICATION-1.12"]}
    assert board.parts[0].pins[1].side == "both"
    assert board.unused == (Unused("net or reference longer than its columns",
                                   "COMMUNICATION-1", 2),)  # fmt: skip


def test_nets_longer_than_fourteen(tmp_path):
    name = "A_NAME_OF_TWENTY_ONE_"
    board = read(tmp_path, record(name, "R1", "2"), record(name, "CONNECTOR", "12"))
    assert nets(board) == {name: ["R1.2", "CONNECTOR.12"]}


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("P  NNAME1 A_REALLY_LONG_NET_NAME", "NNAME1"),
        ("P  NNAME 001 A_REALLY_LONG_NET_NAME", "NNAME001"),
        ("P  NNAMEm0000 A_REALLY_LONG_NET_NAME", "NNAMEm0000"),
        ("P  NNAMEm0000 A_REALLY_LONG_NET_NAME", "m0000"),
        ("C  NNAMEm0000 A_REALLY_LONG_NET_NAME", "m0000"),
    ],
)
def test_aliases(tmp_path, line, word):
    board = read(tmp_path, line, record(word), record("1", "R2"))
    assert nets(board) == {"A_REALLY_LONG_NET_NAME": ["R1.1"], "1": ["R2.1"]}


def test_aliases_stay_apart(tmp_path):
    """Some programs cut the long names too, so that two nets get one name."""
    board = read(
        tmp_path,
        "C  NNAMEm1 CUT_SHORT",
        "C  NNAMEm2 CUT_SHORT",
        "C  NNAMEm3 GND",
        record("m1", "R1"),
        record("m2", "R2"),
        record("m3", "R3"),
        record("GND", "R4"),
    )
    assert nets(board) == {
        "CUT_SHORT": ["R1.1"],
        "CUT_SHORT#m2": ["R2.1"],
        "GND#m3": ["R3.1"],
        "GND": ["R4.1"],
    }


def test_pads_of_one_number_are_one_pin(tmp_path):
    board = read(
        tmp_path,
        record("N/C", pin="MP", x="+010000"),
        record("GND", pin="MP", x="+030000"),
        record("GND", pin="MP", x="+040000"),
    )
    assert nets(board) == {"GND": ["R1.MP"]}
    assert board.parts[0].pins[0].x_mm == 25.4


def test_names_cut_short_join_nothing(tmp_path):
    # CONNECTOR_A and CONNECTOR_B, cut to six letters; pins 1 are both on GND.
    one = [record(net, "CONNEC", str(n)) for n, net in enumerate(("GND", "A", "B"), 1)]
    two = [record(net, "CONNEC", str(n)) for n, net in enumerate(("GND", "C", "D"), 1)]
    expected = {
        "GND": ["CONNEC.1", "CONNEC#2.1"],
        "A": ["CONNEC.2"],
        "B": ["CONNEC.3"],
        "C": ["CONNEC#2.2"],
        "D": ["CONNEC#2.3"],
    }
    board = read(tmp_path, *one, *two)
    assert nets(board) == expected
    assert board.unused == (
        Unused("part with pins on other nets, cut short, called CONNEC#2 here",
               "CONNEC"),
    )  # fmt: skip
    apart = read(tmp_path, *one, record("E", "X1"), *two)
    assert nets(apart) == {**expected, "E": ["X1.1"]}
    # SHIELD1 and SHIELD2, cut to four letters.
    board = read(tmp_path, record("A", "J1", "SHIE"), record("B", "J1", "SHIE"))
    assert nets(board) == {"A": ["J1.SHIE"], "B": ["J1.SHIE#2"]}


def test_what_is_counted(tmp_path):
    board = read(
        tmp_path,
        "378NET_A          L01 X0100 X+1Y+2",
        "078 X+3Y+4",
        "379NET_A  NET_B",
        "389BOARD_EDGE         X0Y0 X22500",
        "089                   X1300Y240",
        "390R1 10k",
        "P  IMAGE PRIMARY",
        record(),
        "P  IMAGE 2",
        record(ref="R1", net="OTHER"),
        "P  IMAGE PANEL",
        end="\n999\nmore\n",
    )
    assert nets(board) == {"NET_A": ["R1.1"]}
    assert [(u.what, u.count) for u in board.unused] == [
        ("conductor", 1),
        ("continuation record", 2),
        ("adjacency record", 1),
        ("outline record", 1),
        ("record of a part's value", 1),
        ("record of a further image", 1),
        ("line behind the end (999)", 1),
    ]


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (["327short"], "FILE:4: found 'nothing' in column 39, expected "
         "'AnnX...Y...'"),
        ([record(x="+01x000")], "FILE:4: found 'A01X+01x000Y+020000' in column 39, "
         "expected 'AnnX...Y...'"),
        ([record(), "hello"], "FILE:5: found 'hello', expected a record (317...), P "
         "or C"),
        (["P  UNITS MILES"], "FILE:4: found units 'MILES', expected CUST, CUST 0, "
         "CUST 1, CUST 2, SI"),
        (["P  UNITS SI"], "FILE:4: found units 'SI', but they were 'CUST 0'"),
        ([record().replace("-1", "_1")], "FILE:4: found '_' in column 27, expected "
         "'-' between reference and pin"),
        ([record(net="A_NAME_OF_16_XYZ")[:20] + record()[20:]], "FILE:4: found 'YZ ' "
         "in columns 18 to 20, expected blanks behind the net"),
    ],
)  # fmt: skip
def test_one_line_says_what_is_wrong(tmp_path, lines, message):
    assert error(tmp_path, *lines) == message


def test_a_file_without_its_end(tmp_path):
    assert error(tmp_path, record(), end="\n") == (
        "FILE:4: found end of file, expected 999"
    )


def test_a_file_without_records(tmp_path):
    assert error(tmp_path) == "FILE: found no test record, expected some (317...)"


def test_work_grows_with_size_only(tmp_path):
    assert _work(tmp_path, 4000) < 5 * _work(tmp_path, 1000)


def _work(tmp_path, count):
    nets, parts = count // 50, count // 3 + 1
    lines = [record(f"N{n % nets}", f"R{n % parts}", str(n // parts)) for n in
             range(count)]  # fmt: skip
    same = [record(f"N{n}", "CONNEC", "1") for n in range(nets)]
    path = tmp_path / "big.d356"
    path.write_text(HEAD + "\n".join(lines + same) + "\n999\n")

    def run():
        assert load(path).pin_count == count + nets

    return operations(run)


# Files that other programs wrote -----------------------------------------------


def test_the_known_answer():
    """Counts that pcb-tools' own test has for its file (ipc-d-356.ipc)."""
    board = load(corpus_file("formats/ipc356/ipc-d-356.ipc"))
    assert len(board.parts) == 21
    assert board.nets[-1].name == "A_REALLY_LONG_NET_NAME"
    counts = {u.what: u.count for u in board.unused}
    assert counts == {"via": 14, "outline record": 1, "continuation record": 1}
    assert board.pin_count == 105 - 14


def test_a_file_of_another_program_by_plain_columns():
    path = corpus_file("formats/ipc356/08_057494d-ipc356.ipc")
    lines = path.read_text().splitlines()
    long = {line[8:13]: line[14:].strip() for line in lines if "NNAMEm" in line}
    nodes = {}
    for line in lines:
        if line[:3] in ("317", "327") and line[20:26].strip() != "VIA":
            net = line[3:17].strip()
            name = None if net == "N/C" else long.get(net, net)
            nodes[line[20:26].strip(), line[27:31].strip()] = name
    board = load(path)
    assert len(nodes) > 250
    ours = board_nodes(board)
    assert ours.keys() == nodes.keys()
    assert {k: v for k, v in ours.items() if v != nodes[k]} == {}


@pytest.mark.parametrize("path", corpus_files("formats/ipc356/kicad6/*.pads.csv"))
def test_pads_of_the_board_that_was_exported(path):
    """Nets of the pads as pcbnew lists them, cut as KiCad 6 cuts them."""
    with open(path, encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["pad"] and row["net"]]
    nodes = {(row["ref"][:6], row["pad"][:4]): row["net"] for row in rows}
    for suffix in (".d356", ".strict.d356"):
        board = load(str(path).replace(".pads.csv", suffix))
        assert partition_differences(board, nodes) == []
        connected = {k: v for k, v in board_nodes(board).items() if v is not None}
        assert unknown_pins(connected, nodes) == ([], [])
        names = {(net, nodes[key].upper()) for key, net in connected.items()}
        cut = [(a, b) for a, b in names if a != b[-14:] and "#" not in a]
        assert cut == []


LAYOUTS = {
    "bms-c1": "kicad/bms-c1.kicad_pcb",
    "mjpower-ss": "hw/mjpower-ss/mjpower_ss.kicad_pcb",
    "mppt-2420-hc": "kicad/mppt-2420-hc.kicad_pcb",
    "vesc4": "design/BLDC_4.kicad_pcb",
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_exports_equal_their_layout(name):
    """KiCad 9 cuts refs to 6 and pins to 4 characters; positions to 0.0001 inch."""
    export = load(corpus_file(f"nets/{name}/{name}.kicad-cli-9.0.8.d356"))
    layout = load(corpus_file(f"boards/{name}/{LAYOUTS[name]}"))
    pins = {(p.ref[:6], p.number[:4]): p for part in layout.parts for p in part.pins}
    nodes = {key: p.net for key, p in pins.items()}
    assert partition_differences(export, nodes) == []
    here, there = unknown_pins(export, nodes)
    assert here == []
    # Pads without copper on the outside cannot be tested, so are not exported.
    assert [key for key in there if pins[key].side] == []
    offsets, sides = set(), []
    for key, net in board_nodes(export).items():
        pin, other = export.part_by_ref[key[0]].pin(key[1]), pins[key]
        name = (other.net or "").upper().replace(" ", "?")
        old = re.sub(r"~(\w+)", r"~{\1}", name)  # bars as KiCad 5 wrote them
        assert net is None or "#" in net or net in (name[-14:], old[-14:])
        offsets.add((round(pin.x_mm - other.x_mm, 1), round(pin.y_mm - other.y_mm, 1)))
        if pin.side != other.side:
            sides.append(key)
    assert sides == []
    assert len(offsets) <= 4  # one origin for all pads, up to rounding
