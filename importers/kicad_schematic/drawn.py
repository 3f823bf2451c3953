"""Where the sheets of a schematic show its parts, pins and wires, and what is free.

For those who draw on a copy of the sheets.  Lengths are millimetres, y down.
"""

from pathlib import Path

from ohmtrail.importers._drawn import (
    DrawnPin,
    DrawnSheet,
    DrawnSymbol,
    DrawnWire,
)
from ohmtrail.importers.kicad_schematic._extents import Body, Box, Looks, looks_of
from ohmtrail.importers.kicad_schematic._gather import Gathered
from ohmtrail.importers.kicad_schematic._graph import Graph
from ohmtrail.importers.kicad_schematic._hierarchy import read_design
from ohmtrail.importers.kicad_schematic._read import netlisted
from ohmtrail.importers.kicad_schematic._screen import Screen
from ohmtrail.importers.kicad_schematic._subgraph import Placed, Subgraph
from ohmtrail.importers.kicad_schematic._text import expand
from ohmtrail.importers.kicad_schematic._touch import pin_position

__all__ = [
    "DrawnPin",
    "DrawnSheet",
    "DrawnSymbol",
    "DrawnWire",
    "drawn_sheets",
    "sheet_files",
]

_MM = 10_000
#: A body without any drawing is so wide, in millimetres.
_LEAST_MM = 1.27
#: Fields that name a file of models, since version 7 and before.
_MODELS = ("Sim.Library", "Spice_Lib_File")


def drawn_sheets(path: Path) -> tuple[DrawnSheet, ...]:
    """Return what every file of a design shows, the root's first.

    Parameters
    ----------
    path : Path
        The root ``.kicad_sch``.

    Raises
    ------
    ParseError
        As reading the board does.

    Notes
    -----
    Some two times what reading the board takes: each file is parsed once more for
    what the netlister skips.  Wires of a bus belong to no net.
    """
    design, gathered, graph = netlisted(path, keep_wires=True)
    placed: list[list[Placed]] = [[] for _ in design.uses]
    for one in gathered.placed:
        placed[one.use].append(one)
    nets = _pin_nets(graph)
    uses: dict[int, list[int]] = {}
    for use in design.uses:
        uses.setdefault(id(use.screen), []).append(use.index)
    sheets = []
    for numbers in uses.values():
        screen = design.uses[numbers[0]].screen
        looks = looks_of(screen)
        rows = zip(*(placed[use] for use in numbers), strict=True)
        sheets.append(
            DrawnSheet(
                screen.path,
                screen.version,
                looks.page,
                tuple(design.uses[use].path for use in numbers),
                _wires(screen, gathered, graph, numbers),
                tuple(_symbol(row, looks, nets) for row in rows),
                tuple(_mm(box) for box in looks.taken),
                tuple(
                    (ax / _MM, ay / _MM, bx / _MM, by / _MM)
                    for (ax, ay), (bx, by) in looks.lines
                ),
            )
        )
    return tuple(sheets)


def sheet_files(path: Path) -> tuple[list[Path], list[str]]:
    """Return the files of a design, and what its parts are simulated with.

    Returns
    -------
    (files, models)
        The sheets, the root's first; names of model files as the parts' fields have
        them.

    Raises
    ------
    ParseError
        For a damaged or missing sheet, and for one that is named by an absolute
        path: a copy of the design would still show the original.
    """
    design = read_design(Path(path))
    for screen in design.screens.values():
        for sheet in screen.sheets:
            name = sheet.file.replace("${KIPRJMOD}", ".").replace("\\", "/")
            name = expand(name, design.project.environment)
            if name.startswith("/") or name[1:3] == ":/":
                raise screen.error(
                    f"found the absolute path {sheet.file!r} of sheet {sheet.name!r}, "
                    "expected one relative to the project",
                    sheet.node,
                )
    models = {
        text: None
        for screen in design.screens.values()
        for symbol in screen.symbols
        for key, text in symbol.fields
        if key in _MODELS and text
    }
    return list(design.screens), list(models)


def _pin_nets(graph: Graph) -> dict[int, str]:
    return {
        id(pin): graph.name(subgraph)
        for subgraph in graph.driven
        for pin in subgraph.pins
    }


def _wires(
    screen: Screen, gathered: Gathered, graph: Graph, uses: list[int]
) -> tuple[DrawnWire, ...]:
    def name(subgraph: Subgraph | None) -> str | None:
        return None if subgraph is None else graph.name(subgraph.final()) or None

    by_use = [[name(one) for one in gathered.wires[use]] for use in uses]
    return tuple(
        DrawnWire(ax / _MM, ay / _MM, bx / _MM, by / _MM, nets)
        for ((ax, ay), (bx, by)), nets in zip(
            screen.wires, zip(*by_use, strict=True), strict=True
        )
    )


def _symbol(row: tuple[Placed, ...], looks: Looks, nets: dict[int, str]) -> DrawnSymbol:
    first = row[0]
    symbol = first.symbol
    names = (symbol.lib_name or symbol.lib_id, symbol.lib_id)
    body = looks.body(names, first.unit, symbol.style)
    by_number = [{pin.number: pin for pin in one.pins} for one in row]
    pins = []
    for at, pin in enumerate(first.pins):
        here = pin_position(symbol, pin.lib.x, pin.lib.y)
        root = body.roots.get((pin.lib.number, (pin.lib.x, pin.lib.y)))
        root = here if root is None else pin_position(symbol, *root)
        same = [
            one.pins[at] if one.unit == first.unit else known.get(pin.number)
            for one, known in zip(row, by_number, strict=True)
        ]
        pins.append(
            DrawnPin(
                pin.number,
                here[0] / _MM,
                here[1] / _MM,
                root[0] / _MM,
                root[1] / _MM,
                pin.lib.hidden,
                tuple(None if one is None else nets.get(id(one)) for one in same),
            )
        )
    power = first.lib.power != "" or first.ref.startswith("#")
    box = _body_box(first, body)
    return DrawnSymbol(tuple(one.ref for one in row), power, _mm(box), tuple(pins))


def _body_box(placed: Placed, body: Body) -> Box:
    symbol = placed.symbol
    points = body.points or list(body.roots.values()) or [(0, 0)]
    spots = [pin_position(symbol, x, y) for x, y in points]
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    left, right = _spread(min(xs), max(xs))
    top, bottom = _spread(min(ys), max(ys))
    return left, top, right, bottom


def _spread(low: int, high: int) -> tuple[int, int]:
    """Widen a span that is next to nothing."""
    lacking = max(0, round(_LEAST_MM * _MM) - (high - low)) // 2
    return low - lacking, high + lacking


def _mm(box: Box) -> tuple[float, float, float, float]:
    ax, ay, bx, by = box
    return (
        min(ax, bx) / _MM,
        min(ay, by) / _MM,
        max(ax, bx) / _MM,
        max(ay, by) / _MM,
    )
