"""Stages with a switch node: legs between two rails, and a coil beside them."""

from collections.abc import Sequence
from dataclasses import dataclass

from ohmtrail.cli.render.drawing import Rect
from ohmtrail.cli.render.stage_cells import Cell, cell_height, draw_cells, driver_pins
from ohmtrail.cli.render.stage_readings import READING_MM
from ohmtrail.cli.render.stage_sheet import Sheet, last
from ohmtrail.cli.render.stage_symbols import capacitor, coil

__all__ = ["draw_legs"]

_CHIP, _CELL, _COIL, _CAPS = 40.0, 38.0, 40.0, 26.0
_TOP = 18.0
_ROW_MIN = 24.0


@dataclass(frozen=True, slots=True)
class _Leg:
    """One switch node with what is above and below it."""

    node: str
    high: tuple[str, ...]
    low: tuple[str, ...]

    @property
    def columns(self) -> int:
        return max(len(self.high), len(self.low))


def _legs(sheet: Sheet) -> list[_Leg]:
    stage = sheet.stage
    nodes = stage.switch_nodes or ((stage.output or "",))
    legs = []
    left_high, left_low = list(stage.high_side), list(stage.low_side)
    for number, node in enumerate(nodes):
        final = number == len(nodes) - 1
        high = [ref for ref in left_high if final or sheet.numbers(ref, node)]
        low = [ref for ref in left_low if final or sheet.numbers(ref, node)]
        left_high = [ref for ref in left_high if ref not in high]
        left_low = [ref for ref in left_low if ref not in low]
        legs.append(_Leg(node, tuple(high), tuple(low)))
    return legs


def draw_legs(sheet: Sheet) -> tuple[float, float]:
    """Draw the stage; return the width taken and the lower edge.

    Parameters
    ----------
    sheet : Sheet
        Takes the items; its stage has a switch node.
    """
    stage = sheet.stage
    legs = _legs(sheet)
    high = [_row(sheet, leg.node, leg.high, True) for leg in legs]
    low = [_row(sheet, leg.node, leg.low, False) for leg in legs]
    pins_high, pins_low = (
        driver_pins(cell for row in rows for cell in row) for rows in (high, low)
    )
    height_high, height_low = (
        max([_ROW_MIN, *(cell_height(sheet, row, len(pins)) for row in rows)])
        for rows, pins in ((high, pins_high), (low, pins_low))
    )
    node_y = _TOP + height_high
    bottom_y = node_y + height_low
    chip = stage.driver or stage.controller
    x = 2.0 + (_CHIP if chip else 0.0)
    start = x
    edge = x - 4.0 if chip else None
    node_x: list[tuple[float, float]] = []
    for number, leg in enumerate(legs):
        if number:
            x += _COIL
        begin = x + 8.0
        draw_cells(sheet, high[number], x, _TOP, node_y, edge, pins_high)
        draw_cells(sheet, low[number], x, node_y, bottom_y, edge, pins_low)
        x += max(1, leg.columns) * _CELL if leg.columns else 8.0
        node_x.append((begin, x - 8.0))
    if chip:
        _chip(sheet, chip, legs[0].node, edge or 0.0, node_y, bottom_y)
    right = _coils(sheet, legs, node_x, node_y, edge if chip else None)
    _rails(sheet, legs, high, low, start, x, bottom_y)
    return max(right, x + 34.0), bottom_y + 6.0


def _row(sheet: Sheet, node: str, refs: Sequence[str], high: bool) -> list[Cell]:
    chains = {chain.switch: chain for chain in sheet.stage.gate_chains}
    cells = []
    for ref in refs:
        end = sheet.other_end(ref, node)
        top, bottom = (end, node) if high else (node, end)
        cells.append(
            Cell(ref, top, bottom, chains.get(ref), tuple(sheet.readings.of([ref])))
        )
    return cells


