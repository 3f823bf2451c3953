"""Places symbols on every use of a sheet and gathers what touches there."""

from collections.abc import Callable

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._stacked import stacked
from ohmtrail.importers._wires import SlantedError
from ohmtrail.importers.kicad_schematic._hierarchy import Design, Use
from ohmtrail.importers.kicad_schematic._library import LibSymbol
from ohmtrail.importers.kicad_schematic._screen import Label, Point, Symbol
from ohmtrail.importers.kicad_schematic._subgraph import (
    FALLBACK,
    GLOBAL,
    GLOBAL_POWER,
    HIERARCHICAL,
    LOCAL,
    LOCAL_POWER,
    NONE,
    PIN,
    SHEET_PIN,
    Driver,
    Placed,
    PlacedPin,
    Subgraph,
)
from ohmtrail.importers.kicad_schematic._text import (
    escape,
    expand,
    unescape,
    unit_letter,
)
from ohmtrail.importers.kicad_schematic._touch import (
    Skeleton,
    pin_position,
    skeleton_of,
)

__all__ = ["Gathered", "gather", "shown"]

_LABELS = {
    "label": LOCAL,
    "global_label": GLOBAL,
    "hierarchical_label": HIERARCHICAL,
}
_EMPTY = LibSymbol("")
#: Version 9's format; later ones write several numbers as "[1-3,5]" on one pin.
_LAST_WITHOUT_STACKS = 20250114
#: Symbols, their pins and labels on all uses of all sheets: each takes some
#: kilobytes.
_ITEMS_MAX = 400_000


class Gathered:
    """Symbols as placed, subgraphs, and what had to be left out."""

    def __init__(self) -> None:
        self.placed: list[Placed] = []
        self.subgraphs: list[Subgraph] = []
        self.without_symbol: list[Placed] = []
        #: What each wire of each use is part of, in the file's order, if kept.
        self.wires: list[list[Subgraph | None]] = []
        self._items = 0

    def count(self, items: int, use: Use) -> None:
        """Count what is placed.

        Raises
        ------
        ParseError
            If it is more than any design has.
        """
        self._items += items
        if self._items > _ITEMS_MAX:
            raise ParseError(
                f"found more than {_ITEMS_MAX} symbols, pins and labels on all "
                "sheets, expected a design",
                use.screen.path,
            )


def shown(text: str, use: Use, design: Design) -> str:
    """Return a text as KiCad shows it on this use of the sheet."""
    if "${" not in text:
        return text

    def look_up(name: str) -> str | None:
        screen = use.screen
        if name in ("SHEETNAME", "SHEETPATH", "FILENAME", "#", "##"):
            return {
                "SHEETNAME": use.sheet.name if use.sheet else "",
                "SHEETPATH": use.path,
                "FILENAME": design.project.root.name.removesuffix(".gz"),
                "#": str(use.index + 1),
                "##": str(len(design.uses)),
            }[name]
        here: Use | None = use
        while here is not None:
            if here.sheet is not None:
                for key, value in here.sheet.fields.items():
                    if key.casefold() == name.casefold():
                        return value
            here = design.uses[here.parent] if here.parent >= 0 else None
        title = {
            "TITLE": "title",
            "ISSUE_DATE": "date",
            "CURRENT_DATE": "",
            "REVISION": "rev",
            "COMPANY": "company",
        }
        key = title.get(name, name.lower() if name.startswith("COMMENT") else "")
        if key:
            return screen.title.get(key, "")
        return design.project.variable(name)

    return expand(text, look_up)


def _place(design: Design, use: Use, symbol: Symbol, result: Gathered) -> Placed:
    library = use.screen.library
    drawn = library.get(symbol.lib_name) if symbol.lib_name else None
    if drawn is None:
        drawn = library.get(symbol.lib_id)
    lib = drawn or _EMPTY
    ref, unit, stated = design.reference(use, symbol)
    if not ref:
        ref = lib.properties.get("Reference", "").rstrip("?0123456789") + "?"
    ref_unit = ref
    if lib.units > 1:
        project = design.project
        ref_unit += unit_letter(unit, project.unit_first, project.unit_separator)
    placed = Placed(
        symbol,
        lib,
        ref,
        ref_unit,
        unit,
        use.index,
        symbol.on_board and use.on_board,
        symbol.fitted and use.fitted,
        [],
        stated and not ref.endswith("?"),
    )
    if drawn is None:
        result.without_symbol.append(placed)
    stacks = use.screen.version > _LAST_WITHOUT_STACKS
    pins = placed.pins
    chosen = symbol.alternates
    for pin in lib.pins_of(unit, symbol.style):
        name, electrical = pin.name, pin.electrical
        if chosen:
            other = chosen.get(pin.number)
            if other is not None and other in pin.alternates:
                name, electrical = other, pin.alternates[other]
        for number in stacked(pin.number) if stacks else (pin.number,):
            pins.append(PlacedPin(placed, pin, number, name, electrical))
    result.count(1 + len(pins), use)
    return placed


