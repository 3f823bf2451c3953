"""A layout file to a board."""

import re
from pathlib import Path

from ohmtrail.importers._arcs import TOO_LONG
from ohmtrail.importers._bounds import EDGE_POINTS_MAX, PARTS_MAX, PINS_MAX, too_many
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._sexpr import Node
from ohmtrail.importers._text import read_text
from ohmtrail.importers.kicad_layout._footprint import (
    Footprint,
    NodeError,
    child,
    number,
    read_footprint,
)
from ohmtrail.importers.kicad_layout._layers import Sides
from ohmtrail.importers.kicad_layout._outline import OUTLINE_WORDS, edge
from ohmtrail.importers.kicad_layout._parts import make_parts
from ohmtrail.importers.kicad_layout._text import LISTS, parse
from ohmtrail.netanalysis.board import Board, Unused, make_board

__all__ = ["read"]

_COPPER = re.compile(r"\((?:segment|via|arc|zone)\s")


def read(path: Path) -> Board:
    """Read a ``.kicad_pcb`` file, plain or gzipped.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Board
        Pads as pins; nets as the pads have them, whether routed or not.

    Raises
    ------
    ImporterError
        If the file cannot be read or does not hold a layout.

    Notes
    -----
    O(length).  Of drawings the edges of the board are read; tracks, vias and zones
    are counted, not read.
    """
    text, tree, unused = parse(read_text(path), path)
    try:
        return _board(text, tree, path, unused)
    except NodeError as error:
        line = LISTS.line_of(text, tree, error.node)
        raise ParseError(error.message, path, line) from None


def _board(text: str, tree: Node, path: Path, unused: list[Unused]) -> Board:
    if not tree or tree[0] != "kicad_pcb":
        found = tree[0][:40] if tree and isinstance(tree[0], str) else ""
        raise NodeError(f"found ({found} ...), expected (kicad_pcb ...)", tree)
    stated = child(tree, "version")
    if stated is None:
        raise NodeError("found no (version ...), expected one in (kicad_pcb ...)", tree)
    version = int(number(stated, 1))
    sides = Sides(child(tree, "layers") or [], version)
    nets: dict[str, str] = {}
    footprints: list[Footprint] = []
    outline: list[tuple[tuple[float, float], ...]] = []
    pads = points = 0
    for item in tree:
        if item.__class__ is not list or not item:
            continue
        if item[0] == "net":
            if len(item) > 2 and all(isinstance(word, str) for word in item[:3]):
                nets[item[1]] = item[2]
        elif item[0] in ("footprint", "module"):
            footprints.append(read_footprint(item, sides, nets))
            pads += len(footprints[-1].pads)
            if pads > PINS_MAX or len(footprints) > PARTS_MAX:
                raise too_many(path)
        elif item[0] in OUTLINE_WORDS:
            line = edge(item)
            if line is not None:
                outline.append(line)
                points += len(line)
                if points > EDGE_POINTS_MAX:
                    raise NodeError(TOO_LONG, item)
    parts, notes = make_parts(footprints)
    used = {pin.net for part in parts for pin in part.pins}
    order = [name for name in nets.values() if name in used]
    idle = sum(1 for name in nets.values() if name and name not in used)
    unused += notes
    if idle:
        unused.append(Unused("net without pads", path.name, idle))
    copper = len(_COPPER.findall(text))
    if copper:
        unused.append(
            Unused("track, via or zone: nets are those of the pads", path.name, copper)
        )
    sheets = dict.fromkeys(["/", *(part.sheet for part in parts)])
    return make_board(
        name=path.name.removesuffix(".gz").removesuffix(".kicad_pcb"),
        format="kicad_layout",
        version=str(version),
        parts=parts,
        net_order=order,
        sheets=sheets if len(sheets) > 1 else (),
        unused=unused,
        outline_mm=outline,
    )
