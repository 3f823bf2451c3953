"""Turns placed symbols and named subgraphs into a board."""

from pathlib import Path

from ohmtrail.importers.kicad_schematic._bus import NET
from ohmtrail.importers.kicad_schematic._gather import Gathered, shown
from ohmtrail.importers.kicad_schematic._graph import Graph
from ohmtrail.importers.kicad_schematic._hierarchy import Design
from ohmtrail.importers.kicad_schematic._subgraph import (
    GLOBAL_POWER,
    LOCAL,
    SHEET_PIN,
    Placed,
    PlacedPin,
)
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["board_of"]


def _net_names(graph: Graph) -> tuple[dict[int, str], dict[str, tuple[str, ...]]]:
    """Return net names by pin (its identity), and the names that lost."""
    names: dict[int, str] = {}
    others: dict[str, dict[str, None]] = {}
    for subgraph in graph.driven:
        name = graph.name(subgraph)
        for pin in subgraph.pins:
            names[id(pin)] = name
        for driver in subgraph.drivers:
            if driver.priority <= SHEET_PIN:
                continue
            other = driver.name
            if driver.priority < GLOBAL_POWER:
                other = graph.paths[subgraph.use] + other
            if other != name and driver.priority >= LOCAL:
                others.setdefault(name, {})[other] = None
    return names, {name: tuple(group) for name, group in others.items()}


def _values(design: Design, placed: Placed) -> tuple[str, str]:
    """Return value and footprint of a symbol in its use of the sheet."""
    symbol = placed.symbol
    use = design.uses[placed.use]
    value, footprint = symbol.value, symbol.footprint
    old = design.old_instance(use, symbol)
    if old is not None:
        value, footprint = old[2] or value, old[3] or footprint
    if "${" in value:
        fields = {key.casefold(): text for key, text in symbol.fields}
        fields |= {"reference": placed.ref, "footprint": footprint}
        for key, text in fields.items():
            value = value.replace(f"${{{key.upper()}}}", text)
        value = shown(value, use, design)
    return value, footprint


def _rank(net: str) -> tuple[bool, str]:
    return net.startswith("unconnected-("), net


def _part(
    design: Design,
    ref: str,
    units: list[Placed],
    nets: dict[int, str],
    torn: list[str],
) -> Part:
    units = sorted(units, key=lambda placed: placed.unit)
    first = units[0]
    use = design.uses[first.use]
    own = first.lib.properties
    value = footprint = description = ""
    fields: dict[str, str] = {}
    for placed in units:
        found = _values(design, placed)
        value = value or found[0]
        footprint = footprint or found[1]
        for key, text in placed.symbol.fields:
            if key == "Description":
                description = description or text
            elif key not in ("ki_description", "ki_keywords", "ki_fp_filters"):
                fields[key] = fields.get(key) or text
    pins: dict[str, PlacedPin] = {}
    for placed in units:
        for pin in placed.pins:
            kept = pins.get(pin.number)
            if kept is None:
                pins[pin.number] = pin
                continue
            net, other = nets.get(id(kept)), nets.get(id(pin))
            if net == other or other is None:
                continue
            # The netlister lists both; the name that sorts first is kept.
            if net is None or _rank(other) < _rank(net):
                pins[pin.number] = pin
                net, other = other, net
            if other is not None and not other.startswith("unconnected-("):
                torn.append(f"{ref}.{pin.number} also on {other}")
    return Part(
        ref,
        value,
        tuple(
            Pin(ref, number, nets.get(id(pin)), pin.name, pin.electrical)
            for number, pin in pins.items()
        ),
        first.symbol.lib_id,
        footprint,
        description or own.get("Description") or own.get("ki_description", ""),
        own.get("ki_keywords", ""),
        use.path,
        all(placed.fitted for placed in units),
        tuple(fields.items()),
    )


