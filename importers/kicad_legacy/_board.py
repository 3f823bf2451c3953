"""Turns placed symbols and joined pins into a board."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from ohmtrail.importers.kicad_legacy._hierarchy import Use
from ohmtrail.importers.kicad_legacy._library import LibPin, LibSymbol
from ohmtrail.importers.kicad_legacy._model import Symbol
from ohmtrail.importers.kicad_legacy._nets import Node
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["Placed", "board_of"]

_NAMES = {0: "Reference", 1: "Value", 2: "Footprint", 3: "Datasheet"}


@dataclass(slots=True, eq=False)
class Placed:
    """One unit of a part in one use of its sheet."""

    ref: str
    unit: int
    use: Use
    symbol: Symbol
    library: LibSymbol | None
    #: Description and keywords.
    about: tuple[str, str] = ("", "")


@dataclass(slots=True, eq=False)
class _Nets:
    """Names of nets by pin, and what was odd about them."""

    by_pin: dict[tuple[str, str], str] = field(default_factory=dict)
    pins: dict[tuple[str, str], LibPin] = field(default_factory=dict)
    aliases: dict[str, tuple[str, ...]] = field(default_factory=dict)
    torn: list[str] = field(default_factory=list)
    joined: list[str] = field(default_factory=list)
    unnumbered: list[str] = field(default_factory=list)


def _name_nets(
    nets: Iterable[tuple[str, tuple[str, ...], list[Node]]],
    placed: dict[tuple[int, int], Placed],
) -> _Nets:
    found = _Nets()
    taken: set[str] = set()
    for name, others, nodes in nets:
        pins: dict[tuple[str, str], LibPin] = {}
        for use, index, pin in nodes:
            ref = placed[use.index, index].ref
            if ref.startswith("#"):
                continue
            if not pin.number:
                found.unnumbered.append(f"{ref} {pin.name}".strip())
                continue
            pins.setdefault((ref, pin.number), pin)
        if not pins:
            continue
        if not name:
            # The first by characters, so that R10 comes before R2.
            name = min(f"Net-({ref}-Pad{number})" for ref, number in pins)
        if name in taken:
            found.joined.append(name)
        taken.add(name)
        found.aliases[name] = found.aliases.get(name, ()) + others
        for key, pin in pins.items():
            if key not in found.by_pin:
                found.by_pin[key] = name
                found.pins[key] = pin
            elif found.by_pin[key] != name:
                found.torn.append(f"{key[0]}.{key[1]} also on {name}")
    return found


def _part(ref: str, units: list[Placed], nets: _Nets) -> Part:
    units = sorted(units, key=lambda placed: placed.unit)
    value = footprint = ""
    fields: dict[str, str] = {}
    numbers: dict[str, None] = {}
    for placed in units:
        symbol = placed.symbol
        value = value or symbol.fields.get(1, "")
        footprint = footprint or symbol.fields.get(2, "")
        for key, text in symbol.fields.items():
            if key >= 3:
                name = symbol.names.get(key) or _NAMES.get(key) or f"Field{key}"
                fields[name] = fields.get(name) or text
        for pin in placed.library.pins if placed.library is not None else ():
            if pin.number and pin.unit in (0, placed.unit):
                if pin.convert in (0, symbol.convert):
                    numbers.setdefault(pin.number)
    pins = []
    for number in numbers:
        pin = nets.pins[ref, number]
        pins.append(
            Pin(ref, number, nets.by_pin[ref, number], pin.name, pin.electrical)
        )
    return Part(
        ref,
        value,
        tuple(pins),
        units[0].symbol.library,
        footprint,
        *units[0].about,
        sheet=units[0].use.path,
        fields=tuple(fields.items()),
    )


def _listed(what: str, where: Iterable[str]) -> list[Unused]:
    """Return one record for all, or none where there is nothing."""
    where = list(where)
    if not where:
        return []
    shown = ", ".join(where[:20]) + (" ..." if len(where) > 20 else "")
    return [Unused(what, shown, len(where))]


def board_of(
    uses: list[Use],
    placed: dict[tuple[int, int], Placed],
    nets: Iterable[tuple[str, tuple[str, ...], list[Node]]],
    unused: list[Unused],
    version: str,
) -> Board:
    """Build the board.

    Parameters
    ----------
    uses : list of Use
        Every use of every sheet, the root first.
    placed : dict
        Units by use and index on the sheet.
    nets : iterable
        Name, other names and pins of each net.
    unused : list of Unused
        What other steps met and did not use.
    version : str
        Of the root file.

    Notes
    -----
    O(parts + pins).
    """
    named = _name_nets(nets, placed)
    by_ref: dict[str, list[Placed]] = {}
    for unit in placed.values():
        if not unit.ref.startswith("#"):
            by_ref.setdefault(unit.ref, []).append(unit)
    twice, partial = [], []
    for ref, units in by_ref.items():
        numbers = [unit.unit for unit in units]
        if len(set(numbers)) < len(numbers):
            twice.append(ref)
        library = units[0].library
        if library is not None and len({*numbers}) < library.units:
            partial.append(ref)
    unused = [
        *unused,
        *_listed("reference that several parts have, taken as one part", twice),
        *_listed("part of which not every unit is drawn", partial),
        *_listed("pin drawn on two nets, the first one kept", named.torn),
        *_listed("pin without a number", named.unnumbered),
        *_listed("name that two nets have, taken as one net", named.joined),
    ]
    return make_board(
        name=uses[0].screen.path.stem,
        format="kicad_legacy",
        version=version,
        parts=[_part(ref, units, named) for ref, units in by_ref.items()],
        aliases=named.aliases,
        sheets=[use.path for use in uses],
        unused=unused,
    )
