"""Small xschem schematics written by hand: each rule of the format once."""

import pytest

from ohmtrail.importers import ImporterError, load

HEAD = "v {xschem version=3.4.5 file_version=1.2}\nG {}\nK {}\nV {}\nS {}\nE {}\n"
RES = """v {xschem version=3.4.5 file_version=1.2}
G {}
K {type=resistor
format="@name @pinlist @value"
template="name=R1 value=1k footprint=0603"}
V {}
S {}
B 5 -2.5 -32.5 2.5 -27.5 {name=P dir=inout pinnumber=1}
B 5 -2.5 27.5 2.5 32.5 {name=M dir=inout pinnumber=2}
"""
BLOCK = RES.replace("resistor", "subcircuit").replace("@value", "@symname")
LABEL = "C {{lab_pin.sym}} {} {} 0 0 {{name=l lab={}}}\n"


@pytest.fixture
def sheet(tmp_path):
    (tmp_path / "r.sym").write_text(RES)
    (tmp_path / "block.sym").write_text(BLOCK)

    def write(*pieces, name="top.sch"):
        (tmp_path / name).write_text(HEAD + "".join(pieces))
        return tmp_path / name

    return write


def part(ref, x=0, y=0, turn="0 0", symbol="r.sym", more=""):
    return f"C {{{symbol}}} {x} {y} {turn} {{name={ref} {more}}}\n"


def nets(path):
    return {net.name: {p.key for p in net.pins} for net in load(path).nets}


def test_labels_name_and_join(sheet):
    path = sheet(
        part("R1"),
        part("R2", 500),
        LABEL.format(0, -30, "VIN"),
        LABEL.format(500, -30, "VIN"),
        "N 0 30 0 80 {lab=#net1}\nN -50 50 50 60 {}\nN -50 55 0 55 {}\n",
        part("R3", -50, 85),
    )
    assert nets(path) == {
        "VIN": {"R1.1", "R2.1"},
        # The slanted wire only crosses; the one at y = 55 ends on the middle.
        "Net-(R1-Pad2)": {"R1.2", "R3.1"},
    }


@pytest.mark.parametrize(
    ("turn", "end"),
    [("0 0", (0, 30)), ("1 0", (-30, 0)), ("2 0", (0, -30)), ("3 0", (30, 0))],
)
@pytest.mark.parametrize("flip", [0, 1])
def test_turned_and_flipped(sheet, turn, end, flip):
    turn = turn[:2] + str(flip)
    x, y = end
    if flip and x:
        pass  # both pins sit on the axis that a flip keeps
    assert nets(sheet(part("R1", turn=turn), LABEL.format(x, y, "A"))) == {
        "A": {"R1.2"}
    }


def test_vectors_take_the_bits_of_a_bus_in_turn(sheet):
    path = sheet(
        part("R[3:0]"), LABEL.format(0, -30, "D[1:0]"), LABEL.format(0, 30, "Z")
    )
    assert nets(path) == {
        "D[1]": {"R[3].1", "R[1].1"},
        "D[0]": {"R[2].1", "R[0].1"},
        "Z": {"R[3].2", "R[2].2", "R[1].2", "R[0].2"},
    }


def test_two_labels_on_one_net_are_one_net_with_an_alias(sheet):
    """xschem warns of a short and keeps both names; copper does not."""
    path = sheet(part("R1"), LABEL.format(0, -30, "A"), LABEL.format(0, -30, "B"))
    board = load(path)
    assert [(net.name, net.aliases) for net in board.nets] == [("A", ("B",))]


