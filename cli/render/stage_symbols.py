"""Circuit symbols as plain lines (shapes after IEC 60617, much simplified)."""

from math import cos, pi, sin

from ohmtrail.cli.render.drawing import Item, Line, Polyline, Rect

__all__ = ["capacitor", "coil", "diode", "mosfet", "resistor", "transistor"]

_WIRE = 0.3


def mosfet(x: float, top: float, bottom: float) -> tuple[list[Item], float, float]:
    """Draw an upright switch, gate to the left; return also where the gate ends."""
    middle = (top + bottom) / 2
    bar, gate = x - 2.4, x - 3.2
    items: list[Item] = [
        Line(x, top, x, middle - 2.6, _WIRE),
        Line(x, middle + 2.6, x, bottom, _WIRE),
        Line(bar, middle - 3.4, bar, middle + 3.4, 0.5),
        Line(bar, middle - 2.6, x, middle - 2.6, _WIRE),
        Line(bar, middle + 2.6, x, middle + 2.6, _WIRE),
        Line(gate, middle - 3.0, gate, middle + 3.0, _WIRE),
        Line(gate - 2.8, middle, gate, middle, _WIRE),
    ]
    return items, gate - 2.8, middle


def transistor(x: float, top: float, bottom: float) -> tuple[list[Item], float, float]:
    """Draw an upright bipolar or IGBT, its control to the left."""
    middle = (top + bottom) / 2
    bar = x - 2.8
    items: list[Item] = [
        Line(x, top, x, middle - 3.0, _WIRE),
        Line(x, middle + 3.0, x, bottom, _WIRE),
        Line(bar, middle - 3.0, bar, middle + 3.0, 0.5),
        Line(bar, middle - 1.0, x, middle - 3.0, _WIRE),
        Line(bar, middle + 1.0, x, middle + 3.0, _WIRE),
        Line(bar - 3.2, middle, bar, middle, _WIRE),
    ]
    return items, bar - 3.2, middle


def diode(x: float, top: float, bottom: float, *, cathode_up: bool) -> list[Item]:
    """Draw an upright diode."""
    middle = (top + bottom) / 2
    tip, base = (middle - 1.8, middle + 1.8)[:: 1 if cathode_up else -1]
    return [
        Line(x, top, x, bottom, _WIRE),
        Polyline(
            ((x - 2.0, base), (x + 2.0, base), (x, tip)),
            _WIRE,
            closed=True,
            fill="white",
        ),
        Line(x - 2.0, tip, x + 2.0, tip, 0.45),
    ]


def resistor(x: float, top: float, bottom: float) -> list[Item]:
    """Draw an upright resistor with its wires."""
    middle = (top + bottom) / 2
    return [
        Line(x, top, x, bottom, _WIRE),
        Rect(x - 1.1, middle - 2.4, 2.2, 4.8, _WIRE, fill="white"),
    ]


def capacitor(x: float, top: float, bottom: float) -> list[Item]:
    """Draw an upright capacitor with its wires."""
    middle = (top + bottom) / 2
    return [
        Line(x, top, x, middle - 0.6, _WIRE),
        Line(x, middle + 0.6, x, bottom, _WIRE),
        Line(x - 2.2, middle - 0.6, x + 2.2, middle - 0.6, 0.45),
        Line(x - 2.2, middle + 0.6, x + 2.2, middle + 0.6, 0.45),
    ]


def coil(left: float, right: float, y: float) -> list[Item]:
    """Draw a coil along a line, with its wires."""
    middle, radius, bows = (left + right) / 2, 1.6, 4
    start = middle - bows * radius
    points = [(left, y), (start, y)]
    for bow in range(bows):
        centre = start + (2 * bow + 1) * radius
        for step in range(1, 9):
            turn = pi - pi * step / 8
            points.append((centre + radius * cos(turn), y - radius * sin(turn)))
    points.append((right, y))
    return [Polyline(tuple(points), _WIRE)]