def _chip(
    sheet: Sheet, ref: str, node: str, edge: float, node_y: float, bottom_y: float
) -> None:
    """Draw the driver, or the chip with the switches in it, at the left."""
    left, top = 2.0, _TOP + 5.0
    width, height = edge - left, bottom_y - _TOP - 6.0
    sheet.items.append(Rect(left, top, width, height, 0.4))
    word = "controller" if ref == sheet.stage.controller else "driver"
    sheet.text(left + 1.5, top + 4.0, ref, 3.0, bold=True, width=width - 3)
    sheet.text(left + 1.5, top + 7.2, word, width=width - 3)
    sheet.text(left + 1.5, top + 10.2, sheet.value(ref), width=width - 3)
    phase = sheet.numbers(ref, node)
    if phase:
        sheet.wire((edge, node_y), (edge + 12.0, node_y))
        sheet.text(edge - 1.0, node_y + 0.8, phase, anchor="end")
    for net, y, outside in (
        (sheet.stage.input, top, _TOP),
        (next(iter(sheet.circuit.ground), None), top + height, bottom_y + 2.5),
    ):
        pins = sheet.numbers(ref, net)
        if pins and net:
            x = left + 8.0
            sheet.wire((x, y), (x, outside))
            sheet.text(x + 1.0, y - 1.2 if outside < y else y + 3.0, pins)
            sheet.text(
                x + 2.0 if outside > y else x,
                outside + 2.6 if outside > y else outside - 1.2,
                last(net),
                2.4,
                bold=True,
            )
    steps = sheet.readings.of([ref])
    sheet.items += sheet.readings.lines(steps, ref, left + 1.5, top + 12.0, width - 3.0)


def _coils(
    sheet: Sheet,
    legs: Sequence[_Leg],
    node_x: Sequence[tuple[float, float]],
    y: float,
    edge: float | None,
) -> float:
    """Draw node lines and coils; return how far right they reach."""
    stage = sheet.stage
    for number, (leg, (begin, end)) in enumerate(zip(legs, node_x, strict=True)):
        first = edge if edge is not None and number == 0 else None
        touches = first is not None and sheet.numbers(
            stage.driver or stage.controller or "", leg.node
        )
        sheet.wire(
            (first if touches and first else begin, y), (end + 8.0, y), stroke=0.5
        )
        sheet.text(end + 7.0, y - 1.2, last(leg.node), 2.6, "end", bold=True)
        pins = sheet.numbers(stage.driver or stage.controller or "", leg.node)
        if number and pins and not leg.columns:
            chip = stage.driver or stage.controller
            sheet.text(end + 7.0, y + 3.2, f"{chip} {pins}", anchor="end")
    left = node_x[-1][1] + 8.0
    between = [
        ref
        for ref in stage.inductors
        if len(legs) > 1 and all(sheet.numbers(ref, leg.node) for leg in legs[:2])
    ]
    outer = [ref for ref in stage.inductors if ref not in between]
    if between:
        start = node_x[0][1] + 8.0
        _coil(sheet, between, start, start + _COIL, y, legs[0].node)
        sheet.wire((start + _COIL, y), (node_x[1][0] + 1.0, y), stroke=0.5)
    if not outer:
        net = stage.output if stage.output not in stage.switch_nodes else None
        if len(legs) > 1:
            return left
        sheet.wire((left, y), (left + 8.0, y), stroke=0.5)
        sheet.text(left + 9.0, y + 0.9, last(net) if net else "to the load", 2.6)
        return left + 30.0
    right = left + _COIL
    _coil(sheet, outer, left, right, y, legs[-1].node)
    side = sheet.other_end(outer[0], legs[-1].node)
    _side(sheet, side, right, y)
    return right + _CAPS


