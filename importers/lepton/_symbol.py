"""Symbols: which end of a pin connects, slots, and nets that attributes name."""

from ohmtrail.importers.lepton._objects import Attributes, Component, Drawing, PinLine

__all__ = ["first", "last", "net_maps", "pin_numbers", "place", "settle_ends"]

#: Rotation (xx, xy, yx, yy) by angle, counterclockwise, y up.
_ROTATE = {0: (1, 0, 0, 1), 90: (0, -1, 1, 0), 180: (-1, 0, 0, -1), 270: (0, 1, -1, 0)}
_SLOTS_MAX = 10_000


def first(attached: Attributes, inherited: Attributes, name: str) -> str:
    """Return an attribute's first value, attached before inherited, or ""."""
    values = attached.get(name) or inherited.get(name)
    return values[0] if values else ""


def last(attached: Attributes, inherited: Attributes, name: str) -> str:
    """Return an attribute's last value, attached before inherited, or ""."""
    values = attached.get(name) or inherited.get(name)
    return values[-1] if values else ""


def place(component: Component, x: int, y: int) -> tuple[int, int]:
    """Return where a point of a symbol is on the page."""
    if component.embedded is not None:
        return x, y
    if component.mirror:
        x = -x
    xx, xy, yx, yy = _ROTATE[component.angle]
    return component.x + xx * x + xy * y, component.y + yx * x + yy * y


def settle_ends(symbol: Drawing) -> None:
    """Decide which end connects, for pins of files that do not say so.

    It is the end at (or next to) the border of the box around all pins.
    """
    if all(pin.settled for pin in symbol.pins):
        return
    xs = [x for pin in symbol.pins for x in (pin.x, pin.far_x)]
    ys = [y for pin in symbol.pins for y in (pin.y, pin.far_y)]
    # y points up: the top is the greatest.
    borders = (min(xs), max(xs)), (max(ys), min(ys))
    for pin in symbol.pins:
        if not pin.settled:
            _settle(pin, borders)


def _settle(pin: PinLine, borders: tuple[tuple[int, int], tuple[int, int]]) -> None:
    level = pin.y == pin.far_y
    near, far = (pin.x, pin.far_x) if level else (pin.y, pin.far_y)
    low, high = borders[0] if level else borders[1]
    distances = [abs(near - low), abs(far - low), abs(near - high), abs(far - high)]
    if distances.index(min(distances)) % 2:
        pin.x, pin.y, pin.far_x, pin.far_y = pin.far_x, pin.far_y, pin.x, pin.y
    pin.settled = True


def pin_numbers(component: Component, symbol: Drawing) -> tuple[list[str], bool]:
    """Return the number of every pin, by the component's slot.

    The second item is False where the component's slot is not defined.
    """
    numbers = [pin.text("pinnumber") for pin in symbol.pins]
    stated = first(component.attributes, symbol.floating, "slot")
    slot = _leading_number(stated) if stated else 1
    prefix = f"{slot}:"
    for text in component.attributes.get("slotdef", ()):
        if text.startswith(prefix):
            _renumber(numbers, symbol, text[len(prefix) :])
            return numbers, True
    if symbol.slotdefs is None:
        symbol.slotdefs = {}
        for text in symbol.floating.get("slotdef", ()):
            name, colon, pins = text.partition(":")
            if colon:
                symbol.slotdefs.setdefault(name, pins)
    if str(slot) in symbol.slotdefs:
        _renumber(numbers, symbol, symbol.slotdefs[str(slot)])
        return numbers, True
    return numbers, not stated or slot == 1


def _leading_number(text: str) -> int:
    """Read a number as C's ``atoi`` does."""
    text = text.strip()[:9]
    digits = len(text) - len(text.lstrip("0123456789"))
    return int(text[:digits]) if digits else 0


def _renumber(numbers: list[str], symbol: Drawing, slotdef: str) -> None:
    by_sequence: dict[str, int] = {}
    for index, pin in enumerate(symbol.pins):
        by_sequence.setdefault(pin.text("pinseq"), index)
    words = slotdef.replace(";", ",").replace(" ", ",").split(",", _SLOTS_MAX)
    sequence = 1
    for word in words:
        if not word:
            continue
        index = by_sequence.get(str(sequence), -1)
        if index >= 0:
            if "pinnumber" in symbol.pins[index].attributes:
                numbers[index] = word
            sequence += 1


def net_maps(component: Component, symbol: Drawing) -> dict[str, tuple[str, bool]]:
    """Return the nets that ``net=NAME:PIN,PIN`` give: pin -> (name, inherited).

    What is attached to the component beats what its symbol says.
    """
    found: dict[str, tuple[str, bool]] = {}
    for attributes, inherited in (
        (component.attributes, False),
        (symbol.floating, True),
    ):
        own: dict[str, tuple[str, bool]] = {}
        for value in attributes.get("net", ()):
            name, colon, pins = value.partition(":")
            if not colon:
                continue
            for pin in pins.split(","):
                pin = pin.strip()
                if pin:
                    own.setdefault(pin, (name, inherited))
        for pin, net in own.items():
            found.setdefault(pin, net)
    return found
