"""Small gEDA pages written by hand: each rule of the format once.

The answers follow the gEDA file format document and lepton-netlist's sources.
"""

import pytest

from ohmtrail.importers import ImporterError, load

RESISTOR = """v 20201216 2
P 0 0 100 0 1 0 0
{
T 0 0 5 8 0 1 0 0 1
pinnumber=1
T 0 0 5 8 0 1 0 0 1
pintype=pas
}
P 900 0 800 0 1 0 0
{
T 0 0 5 8 0 1 0 0 1
pinnumber=2
}
T 0 0 5 8 0 1 0 0 1
device=RESISTOR
T 0 0 5 8 0 1 0 0 1
refdes=R?
"""
GROUND = """v 20201216 2
P 0 0 0 -100 1 0 0
{
T 0 0 5 8 0 1 0 0 1
pinnumber=1
}
T 0 0 5 8 0 1 0 0 1
net=GND:1
"""


def attach(*attributes):
    lines = [f"T 0 0 5 10 0 0 0 0 1\n{a}\n" for a in attributes]
    return "{\n" + "".join(lines) + "}\n"


def part(ref, x=0, y=0, angle=0, mirror=0, symbol="r.sym", more=()):
    return f"C {x} {y} 1 {angle} {mirror} {symbol}\n" + attach(f"refdes={ref}", *more)


@pytest.fixture
def page(tmp_path):
    (tmp_path / "r.sym").write_text(RESISTOR)
    (tmp_path / "gnd.sym").write_text(GROUND)
    # Without this line an installed symbol of the same name would win.
    (tmp_path / "gafrc").write_text('(component-library ".")\n')

    def write(*pieces, name="top.sch"):
        (tmp_path / name).write_text("v 20201216 2\n" + "".join(pieces))
        return tmp_path / name

    return write


def nets(path):
    """The nets as sets of probe points, the lone pins left out."""
    return {net.name: {p.key for p in net.pins} for net in load(path).nets}


def test_a_pin_on_the_middle_of_a_net_connects_and_a_crossing_does_not(page):
    path = page(
        part("R1", 500, 0),
        "N 0 -500 0 500 4\nN 0 0 500 0 4\n",  # ends on the middle of the first
        part("R2", 0, 500, 90),
        "N 1400 0 2000 0 4\nN 1700 -500 1700 500 4\n",  # cross
        part("R3", 2000, 0),
        part("R4", 1700, 500, 90),
    )
    assert nets(path) == {
        "Net-(R1-Pad1)": {"R1.1", "R2.1"},
        "Net-(R1-Pad2)": {"R1.2", "R3.1"},
        "Net-(R4-Pad1)": {"R4.1"},
    }


@pytest.mark.parametrize(
    ("angle", "mirror", "end"),
    [
        (0, 0, (900, 0)),
        (90, 0, (0, 900)),
        (180, 0, (-900, 0)),
        (270, 0, (0, -900)),
        (0, 1, (-900, 0)),
        (90, 1, (0, -900)),
        (180, 1, (900, 0)),
        (270, 1, (0, 900)),
    ],
)
def test_turned_and_mirrored(page, angle, mirror, end):
    x, y = end
    path = page(part("R1", 0, 0, angle, mirror), part("R2", x, y, angle, mirror))
    assert nets(path) == {"Net-(R1-Pad2)": {"R1.2", "R2.1"}}


def test_names_join_and_power_symbols_name(page):
    path = page(
        part("R1"),
        "C 0 0 1 0 0 gnd.sym\n",
        part("R2", 5000, 0),
        "C 5000 0 1 0 0 gnd.sym\n",
        "N 900 0 1500 0 4\n" + attach("netname=OUT"),
        part("R3", 9000, 0),
        "N 9000 0 8000 0 4\n" + attach("netname=OUT"),
    )
    assert nets(path) == {"GND": {"R1.1", "R2.1"}, "OUT": {"R1.2", "R3.1"}}


def test_hidden_power_pins_and_what_is_attached_beats_the_symbol(page, tmp_path):
    text = (
        RESISTOR + "T 0 0 5 8 0 1 0 0 1\nnet=Vcc:14\nT 0 0 5 8 0 1 0 0 1\nnet=GND:7\n"
    )
    (tmp_path / "u.sym").write_text(text)
    path = page(
        part("U1", symbol="u.sym"),
        part("U2", 5000, symbol="u.sym", more=["net=+3V3:14"]),
    )
    board = load(path)
    assert nets(path) == {
        "Vcc": {"U1.14"},
        "GND": {"U1.7", "U2.7"},
        "+3V3": {"U2.14"},
    }
    assert board.part_by_ref["U1"].pin("14").name == "Vcc"


def test_slots_of_one_part(page, tmp_path):
    slots = "".join(
        f"T 0 0 5 8 0 1 0 0 1\n{a}\n"
        for a in ("numslots=2", "slot=1", "slotdef=1:1,2", "slotdef=2:3,4")
    )
    text = RESISTOR.replace("pinnumber=1", "pinseq=1\nT 0 0 5 8 0 1 0 0 1\npinnumber=1")
    text = text.replace("pinnumber=2", "pinseq=2\nT 0 0 5 8 0 1 0 0 1\npinnumber=2")
    (tmp_path / "rn.sym").write_text(text + slots)
    path = page(
        part("RN1", symbol="rn.sym"),
        part("RN1", 900, symbol="rn.sym", more=["slot=2"]),
    )
    assert nets(path) == {"Net-(RN1-Pad2)": {"RN1.2", "RN1.3"}}
    assert [pin.number for pin in load(path).parts[0].pins] == ["1", "2", "3", "4"]