def _coil(
    sheet: Sheet, refs: Sequence[str], left: float, right: float, y: float, node: str
) -> None:
    sheet.items += coil(left, right, y)
    ref = refs[0]
    other = sheet.other_end(ref, node)
    sheet.text(left + 1.5, y + 3.0, sheet.numbers(ref, node))
    sheet.text(right - 1.5, y + 3.0, sheet.numbers(ref, other), anchor="end")
    width = right - left - 3.0
    base = y + 7.0
    for one in refs:
        sheet.text(left + 1.5, base, one, 3.0, bold=True, width=width)
        sheet.text(left + 1.5, base + 2.9, sheet.value(one), width=width)
        steps = sheet.readings.of([one])
        sheet.items += sheet.readings.lines(steps, one, left + 1.5, base + 3.6, width)
        base += 7.6 + READING_MM * len(steps)


def _side(sheet: Sheet, net: str | None, x: float, y: float) -> None:
    """Draw the rail beyond the coil, with its capacitors."""
    stage = sheet.stage
    outgoing = net in (stage.output, stage.output_rail)
    word = "output" if outgoing else "input" if net == stage.input else ""
    sheet.wire((x, y), (x + _CAPS - 4.0, y), stroke=0.5)
    sheet.text(x + 1.0, y - 4.4, last(net), 2.8, bold=True, width=_CAPS - 2)
    rail = stage.output_rail if outgoing else stage.input_rail
    beyond = f", on to {last(rail)}" if rail not in (net, None) else ""
    sheet.text(x + 1.0, y - 1.3, word + beyond, width=_CAPS - 2)
    caps = stage.output_caps if outgoing else stage.input_caps
    _caps(sheet, caps, x + 5.0, y)


def _caps(sheet: Sheet, caps: Sequence[str], x: float, y: float) -> None:
    if not caps:
        return
    sheet.node(x, y)
    sheet.drawn.update(caps)
    sheet.items += capacitor(x, y, y + 10.0)
    sheet.wire((x - 1.6, y + 10.0), (x + 1.6, y + 10.0), stroke=0.5)
    for row, ref in enumerate(caps[:7]):
        sheet.text(x + 3.2, y + 4.4 + 2.7 * row, ref, 2.3, width=_CAPS - 9)
    if len(caps) > 7:
        more = f"and {len(caps) - 7} more"
        sheet.text(x + 3.2, y + 4.4 + 2.7 * 7, more, width=_CAPS - 9)


def _rails(
    sheet: Sheet,
    legs: Sequence[_Leg],
    high: Sequence[Sequence[Cell]],
    low: Sequence[Sequence[Cell]],
    start: float,
    end: float,
    bottom_y: float,
) -> None:
    stage = sheet.stage
    x = start
    for number, leg in enumerate(legs):
        if number:
            x += _COIL
        for row, y, top in ((high[number], _TOP, True), (low[number], bottom_y, False)):
            if not row:
                continue
            net = row[0].top if top else row[0].bottom
            right = x + len(row) * _CELL - 4.0
            sheet.wire((x + 4.0, y), (right, y), stroke=0.5)
            word = {stage.input: " (input)", stage.output: " (output)"}.get(net, "")
            rail = stage.input_rail if net == stage.input else stage.output_rail
            if word and rail not in (net, None):
                word = f"{word[:-1]}, on to {last(rail)})"
            base = y - 1.4 if top else y + 3.4
            label = f"{last(net)}{word}"
            sheet.text(x + 5.0, base, label, 2.5, bold=True, width=right - x - 1)
        x += max(1, leg.columns) * _CELL if leg.columns else 8.0
    nets = {row[0].top for row in high if row}
    caps = stage.input_caps if stage.input in nets or not nets else stage.output_caps
    if caps and (nets or not stage.inductors):
        sheet.drawn.update(caps)
        word = "input" if caps is stage.input_caps else "output"
        sheet.text(end + 2.0, _TOP - 1.4, f"{word} capacitors to ground", 2.3)
        for place, ref in enumerate(caps[:6]):
            sheet.text(end + 2.0, _TOP + 2.0 + 2.7 * place, ref, 2.3)
        if len(caps) > 6:
            sheet.text(end + 2.0, _TOP + 2.0 + 2.7 * 6, f"and {len(caps) - 6} more")