def _pin_driver(pin: PlacedPin, design: Design, use: Use) -> Driver | None:
    owner = pin.owner
    power = owner.lib.power
    if pin.electrical == "power_in" and power != "local":
        if power == "global":
            return Driver(GLOBAL_POWER, _value(owner, design, use), pin)
        if pin.lib.hidden:
            return Driver(GLOBAL_POWER, escape(pin.name), pin)
    if power == "local" and pin.electrical == "power_in":
        return Driver(LOCAL_POWER, _value(owner, design, use), pin)
    if owner.lib.properties.get("Reference", "").startswith("#"):
        return None
    # A part without final reference names a net only where nothing else does.
    if not owner.annotated:
        return Driver(FALLBACK, "", pin)
    return Driver(PIN if owner.on_board else NONE, "", pin)


def _value(owner: Placed, design: Design, use: Use) -> str:
    value = owner.symbol.value
    return escape(unescape(shown(value, use, design))) or "~"


def _join_jumpers(
    lib: LibSymbol, placed: Placed, keys: dict[PlacedPin, object]
) -> list[list[object]]:
    """Return the sets of places that a part with jumper pins joins."""
    by_number: dict[str, list[PlacedPin]] = {}
    for pin in placed.pins:
        by_number.setdefault(pin.number, []).append(pin)
    groups = [
        [pin for number in group for pin in by_number.get(number, [])]
        for group in lib.jumpers
    ]
    if lib.same_number_joined:
        groups += by_number.values()
    return [[keys[pin] for pin in group] for group in groups if len(group) > 1]


def gather(design: Design, *, keep_wires: bool = False) -> Gathered:
    """Place all symbols and form all subgraphs, sheet use by sheet use.

    ``keep_wires`` fills `Gathered.wires`.

    Raises
    ------
    ParseError
        If more is placed, or drawn aslant, than in any design.

    Notes
    -----
    Nearly O(items of all uses).
    """
    result = Gathered()
    skeletons: dict[int, Skeleton] = {}
    for use in design.uses:
        screen = use.screen
        result.count(len(screen.labels), use)
        placed = [_place(design, use, symbol, result) for symbol in screen.symbols]
        points = [
            [pin_position(one.symbol, pin.lib.x, pin.lib.y) for pin in one.pins]
            for one in placed
        ]
        result.placed += placed
        skeleton = skeletons.get(id(screen))
        if skeleton is None:
            pins = {point for group in points for point in group}
            try:
                skeleton = skeletons[id(screen)] = skeleton_of(screen, pins)
            except SlantedError as error:
                raise ParseError(f"{error}, expected a design", screen.path) from None
        found = _gather_use(design, use, skeleton, placed, points, result)
        if keep_wires:
            result.wires.append([found(skeleton.at[a]) for a, _ in screen.wires])
    return result


def _gather_use(
    design: Design,
    use: Use,
    skeleton: Skeleton,
    placed: list[Placed],
    points: list[list[Point]],
    result: Gathered,
) -> Callable[[int], Subgraph | None]:
    """Form the subgraphs of one use; return which one a cluster is part of."""
    at = skeleton.at
    groups: dict[object, list[PlacedPin]] = {}
    joins: list[list[object]] = []
    for one, where in zip(placed, points, strict=True):
        places: dict[PlacedPin, object] = {}
        for pin, point in zip(one.pins, where, strict=True):
            # KiCad lets nothing connect to a pin drawn as "no connect".
            key: object = (
                pin if pin.electrical == "no_connect" else at.get(point, point)
            )
            groups.setdefault(key, []).append(pin)
            places[pin] = key
        lib = one.lib
        if lib.jumpers or lib.same_number_joined:
            joins += _join_jumpers(lib, one, places)
    alias: dict[object, object] = {}

    def final(key: object) -> object:
        while key in alias:
            key = alias[key]
        return key

    for joined in joins:
        first = final(joined[0])
        for other in map(final, joined[1:]):
            if other != first:
                alias[other] = first
    subgraphs: dict[object, Subgraph] = {}
    for key, pins in groups.items():
        key = final(key) if alias else key
        subgraph = subgraphs.get(key)
        if subgraph is None:
            subgraph = subgraphs[key] = Subgraph(use.index)
        for pin in pins:
            subgraph.pins.append(pin)
            if pin.electrical == "no_connect":
                subgraph.no_connect = True
            driver = _pin_driver(pin, design, use)
            if driver is not None:
                subgraph.drivers.append(driver)
    for number, cluster in skeleton.clusters.items():
        key = final(number)
        subgraph = subgraphs.get(key)
        if subgraph is None:
            subgraph = subgraphs[key] = Subgraph(use.index)
        subgraph.no_connect |= cluster.no_connect
        for label in cluster.labels:
            driver = _label_driver(label, use, design)
            subgraph.drivers.append(driver)
            if driver.priority == HIERARCHICAL:
                subgraph.hier_ports.append(driver)
        for sheet, sheet_pin in cluster.sheet_pins:
            name = escape(unescape(shown(sheet_pin.name, use, design)))
            output = sheet_pin.shape == "output"
            driver = Driver(SHEET_PIN, name, None, sheet.uuid, output)
            subgraph.drivers.append(driver)
            subgraph.hier_pins.append(driver)
    result.subgraphs += subgraphs.values()
    return lambda number: subgraphs.get(final(number))


def _label_driver(label: Label, use: Use, design: Design) -> Driver:
    name = escape(unescape(shown(label.text, use, design)))
    return Driver(_LABELS[label.kind], name)
