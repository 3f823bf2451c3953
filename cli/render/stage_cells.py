"""Switches side by side, each with its gate chain and its readings."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ohmtrail.cli.render.stage_readings import READING_MM
from ohmtrail.cli.render.stage_sheet import Sheet
from ohmtrail.cli.render.stage_symbols import diode, mosfet, resistor, transistor
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.circuit import GateChain

__all__ = ["CELL_MM", "Cell", "cell_height", "draw_cells", "driver_pins"]

CELL_MM = 38.0
_SYMBOL, _LINE, _HEAD = 9.0, 12.0, 8.0
_RESISTOR = 8.0
#: Between the last text and the lower rail: room for lines from the driver.
_BUSES = 9.0
_BUS_PITCH = 3.2
_PART_TEXT = 6.4


@dataclass(frozen=True, slots=True)
class Cell:
    """One switch or diode of a leg."""

    ref: str
    top: str | None
    bottom: str | None
    chain: GateChain | None
    steps: tuple[Step, ...]


def _shared(cells: Sequence[Cell]) -> set[str]:
    """Return the gate parts that several switches of a row share."""
    count = Counter(ref for cell in cells if cell.chain for ref in cell.chain.series)
    return {ref for ref, times in count.items() if times > 1}


def _parts(cell: Cell, shared: set[str]) -> tuple[list[str], list[str]]:
    """Return a switch's own gate parts, from the gate on, and those it shares."""
    series = list(reversed(cell.chain.series)) if cell.chain is not None else []
    cut = next((n for n, ref in enumerate(series) if ref in shared), len(series))
    return series[:cut], series[cut:]


def _extra(cell: Cell) -> list[str]:
    chain = cell.chain
    if chain is None:
        return []
    words = []
    if chain.pull_down:
        words.append(f"bleed {' '.join(chain.pull_down)}")
    if chain.turn_off:
        words.append(f"turn-off {' '.join(chain.turn_off)}")
    return words


def _series_steps(sheet: Sheet, cells: Sequence[Cell]) -> dict[str, int]:
    """Count the readings across each series part, without taking them."""
    counts: dict[str, int] = {}
    for cell in cells:
        for ref in cell.chain.series if cell.chain else ():
            counts[ref] = sum(
                1
                for step in sheet.readings.steps
                if step.mode is not None
                and (
                    step.parts[:1] == (ref,) or (step.plus or "").startswith(ref + ".")
                )
            )
    return counts


def _body_height(cell: Cell) -> float:
    return _HEAD + READING_MM * len(cell.steps) + 2.9 * len(_extra(cell)) + 1.0


def _chain_heights(sheet: Sheet, cells: Sequence[Cell]) -> tuple[float, float]:
    """Return the most that own gate parts take, and the most that shared ones do."""
    counts = _series_steps(sheet, cells)

    def height(refs: list[str]) -> float:
        return sum(
            max(_RESISTOR, _PART_TEXT + READING_MM * counts.get(ref, 0)) for ref in refs
        )

    shared = _shared(cells)
    pairs = [_parts(cell, shared) for cell in cells]
    return (
        max((height(own) for own, _ in pairs), default=0.0),
        max((height(rest) for _, rest in pairs), default=0.0),
    )


def driver_pins(cells: Iterable[Cell]) -> list[str | None]:
    """Return the driver pins that a row needs lines from, each once."""
    return list(dict.fromkeys(c.chain.driver_pin for c in cells if c.chain))


def cell_height(sheet: Sheet, cells: Sequence[Cell], lines: int) -> float:
    """Return the height that cells need, with so many lines from the driver."""
    if not cells:
        return 0.0
    own, joint = _chain_heights(sheet, cells)
    chains = own + joint
    body = max(_body_height(cell) for cell in cells)
    return 3.0 + body + chains + _BUSES + _BUS_PITCH * max(0, lines - 1)


def draw_cells(
    sheet: Sheet,
    cells: Sequence[Cell],
    x: float,
    top: float,
    bottom: float,
    edge: float | None,
    pins: Sequence[str | None],
) -> None:
    """Draw a row of cells between two horizontal lines.

    Parameters
    ----------
    sheet : Sheet
        Takes the items.
    cells : sequence of Cell
        From left to right.
    x, top, bottom : float
        Left edge, upper and lower line.
    edge : float or None
        Right edge of the driver's box; None where there is none.
    pins : sequence of str or None
        Driver pins of the whole row, from `driver_pins`: a line for each.
    """
    if not cells:
        return
    body = max(_body_height(cell) for cell in cells)
    chain_top = top + 3.0 + body
    joint_y = chain_top + _chain_heights(sheet, cells)[0]
    shared = _shared(cells)
    joints: dict[str, float] = {}
    for place, cell in enumerate(cells):
        left = x + place * CELL_MM
        gate = _switch(sheet, cell, left, top, bottom)
        if cell.chain is None or gate is None:
            continue
        gx, y = gate
        pin = cell.chain.driver_pin
        bus = bottom - 4.0 - _BUS_PITCH * (len(pins) - 1 - pins.index(pin))
        net = _gate_net(sheet, cell)
        own, rest = _parts(cell, shared)
        sheet.wire((gx, y), (gx, chain_top))
        y = chain_top
        for ref in own:
            y = _series(sheet, ref, gx, y, left, net)
            net = sheet.other_end(ref, net)
        if rest:
            sheet.wire((gx, y), (gx, joint_y))
            y = joint_y
            if rest[0] in joints:
                sheet.wire((gx, y), (joints[rest[0]], y))
                sheet.node(joints[rest[0]], y)
                continue
            joints[rest[0]] = gx
        for ref in rest:
            y = _series(sheet, ref, gx, y, left, net)
            net = sheet.other_end(ref, net)
        sheet.wire((gx, y), (gx, bus))
        _bus(sheet, pin, gx, bus, edge)


