"""An IPC-2581 file to a board."""

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_bytes
from ohmtrail.importers._xml import ElementError, find, line_of, parse_xml, required
from ohmtrail.importers.ipc_2581._components import Builder
from ohmtrail.importers.ipc_2581._nets import Copper, read_logical, read_pads
from ohmtrail.importers.ipc_2581._package import Land, read_package
from ohmtrail.importers.ipc_2581._parts_list import Listed, read_parts_list
from ohmtrail.importers.ipc_2581._profile import read_profile
from ohmtrail.netanalysis.board import Board, Unused, make_board

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["UNITS_MM", "read"]

#: Millimetres per unit.
UNITS_MM = {"MILLIMETER": 1.0, "MICRON": 0.001, "INCH": 25.4, "MIL": 0.0254}

_COPPER = frozenset(("CONDUCTOR", "SIGNAL", "PLANE", "MIXED", "CONDFILM", "CONDFOIL"))


def read(path: Path) -> Board:
    """Read an IPC-2581 file of revision A, B or C.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Board
        Components with the values of the bill of materials; nets from
        ``<LogicalNet>``, or from the pads where there are none.

    Raises
    ------
    ImporterError
        If the file cannot be read or holds no components.

    Notes
    -----
    O(size).  Of drawings the pads of pins and the edges of the board are read; the
    rest of the copper, drills and other layers are counted.
    """
    data = read_bytes(path)
    root = parse_xml(data, path, "IPC-2581")
    try:
        return _board(root, path)
    except ElementError as error:
        raise ParseError(error.message, path, line_of(error.element, data)) from None


def _scale(root: "Element") -> float:
    for header in find(root, "Ecad", "CadHeader"):
        words = required(header, "units").upper()
        if words not in UNITS_MM:
            raise ElementError(
                f"found units={words[:40]!r}, expected {', '.join(UNITS_MM)}", header
            )
        return UNITS_MM[words]
    raise ElementError("found no <CadHeader> in <Ecad>, expected one", root)


def _layer_sides(root: "Element") -> dict[str, str]:
    """Copper layers: "top", "bottom" or "inner"."""
    sides = {}
    for layer in find(root, "Ecad", "CadData", "Layer"):
        side = layer.get("side", "").upper()
        word = {"TOP": "top", "BOTTOM": "bottom"}.get(side, "inner")
        if layer.get("layerFunction", "").upper() in _COPPER:
            sides[required(layer, "name")] = word
    return sides


def _outer_sides(root: "Element") -> dict[str, str]:
    """Sides of every layer by name, also of those that are no copper."""
    return {
        layer.get("name", ""): layer.get("side", "").lower()
        for layer in find(root, "Ecad", "CadData", "Layer")
        if layer.get("side", "").upper() in ("TOP", "BOTTOM")
    }


def _step(root: "Element", notes: Counter[tuple[str, str]]) -> "Element":
    """Return the step that is the board: the one named first with components."""
    steps = list(find(root, "Ecad", "CadData", "Step"))
    full = [step for step in steps if next(find(step, "Component"), None) is not None]
    if not full:
        raise ElementError("found no <Step> with components, expected one", root)
    named: dict[str, int] = {}
    for one in find(root, "Content", "StepRef"):
        named.setdefault(one.get("name", ""), len(named))
    full.sort(key=lambda step: named.get(step.get("name", ""), len(named)))
    for other in full[1:]:
        count = sum(1 for _ in find(other, "Component"))
        notes["component of a further step", other.get("name", "")] += count
    return full[0]


def _is_by_kicad(root: "Element") -> bool:
    programs = find(root, "HistoryRecord", "FileRevision", "SoftwarePackage")
    return any(one.get("name", "").casefold() == "kicad" for one in programs)


def _in_step(element: "Element", step: "Element") -> bool:
    """Whether an element is in this step, or in none."""
    inside = next(element.iterancestors("{*}Step"), None)
    return inside is None or inside is step


def _parts_lists(root: "Element", notes: Counter[tuple[str, str]]) -> dict[str, Listed]:
    listed: dict[str, Listed] = {}
    for place, bom in enumerate(find(root, "Bom")):
        found = read_parts_list(bom)
        if not place:
            listed = found
        else:
            notes["further bill of materials", bom.get("name", "")] += 1
    return listed


def _board(root: "Element", path: Path) -> Board:
    notes: Counter[tuple[str, str]] = Counter()
    scale, sides = _scale(root), _layer_sides(root)
    step = _step(root, notes)
    listed = _parts_lists(root, notes)
    copper = Copper(notes=notes)
    for one in root.iter("{*}LogicalNet"):
        if _in_step(one, step):
            read_logical(copper, one)
    read_pads(copper, step, sides, path.name)
    copper.bound(step)
    packages: dict[str, tuple[Land, ...]] = {}
    for package in root.iter("{*}Package"):
        if _in_step(package, step):
            packages.setdefault(package.get("name", ""), read_package(package))
    builder = Builder(
        packages,
        listed,
        copper,
        {**_outer_sides(root), **sides},
        scale,
        by_kicad=_is_by_kicad(root),
    )
    for component in find(step, "Component"):
        builder.add(component)
    parts = builder.finish(step)
    used = {pin.net for part in parts for pin in part.pins}
    if idle := sum(net not in used for net in copper.order):
        notes["net without pins", path.name] += idle
    return make_board(
        name=step.get("name") or path.name.partition(".")[0],
        format="ipc_2581",
        version=root.get("revision", ""),
        parts=parts,
        net_order=(net for net in copper.order if net in used),
        unused=(Unused(what, where, n) for (what, where), n in notes.items()),
        outline_mm=read_profile(step, scale),
    )
