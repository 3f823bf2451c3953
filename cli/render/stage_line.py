"""Stages without a switch node: switches in series with a rail, and single chips."""

from collections.abc import Sequence

from ohmtrail.cli.render.drawing import Rect
from ohmtrail.cli.render.stage_cells import (
    CELL_MM,
    Cell,
    cell_height,
    draw_cells,
    driver_pins,
)
from ohmtrail.cli.render.stage_readings import READING_MM
from ohmtrail.cli.render.stage_sheet import Sheet, last
from ohmtrail.cli.render.stage_symbols import capacitor

__all__ = ["draw_chip", "draw_pass"]

_CHIP, _TOP, _ROW_MIN = 40.0, 18.0, 30.0
_BOX = 74.0


def _rows(sheet: Sheet) -> list[list[str]]:
    """Part the switches into those at the input and those after them."""
    stage = sheet.stage
    refs = list(dict.fromkeys([*stage.high_side, *stage.low_side]))
    first = [ref for ref in refs if sheet.numbers(ref, stage.input)]
    rest = [ref for ref in refs if ref not in first]
    return [row for row in (first, rest) if row]


def draw_pass(sheet: Sheet) -> tuple[float, float]:
    """Draw switches from the input above to the output below.

    Parameters
    ----------
    sheet : Sheet
        Takes the items.

    Returns
    -------
    width, bottom : float
        What is taken.
    """
    stage = sheet.stage
    rows = _rows(sheet)
    joint: str | None = None
    if len(rows) > 1:
        joint = sheet.other_end(rows[0][0], stage.input)
    chains = {chain.switch: chain for chain in stage.gate_chains}
    chip = stage.driver or stage.controller
    x = 2.0 + (_CHIP if chip else 0.0)
    edge = x - 4.0 if chip else None
    y = _TOP
    laid = []
    for number, refs in enumerate(rows):
        top = stage.input if number == 0 else joint
        end = stage.output if number == len(rows) - 1 else joint
        cells = [
            Cell(ref, top, end, chains.get(ref), tuple(sheet.readings.of([ref])))
            for ref in refs
        ]
        lines = len(driver_pins(cells))
        height = max(_ROW_MIN, cell_height(sheet, cells, lines))
        laid.append((cells, y, y + height))
        y += height
    wide = max(len(cells) for cells, _, _ in laid) * CELL_MM
    for cells, top_y, bottom_y in laid:
        draw_cells(sheet, cells, x, top_y, bottom_y, edge, driver_pins(cells))
        sheet.wire((x + 4.0, bottom_y), (x + wide, bottom_y), stroke=0.5)
    sheet.wire((x + 4.0, _TOP), (x + wide, _TOP), stroke=0.5)
    right = x + wide
    _end(sheet, "input", stage.input, stage.input_rail, x + 5.0, _TOP - 1.4)
    if joint:
        sheet.text(right, laid[0][2] - 1.2, last(joint), 2.4, "end", bold=True)
    _end(sheet, "output", stage.output, stage.output_rail, x + 5.0, y + 3.6)
    _caps(sheet, stage.input_caps, right + 6.0, _TOP, right)
    _caps(sheet, stage.output_caps, right + 6.0, y, right)
    if chip:
        width, height = edge - 2.0 if edge else 0.0, y - _TOP - 5.0
        sheet.items.append(Rect(2.0, _TOP + 4.0, width, height, 0.4))
        word = "controller" if chip == stage.controller else "driver"
        sheet.text(3.5, _TOP + 8.0, chip, 3.0, bold=True, width=width - 3)
        sheet.text(3.5, _TOP + 11.2, word, width=width - 3)
        sheet.text(3.5, _TOP + 14.2, sheet.value(chip), width=width - 3)
        steps = sheet.readings.of([chip])
        room = max(0, int((height - 24.0) / READING_MM))
        sheet.items += sheet.readings.lines(
            steps[:room], chip, 3.5, _TOP + 16.0, width - 3.0
        )
        sheet.readings.give_back(steps[room:])
    return right + 30.0, y + 14.0


def _end(
    sheet: Sheet, word: str, net: str | None, rail: str | None, x: float, y: float
) -> None:
    beyond = f", on to {last(rail)}" if rail not in (net, None) else ""
    sheet.text(x, y, f"{last(net)} ({word}{beyond})", 2.8, bold=True)


def _caps(
    sheet: Sheet, caps: Sequence[str], x: float, y: float, wire_from: float
) -> None:
    """Draw one capacitor for all, its refs beside it."""
    if not caps:
        return
    sheet.drawn.update(caps)
    sheet.wire((wire_from, y), (x, y), stroke=0.5)
    sheet.items += capacitor(x, y, y + 9.0)
    sheet.wire((x - 1.6, y + 9.0), (x + 1.6, y + 9.0), stroke=0.5)
    for row, ref in enumerate(caps[:4]):
        sheet.text(x + 3.2, y + 3.4 + 2.7 * row, ref, 2.3)
    if len(caps) > 4:
        sheet.text(x + 3.2, y + 3.4 + 2.7 * 4, f"and {len(caps) - 4} more", 2.3)


def draw_chip(sheet: Sheet) -> tuple[float, float]:
    """Draw one chip between input and output, with all its pins that matter.

    Parameters
    ----------
    sheet : Sheet
        Takes the items.

    Returns
    -------
    width, bottom : float
        What is taken.
    """
    stage = sheet.stage
    ref = stage.controller or stage.driver or next(iter(stage.high_side), "")
    steps = sheet.readings.of([ref])
    height = max(30.0, 19.0 + READING_MM * len(steps))
    left, top = 34.0, _TOP
    right, y = left + _BOX, top + 8.0
    sheet.items.append(Rect(left, top, _BOX, height, 0.4))
    middle = left + _BOX / 2
    sheet.text(middle, top + 4.4, ref, 3.2, "middle", bold=True)
    sheet.text(middle, top + 7.6, sheet.value(ref)[:40], 2.3, "middle")
    sheet.wire((4.0, y), (left, y), stroke=0.5)
    sheet.wire((right, y), (right + 30.0, y), stroke=0.5)
    sheet.text(left + 1.0, y + 0.8, sheet.numbers(ref, stage.input))
    sheet.text(right - 1.0, y + 0.8, sheet.numbers(ref, stage.output), anchor="end")
    sheet.text(4.0, y - 4.6, last(stage.input), 2.8, bold=True, width=28)
    sheet.text(4.0, y - 1.4, "input")
    sheet.text(right + 2.0, y - 4.6, last(stage.output), 2.8, bold=True, width=28)
    sheet.text(right + 2.0, y - 1.4, "output")
    for ground in sheet.circuit.ground[:1]:
        pins = sheet.numbers(ref, ground)
        if pins:
            sheet.wire((middle, top + height), (middle, top + height + 5.0))
            sheet.wire((middle - 2, top + height + 5.0), (middle + 2, top + height + 5))
            sheet.text(middle + 1.0, top + height - 1.0, pins)
            sheet.text(middle + 3.0, top + height + 4.6, last(ground), 2.4)
    words = [f"{sheet.numbers(ref, net)} {last(net)}" for net in stage.switch_nodes]
    if words:
        text = f"switched: {', '.join(words)}"
        sheet.text(left + 1.5, top + height - 1.2, text, width=_BOX / 2 - 4)
    for x, caps in ((8.0, stage.input_caps), (right + 10.0, stage.output_caps)):
        _caps(sheet, caps, x, y, x)
    sheet.items += sheet.readings.lines(
        steps, ref, left + 16.0, top + 10.0, _BOX - 32.0
    )
    return right + 32.0, top + height + 12.0
