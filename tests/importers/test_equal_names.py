"""Many things of one name: numbered, in time that grows with the file alone."""

import pytest
from _kicad_drawing import Drawing, write
from _operations import operations

from ohmtrail.importers import load
from ohmtrail.importers._pin_names import name_after_pins


def kicad_schematic(count, folder):
    # Resistors that nobody has numbered yet, each on a wire of its own.
    drawing = Drawing(f"loose{count}")
    drawing.lib("t:R", [("1", "~", "passive", 0, 0), ("2", "~", "passive", 0, -10.16)])
    for n in range(count):
        drawing.symbol("t:R", "R?", (n * 5.08, 0))
        drawing.wire((n * 5.08, 0), (n * 5.08, -5.08))
    return write(folder, drawing)


def edif(count, folder):
    contents = "".join(
        f'(instance (rename i{n} "U") (viewRef v (cellRef r)))'
        f'(net (rename n{n} "N") (joined (portRef a (instanceRef i{n}))))\n'
        for n in range(count)
    )
    path = folder / f"{count}.edf"
    path.write_text(
        "(edif x (edifVersion 2 0 0) (edifLevel 0) (keywordMap (keywordLevel 0))"
        "(library l (edifLevel 0) (technology (numberDefinition))"
        "(cell r (cellType GENERIC) (view v (viewType NETLIST)"
        " (interface (port a))))"
        "(cell top (cellType GENERIC) (view v (viewType NETLIST) (interface)"
        f" (contents {contents}))))(design d (cellRef top (libraryRef l))))"
    )
    return path


def kicad_netlist(count, folder):
    nets = "".join(f'(net (code {n}) (name ""))\n' for n in range(count))
    path = folder / f"{count}.net"
    path.write_text(f'(export (version "E") (components) (nets {nets}))')
    return path


def test_equal_names_are_numbered(tmp_path):
    board = load(edif(4, tmp_path))
    assert [part.ref for part in board.parts] == ["U", "U#2", "U#3", "U#4"]
    assert [net.name for net in board.nets] == ["N", "N#2", "N#3", "N#4"]
    board = load(kicad_netlist(3, tmp_path))
    assert [net.name for net in board.nets] == [
        "Net-()",
        "Net-()_2",
        "Net-()_3",
    ]


def test_nets_of_equal_pins_keep_short_names():
    # Lepton and xschem: a reference on many parts, each on a wire of its own.
    nets = {}
    pins = [("R1", "1", node) for node in range(300)]
    name_after_pins(nets, {"Net-(R1-Pad1)"}, pins, dict.fromkeys(range(300), 2), int)
    assert len(set(nets.values())) == 300
    assert nets[0] == "Net-(R1-Pad1)_2"
    assert nets[299] == "Net-(R1-Pad1)_301"


@pytest.mark.parametrize("draw", [kicad_schematic, edif, kicad_netlist])
def test_work_grows_with_the_number_of_equal_names(draw, tmp_path):
    def work(count):
        path = draw(count, tmp_path)
        return operations(lambda: load(path))

    work(10)  # what is imported, and read once
    assert work(800) < 6 * work(200)