def test_graphical_symbols_and_symbols_of_nets_are_no_parts(page):
    path = page(
        part("R1", more=["graphical=1"]), "C 0 0 1 0 0 gnd.sym\n", part("R2", 900)
    )
    assert [p.ref for p in load(path).parts] == ["R2"]


def test_value_is_the_attached_one_and_device_stands_in(page):
    path = page(part("R1", more=["value=4k7", "footprint=0603"]), part("R2", 5000))
    one, two = load(path).parts
    assert (one.value, one.footprint, one.library) == ("4k7", "0603", "RESISTOR")
    assert two.value == "RESISTOR"


def test_parts_without_a_reference_stay_apart(page):
    board = load(page(part("R?"), part("R?", 5000), "C 9000 0 1 0 0 r.sym\n"))
    assert [p.ref for p in board.parts] == ["R?", "R?#2", "U?"]
    assert sum("without a reference" in item.what for item in board.unused) == 3


def test_blocks_open_with_ports_by_label(page, tmp_path):
    block = RESISTOR.replace(
        "pinnumber=1", "pinnumber=1\nT 0 0 5 8 0 1 0 0 1\npinlabel=A"
    )
    block += "T 0 0 5 8 0 1 0 0 1\nsource=inner.sch\n"
    (tmp_path / "block.sym").write_text(block)
    page(part("A", 0, 0), part("R1", 900, 0), name="inner.sch")
    path = page(
        part("X1", symbol="block.sym"),
        part("R9", -900),
        part("X2", 5000, symbol="block.sym"),
    )
    board = load(path)
    assert [p.ref for p in board.parts] == ["R9", "X1/R1", "X2/R1"]
    assert board.sheets == ("/", "/X1/", "/X2/")
    told = [item for item in board.unused if "without a port" in item.what]
    assert {item.where for item in told} == {"/X1.2", "/X2.2"}


def test_a_block_that_contains_itself_is_an_error(page, tmp_path):
    source = RESISTOR + "T 0 0 5 8 0 1 0 0 1\nsource=top.sch\n"
    (tmp_path / "block.sym").write_text(source)
    path = page(part("X1", symbol="block.sym"))
    with pytest.raises(
        ImporterError, match=r"top\.sch:2: found block 'X1' that contains"
    ):
        load(path)


def test_blocks_in_blocks_do_not_explode(page, tmp_path):
    for depth in range(30):
        source = RESISTOR + f"T 0 0 5 8 0 1 0 0 1\nsource=p{depth + 1}.sch\n"
        (tmp_path / f"b{depth}.sym").write_text(source)
        page(
            part("X1", symbol=f"b{depth}.sym"),
            part("X2", 5000, symbol=f"b{depth}.sym"),
            name=f"p{depth}.sch",
        )
    page(part("R1"), name="p30.sch")
    with pytest.raises(ImporterError, match="found more than 20000 blocks"):
        load(tmp_path / "p0.sch")


def test_old_pins_connect_at_the_outer_end(page, tmp_path):
    old = RESISTOR.replace("v 20201216 2", "v 20000220")
    old = old.replace("P 0 0 100 0 1 0 0", "P 100 0 0 0 1")
    old = old.replace("P 900 0 800 0 1 0 0", "P 800 0 900 0 1")
    old = old.replace(" 8 0 1 0 0 1\n", " 8 0 1 0\n")
    (tmp_path / "r.sym").write_text(old)
    assert nets(page(part("R1"), part("R2", 900))) == {
        "Net-(R1-Pad2)": {"R1.2", "R2.1"}
    }


def test_libraries_outside_the_folder_are_not_opened(page, tmp_path):
    inner = tmp_path / "project"
    inner.mkdir()
    (inner / "gafrc").write_text('(component-library "..")\n')
    (inner / "link.sym").symlink_to(tmp_path / "r.sym")
    (inner / "top.sch").write_text(
        "v 20201216 2\n"
        + part("R1")
        + part("R2", symbol="../r.sym")
        + part("R3", symbol="link.sym")
        + part("R4", symbol="EMBEDDEDr.sym")
        + "C 0 0 1 0 0 EMBEDDEDq.sym\n[\n"
        + RESISTOR.partition("\n")[2]
        + "]\n"
        + attach("refdes=R5")
    )
    board = load(inner / "top.sch")
    assert [(p.ref, len(p.pins)) for p in board.parts][:4] == [
        ("R1", 0),
        ("R2", 0),
        ("R3", 0),
        ("R4", 0),
    ]
    assert len(board.part_by_ref["R5"].pins) == 2
    told = {item.what for item in board.unused}
    assert "symbol 'r.sym', not found: pins unknown" in told
    assert "library folder outside the project's folder, not opened" in told


def test_settings_that_leave_names_alone(page, tmp_path):
    block = RESISTOR + "T 0 0 5 8 0 1 0 0 1\nsource=inner.sch\n"
    (tmp_path / "block.sym").write_text(block)
    (tmp_path / "lepton.conf").write_text(
        "[netlist.hierarchy]\nmangle-refdes-attribute=false\nmangle-net-attribute=false\n"
    )
    page(part("R1"), "C 0 0 1 0 0 gnd.sym\n", name="inner.sch")
    path = page(
        part("X1", symbol="block.sym"), part("R2", 5000), "C 5000 0 1 0 0 gnd.sym\n"
    )
    assert nets(path) == {"GND": {"R1.1", "R2.1"}}


def test_overbars_are_written_as_elsewhere(page, tmp_path):
    text = RESISTOR.replace(
        "pinnumber=1", "pinnumber=1\nT 0 0 5 8 0 1 0 0 1\npinlabel=\\_CS\\_"
    )
    (tmp_path / "r.sym").write_text(text)
    assert load(page(part("U1"))).parts[0].pins[0].name == "~{CS}"