def test_blocks_open_by_label_and_global_names_join(sheet):
    sheet(
        part("R1"),
        "C {ipin.sym} 0 -30 0 0 {name=p1 lab=P}\n",
        "C {gnd.sym} 0 30 0 0 {name=g1 lab=GND}\n",
        name="block.sch",
    )
    path = sheet(
        part("x1", symbol="block.sym"),
        LABEL.format(0, -30, "IN"),
        part("R9", 500),
        "C {gnd.sym} 500 30 0 0 {name=g1 lab=GND}\n",
    )
    board = load(path)
    assert nets(path) == {"IN": {"x1/R1.1"}, "GND": {"x1/R1.2", "R9.2"}}
    assert board.sheets == ("/", "/x1/")
    told = [item.where for item in board.unused]
    assert told == ["/x1.M"]


def test_a_block_without_a_schematic_is_a_part(sheet):
    path = sheet(part("x1", symbol="block.sym"), LABEL.format(0, -30, "IN"))
    assert nets(path) == {"IN": {"x1.1"}}


def test_a_block_that_contains_itself_is_an_error(sheet):
    path = sheet(part("x1", symbol="block.sym"), name="block.sch")
    with pytest.raises(ImporterError, match=r"block\.sch:7: found block 'x1' that"):
        load(path)


def test_parts_to_ignore_and_values(sheet):
    board = load(
        sheet(
            part("R1", more="value=4k7"),
            part("R2", 500, more="spice_ignore=true"),
            part("R3", 900),
        )
    )
    assert [(p.ref, p.value, p.footprint) for p in board.parts] == [
        ("R1", "4k7", "0603"),
        ("R3", "1k", "0603"),
    ]
    assert [(u.what, u.count) for u in board.unused] == [
        ("part marked spice_ignore", 1)
    ]


def test_parts_that_their_symbol_has_ignored_are_counted(sheet, tmp_path):
    # xschem manual, symbol properties: spice_ignore stands on symbols too.
    ignored = RES.replace("type=resistor", "type=resistor\nspice_ignore=true")
    assert ignored != RES
    (tmp_path / "i.sym").write_text(ignored)
    (tmp_path / "probe.sym").write_text(RES.replace("type=resistor", "type=probe"))
    board = load(
        sheet(
            part("R1"),
            part("R2", 500, symbol="i.sym"),
            part("R3", 700, symbol="i.sym"),
            part("p1", 900, symbol="probe.sym", more="spice_ignore=false"),
        )
    )
    assert [p.ref for p in board.parts] == ["R1"]
    assert [(u.what, u.count) for u in board.unused] == [
        ("part marked spice_ignore", 2)
    ]


def test_embedded_symbols(sheet, tmp_path):
    (tmp_path / "r.sym").unlink()
    body = RES.partition("V {}")[0].partition("\n")[2] + RES.partition("S {}\n")[2]
    path = sheet(part("R1"), f"[\n{body}]\n", LABEL.format(0, 30, "A"))
    assert nets(path) == {"A": {"R1.2"}}


def test_nothing_outside_the_folder_is_opened(sheet, tmp_path):
    inner = tmp_path / "project"
    inner.mkdir()
    (inner / "link.sym").symlink_to(tmp_path / "r.sym")
    (inner / "own.sym").write_text(RES)
    names = ("../r.sym", str(tmp_path / "r.sym"), "link.sym", "own.sym")
    (inner / "top.sch").write_text(
        HEAD + "".join(part(f"R{k}", k * 500, symbol=n) for k, n in enumerate(names))
    )
    board = load(inner / "top.sch")
    assert [p.ref for p in board.parts] == ["R3"]
    assert sum("not found" in item.what for item in board.unused) == 3


def test_blocks_in_blocks_do_not_explode(sheet, tmp_path):
    for depth in range(30):
        (tmp_path / f"b{depth}.sym").write_text(BLOCK)
        inside = f"b{depth + 1}.sym" if depth < 29 else "r.sym"
        sheet(
            part("x1", symbol=inside),
            part("x2", 500, symbol=inside),
            name=f"b{depth}.sch",
        )
    with pytest.raises(ImporterError, match="found more than 20000 blocks"):
        load(tmp_path / "b0.sch")
