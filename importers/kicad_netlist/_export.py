"""A board from the tree of an ``export`` netlist, whichever form it came in."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX, too_many
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.kicad_netlist._libparts import LibPart, find, read_libparts
from ohmtrail.importers.kicad_netlist._nodes import Nets, read_nets
from ohmtrail.importers.kicad_netlist._tree import (
    Node,
    Packed,
    blank,
    first,
    lists,
    tag,
    text,
)
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["board_of_export"]

_SECTIONS = {"version", "design", "components", "libparts", "libraries", "nets"}
#: What of a part is used, or tells an electrical reader nothing.
_KNOWN = set(
    "ref value footprint datasheet description documentation fields libsource "
    "property sheetpath tstamp tstamps component_classes units".split()
)
#: Fields that have a place of their own in `Part`.
_OWN = {"reference", "value", "footprint", "description"}


def _fields(comp: Node) -> tuple[tuple[str, str], ...]:
    found: dict[str, str] = {}
    datasheet = blank(text(comp, "datasheet"))
    if datasheet:
        found["Datasheet"] = datasheet
    for field in lists(first(comp, "fields"), "field"):
        name = text(field, "name")
        if name.casefold() not in _OWN:
            found[name] = blank(text(field))
    for prop in lists(comp, "property"):
        name = text(prop, "name")
        flag = first(prop, "value") is None
        hidden = name.startswith("ki_") or name in ("Sheetname", "Sheetfile")
        if not flag and not hidden and name.casefold() not in _OWN:
            found.setdefault(name, blank(text(prop, "value")))
    return tuple(found.items())


def _properties(comp: Node) -> tuple[set[str], str]:
    """Return the flags of a part, and its keywords."""
    flags, keywords = set(), ""
    for prop in lists(comp, "property"):
        name = text(prop, "name")
        if first(prop, "value") is None:
            flags.add(name)
        elif name == "ki_keywords":
            keywords = text(prop, "value")
    return flags, keywords


def _pins(ref: str, nets: Nets, libpart: LibPart | None) -> tuple[Pin, ...]:
    """Pins in the symbol's order, then those that only the nets know."""
    nodes = nets.by_ref.get(ref, {})
    pins = []
    known = libpart.pins if libpart is not None else {}
    for number, (name, electrical) in known.items():
        node = nodes.get(number)
        if node is None:
            pins.append(Pin(ref, number, None, name, electrical))
        else:
            pins.append(
                Pin(
                    ref,
                    number,
                    node.net,
                    node.name or name,
                    node.electrical or electrical,
                )
            )
    pins += [
        Pin(ref, number, node.net, node.name, node.electrical)
        for number, node in nodes.items()
        if number not in known
    ]
    return tuple(pins)


def _part(
    comp: Node,
    ref: str,
    nets: Nets,
    libparts: dict[str, LibPart],
    flags: set[str],
    keywords: str,
) -> Part:
    source = first(comp, "libsource")
    library, device = text(source, "lib"), text(source, "part")
    libpart = find(libparts, library, device)
    return Part(
        ref=ref,
        value=blank(text(comp, "value")),
        pins=_pins(ref, nets, libpart),
        library=f"{library}:{device}" if library else device,
        footprint=blank(text(comp, "footprint")),
        description=text(comp, "description")
        or text(source, "description")
        or (libpart.description if libpart else ""),
        keywords=keywords,
        sheet=text(first(comp, "sheetpath"), "names") or "/",
        fitted="dnp" not in flags,
        fields=_fields(comp),
    )


def _sections(tree: Node, path: Path, unused: list[Unused]) -> dict[str, Node]:
    found: dict[str, Node] = {}
    other: Counter[str] = Counter()
    for section in tree[1:]:
        name = tag(section)
        if name not in _SECTIONS:
            other[f"section '{name}'"] += 1
        elif name in found:
            raise ParseError(f"found a second section '{name}'", path)
        else:
            found[name] = section
    for needed in ("components", "nets"):
        if needed not in found:
            raise ParseError(f"found no section '{needed}', expected one", path)
    unused += [Unused(what, str(path), n) for what, n in other.items()]
    return found


def board_of_export(
    tree: Node, path: Path, line_of: Callable[[Node | Packed], int]
) -> Board:
    """Make the board of an ``export`` tree.

    Parameters
    ----------
    tree : list
        What begins with "export".
    path : Path
        The file, for messages and for the name where the design has none.
    line_of : callable
        Line of a list of the tree; only called for errors.

    Raises
    ------
    ParseError
        If a section is missing, a part has no ref or occurs twice, a node has no
        ref or pin, a pin stands in two nets, or there are more parts or pins than
        any board has.

    Notes
    -----
    A symbol's pins that no net lists are kept with no net.  A part that only the
    nets know is kept without a value and reported in ``unused``.  A part marked
    "exclude from board" is left out, as KiCad's own netlister for boards does, and
    reported; a net that only such parts touch is left without pins.
    """
    unused: list[Unused] = []
    sections = _sections(tree, path, unused)
    nets = read_nets(sections["nets"], path, line_of, unused)
    libparts = read_libparts(sections.get("libparts"))
    parts: dict[str, Part] = {}
    comps: dict[str, Node] = {}
    off_board: list[str] = []
    strange: Counter[str] = Counter()
    pins = 0
    for comp in lists(sections["components"], "comp"):
        ref = text(comp, "ref")
        if not ref:
            raise ParseError("found a part without a ref", path, line_of(comp))
        if ref in comps:
            raise ParseError(
                f"found {ref} again, first in line {line_of(comps[ref])}",
                path,
                line_of(comp),
            )
        comps[ref] = comp
        for child in comp[1:]:
            if tag(child) not in _KNOWN:
                strange[tag(child)] += 1
        flags, keywords = _properties(comp)
        if "exclude_from_board" in flags:
            off_board.append(ref)
            continue
        part = parts[ref] = _part(comp, ref, nets, libparts, flags, keywords)
        pins += len(part.pins)
        if pins > PINS_MAX or len(comps) > PARTS_MAX:
            raise too_many(path)
    if off_board:
        what, where = "part marked as not on the board", ", ".join(off_board)
        unused.append(Unused(what, where, len(off_board)))
    unused += [
        Unused(f"'{what}' of a part", str(path), n) for what, n in strange.items()
    ]
    if len(nets.by_ref) > PARTS_MAX:
        raise too_many(path)
    for ref in nets.by_ref:
        if ref not in comps:
            parts[ref] = Part(ref, "", _pins(ref, nets, None))
            unused.append(Unused("part in the nets that is not in the components", ref))
    design = sections.get("design")
    source = text(design, "source").replace("\\", "/").rsplit("/", 1)[-1]
    return make_board(
        name=source.rsplit(".", 1)[0] or path.name.split(".", 1)[0],
        format="kicad_netlist",
        version=text(tree, "version"),
        parts=parts.values(),
        net_order=nets.order,
        sheets=(text(sheet, "name") for sheet in lists(design, "sheet")),
        unused=unused,
    )