def _bus(
    sheet: Sheet,
    pin: str | None,
    x: float,
    y: float,
    edge: float | None,
) -> None:
    """Draw the line from the driver's pin to a gate chain."""
    chip = sheet.stage.driver or sheet.stage.controller
    if pin is None:
        sheet.text(x + 1.0, y, "driver not found")
        return
    ref, _, number = pin.rpartition(".")
    if edge is None or not sheet.pins(chip or ""):
        sheet.text(x + 1.0, y, f"from {pin}")
        return
    sheet.wire((edge, y), (x, y))
    name = ""
    for one in sheet.pins(ref):
        if one.number == number and one.name not in ("~", number):
            name = one.name
    words = f"{name} {number}".strip() if ref == chip else pin
    sheet.text(edge - 1.0, y + 0.8, words, anchor="end", width=16.0)


def _gate_net(sheet: Sheet, cell: Cell) -> str | None:
    number = cell.chain.gate.rpartition(".")[2] if cell.chain is not None else ""
    for pin in sheet.pins(cell.ref):
        if pin.number == number:
            return pin.net
    return None


def _series(
    sheet: Sheet, ref: str, x: float, y: float, left: float, net: str | None
) -> float:
    """Draw one part of a gate chain downwards from a net; return where it ends."""
    steps = sheet.readings.of([ref])
    height = max(_RESISTOR, _PART_TEXT + READING_MM * len(steps))
    if sheet.kind(ref) in ("diode", "zener"):
        sheet.items += diode(x, y, y + _RESISTOR, cathode_up=sheet.cathode_on(ref, net))
    else:
        sheet.items += resistor(x, y, y + _RESISTOR)
    sheet.wire((x, y + _RESISTOR), (x, y + height))
    # Right of the wire from the switch to the line below.
    text_x = left + _SYMBOL + 2.4
    width = CELL_MM - _SYMBOL - 3.4
    again = ", as above" if ref in sheet.drawn else f" {sheet.value(ref)}"
    sheet.drawn.add(ref)
    sheet.text(text_x, y + 3.6, ref + again, 2.6, bold=True, width=width)
    sheet.items += sheet.readings.lines(steps, ref, text_x, y + 4.4, width)
    return y + height


def _switch(
    sheet: Sheet, cell: Cell, left: float, top: float, bottom: float
) -> tuple[float, float] | None:
    """Draw a switch or diode; return where its gate is, None for a diode."""
    x = left + _SYMBOL
    stop = top + 2 * _LINE
    kind = sheet.kind(cell.ref)
    gate: tuple[float, float] | None = None
    if kind in ("diode", "zener", "tvs", "led"):
        up = sheet.cathode_on(cell.ref, cell.top)
        sheet.items += diode(x, top, stop, cathode_up=up)
    elif kind in ("bipolar", "igbt"):
        items, gx, gy = transistor(x, top, stop)
        sheet.items += items
        gate = gx, gy
    elif kind == "mosfet":
        items, gx, gy = mosfet(x, top, stop)
        sheet.items += items
        gate = gx, gy
    else:
        sheet.items += resistor(x, top, stop)
        gate = (x - 6.0, top + _LINE) if cell.chain is not None else None
    sheet.wire((x, stop), (x, bottom))
    sheet.node(x, top)
    sheet.node(x, bottom)
    sheet.text(x - 1.0, top + 3.2, sheet.numbers(cell.ref, cell.top), anchor="end")
    base = top + 2 * _LINE - 4.0
    sheet.text(x - 1.0, base, sheet.numbers(cell.ref, cell.bottom), anchor="end")
    if gate is not None and cell.chain is not None:
        number = cell.chain.gate.rpartition(".")[2]
        sheet.text(gate[0] + 0.3, gate[1] - 0.9, number, anchor="start")
    text_x, width = x + 2.4, CELL_MM - _SYMBOL - 3.4
    sheet.name(cell.ref, text_x, top + 6.0, width)
    y = top + 3.0 + _HEAD - 0.5
    sheet.items += sheet.readings.lines(cell.steps, cell.ref, text_x, y, width)
    y += READING_MM * len(cell.steps)
    for words in _extra(cell):
        sheet.text(text_x, y + 2.4, words, 2.3, width=width)
        y += 2.9
    return gate
