"""Marks on every KiCad schematic of the corpus, with KiCad as the judge."""

import pytest
from _marks import files_in, kicad_netlist, kicad_svgs, lines_in, marks_in
from _oracles import designs

from ohmtrail.cli import main
from ohmtrail.importers import load
from ohmtrail.importers.kicad_schematic.drawn import drawn_sheets
from ohmtrail.netanalysis.recognise import recognise

KICAD = [
    one
    for one in designs("kicad6+", "kicad_demo", "kicad_qa")
    if one.values[0] is None or one.values[0].root.suffix == ".kicad_sch"
]


def busiest_rail(root) -> str:
    """The rail with most pins that is not ground; any net where there is no rail."""
    board = load(root)
    circuit = recognise(board)
    pins = {net.name: len(net.pins) for net in board.nets if net.name}
    rails = [rail.net for rail in circuit.rails] or list(pins)
    return max((n for n in rails if n not in circuit.ground), key=pins.__getitem__)


@pytest.mark.parametrize("design", KICAD)
def test_kicad_reads_the_marked_copy_as_the_original(design, tmp_path, capfd):
    root, out = design.root, tmp_path / "out"
    rail = busiest_rail(root)
    assert main(["mark", str(root), "--rail", rail, "--out", str(out)]) == 0
    (copy,) = out.rglob(root.name)
    # Where the sheets lie in several folders the copy has those folders too.
    base = root.parents[len(copy.relative_to(out).parts) - 1]

    wires = 0
    for sheet in drawn_sheets(root):
        wanted = {
            ((wire.x1_mm, wire.y1_mm), (wire.x2_mm, wire.y2_mm))
            for wire in sheet.wires
            if rail in wire.nets
        }
        here = out / sheet.path.resolve().relative_to(base.resolve())
        assert wanted <= set(lines_in(here))
        wires += len(wanted)
    assert wires or marks_in(copy)

    assert kicad_netlist(copy, tmp_path / "after.net") == kicad_netlist(
        root, tmp_path / "before.net"
    )
    pictures = kicad_svgs(copy, tmp_path / "svg")
    # One picture a use of a sheet; two uses of one path in words share a file.
    assert pictures
    assert all(path.stat().st_size > 1000 for path in pictures)

    assert main(["unmark", str(copy)]) == 0
    capfd.readouterr()
    for name, data in files_in(out).items():
        assert data == (base / name).read_bytes(), name