def _packages(placed: list[Placed], unnumbered: list[str]) -> dict[str, list[Placed]]:
    """Return symbols by the part that they are; "R?" twice is two parts.

    Units without a number are one part until a unit comes a second time.
    """
    found: dict[str, list[Placed]] = {}
    many: dict[str, int] = {}
    alike: dict[tuple[str, str, str], list[str]] = {}
    times: dict[tuple[str, str, str, int], int] = {}
    for one in placed:
        if one.annotated or not one.ref.endswith("?"):
            found.setdefault(one.ref, []).append(one)
            continue
        like = one.ref, one.symbol.lib_id, one.symbol.value
        unit = (*like, one.unit)
        before = times[unit] = times.get(unit, -1) + 1
        names = alike.setdefault(like, [])
        if before < len(names):
            found[names[before]].append(one)
            continue
        name = one.ref
        number = many[name] = many.get(name, 0) + 1
        while name in found:
            name, number = f"{one.ref}{max(2, number)}", number + 1
        if name != one.ref:
            unnumbered.append(name)
        names.append(name)
        found[name] = [one]
    return found


def _several_names(graph: Graph) -> list[Unused]:
    """Note nets that two global names short: KiCad keeps one name of them."""
    lost: dict[str, dict[str, None]] = {}
    for subgraph in graph.driven:
        name = graph.name(subgraph)
        for driver in subgraph.drivers:
            if driver.priority >= GLOBAL_POWER and driver.name != name:
                if subgraph.connection is not None and subgraph.connection.kind == NET:
                    lost.setdefault(name, {})[driver.name] = None
    return [
        Unused(f"further global name of net {name}", ", ".join(others), len(others))
        for name, others in lost.items()
    ]


def _unused(design: Design, gathered: Gathered, left_out: list[str]) -> list[Unused]:
    found: list[Unused] = []
    if left_out:
        found.append(
            Unused(
                "part marked as not on the board", ", ".join(left_out), len(left_out)
            )
        )
    missing = [placed.ref for placed in gathered.without_symbol]
    if missing:
        found.append(
            Unused(
                "symbol missing in lib_symbols, its pins are unknown",
                ", ".join(missing),
                len(missing),
            )
        )
    if design.project.damaged:
        what = "project file that cannot be read, its text variables are unknown"
        found.append(Unused(what, design.project.path.name))
    for screen in design.screens.values():
        for head, count in screen.unknown.items():
            found.append(Unused(f"unknown group ({head} ...)", screen.path.name, count))
    return found


def board_of(design: Design, gathered: Gathered, graph: Graph) -> Board:
    """Build the board.

    Raises
    ------
    BoardError
        Never for what the other modules produce.
    """
    nets, aliases = _net_names(graph)
    soldered: list[Placed] = []
    left_out: dict[str, None] = {}
    for placed in gathered.placed:
        if placed.ref.startswith("#") or placed.lib.power:
            continue
        if not placed.on_board:
            left_out[placed.ref] = None
            continue
        soldered.append(placed)
    torn: list[str] = []
    unnumbered: list[str] = []
    packages = _packages(soldered, unnumbered)
    parts = [_part(design, ref, units, nets, torn) for ref, units in packages.items()]
    unused = _unused(design, gathered, list(left_out))
    if unnumbered:
        shown = ", ".join(unnumbered[:20])
        what = "part without a number, one was given"
        unused.append(Unused(what, shown, len(unnumbered)))
    unused += [Unused("pin drawn on two nets, one kept", pin) for pin in torn]
    unused += _several_names(graph)
    used = {pin.net for part in parts for pin in part.pins}
    screen = design.uses[0].screen
    return make_board(
        name=Path(screen.path.name.removesuffix(".gz")).stem,
        format="kicad_schematic",
        version=f"{screen.version} {screen.generator}".strip(),
        parts=parts,
        aliases={name: group for name, group in aliases.items() if name in used},
        sheets=[use.path for use in design.uses],
        unused=unused,
    )
