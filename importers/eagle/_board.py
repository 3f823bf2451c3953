"""An EAGLE board to a board: elements, their pads in place, signals."""

import math
import re
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX, too_many
from ohmtrail.importers._xml import ElementError, find, number, required
from ohmtrail.importers.eagle._device import find_library
from ohmtrail.importers.eagle._library import Pad, read_libraries
from ohmtrail.importers.eagle._outline import outline
from ohmtrail.importers.eagle._scope import variant_of
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["read_board"]

_ROTATION = re.compile(r"(S?)(M?)R(\d{1,3}(?:\.\d{1,6})?)")
_OTHER_SIDE = {"top": "bottom", "bottom": "top", "both": "both"}


def _rotation(element: "Element") -> tuple[bool, float]:
    """Return whether an element is mirrored (on the bottom) and its angle, degrees."""
    text = element.get("rot", "R0")
    match = _ROTATION.fullmatch(text)
    if match is None:
        raise ElementError(
            f"found rot={text[:40]!r}, expected one like 'R90' or 'MR45.5'", element
        )
    return bool(match[2]), float(match[3])


def _extent(pad: Pad, angle: float) -> tuple[float, float] | None:
    """Return how far a pad reaches along x and y on the board."""
    if pad.land is None:
        return None
    width, height, own = pad.land
    turn = math.radians(own + angle)
    cos, sin = abs(math.cos(turn)), abs(math.sin(turn))
    return round(width * cos + height * sin, 6), round(width * sin + height * cos, 6)


def _part(
    element: "Element",
    pads: tuple[Pad, ...],
    library: str,
    nets: dict[tuple[str, str], str],
    variant: str,
) -> Part:
    ref = required(element, "name")
    x, y = number(element, "x"), number(element, "y")
    mirrored, angle = _rotation(element)
    turn = math.radians(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    pins: dict[str, Pin] = {}
    for pad in pads:
        # Turned to the left first, then mirrored; y points up in the file.
        dx = pad.x_mm * cos - pad.y_mm * sin
        dy = pad.x_mm * sin + pad.y_mm * cos
        pins.setdefault(
            pad.name,
            Pin(
                ref,
                pad.name,
                nets.get((ref, pad.name)),
                x_mm=round(x - dx if mirrored else x + dx, 6),
                y_mm=round(-(y + dy), 6) + 0.0,
                side=_OTHER_SIDE[pad.side] if mirrored else pad.side,
                land_mm=_extent(pad, angle),
            ),
        )
    fields = {
        required(item, "name"): item.get("value", "")
        for item in find(element, "attribute")
    }
    value = element.get("value", "")
    fitted = element.get("populate") != "no"
    for item in find(element, "variant") if variant else ():
        if item.get("name") == variant:
            fitted = item.get("populate") != "no"
            value = item.get("value", value)
    return Part(
        ref=ref,
        value=value,
        pins=tuple(pins.values()),
        footprint=f"{library}:{required(element, 'package')}",
        fitted=fitted,
        fields=tuple((key, text) for key, text in fields.items() if text),
        x_mm=x,
        y_mm=-y + 0.0,
        side="bottom" if mirrored else "top",
    )


def read_board(drawing: "Element", path: Path, version: str) -> Board:
    """Make a board of ``<board>``.

    Parameters
    ----------
    drawing : Element
        The element.
    path : Path
        The file, for the name of the design.
    version : str
        Version of EAGLE that wrote it.

    Raises
    ------
    ElementError
        If it contradicts itself.
    ParseError
        If it has more parts or pins than any board.

    Notes
    -----
    O(size).  Of drawings the edges of the board are read; copper is counted.
    """
    libraries, variant = read_libraries(drawing), variant_of(drawing)
    nets: dict[tuple[str, str], str] = {}
    elements = {
        required(one, "name"): one for one in find(drawing, "elements", "element")
    }
    order: list[str] = []
    copper = idle = 0
    pending = []
    for signal in find(drawing, "signals", "signal"):
        name = required(signal, "name")
        used = False
        for one in signal:
            if one.tag != "contactref":
                copper += 1
                continue
            key = required(one, "element"), required(one, "pad")
            if key[0] not in elements:
                raise ElementError(f"found unknown element {key[0]!r}", one)
            if nets.setdefault(key, name) != name:
                raise ElementError(
                    f"found pad {key[0]}.{key[1]} in signal {name!r}, but it is in "
                    f"{nets[key]!r} too",
                    one,
                )
            used = True
            pending.append((key, one))
        if used:
            order.append(name)
        else:
            idle += 1
    parts: dict[str, Part] = {}
    notes: Counter[tuple[str, str]] = Counter()
    pins = 0
    for one in find(drawing, "elements", "element"):
        library = find_library(one, libraries)
        package = required(one, "package")
        if package not in library.packages:
            raise ElementError(
                f"found package {package!r}, which library {library.name!r} lacks", one
            )
        part = _part(one, library.packages[package], library.name, nets, variant)
        if part.ref in parts:
            raise ElementError(f"found element {part.ref} again", one)
        if not part.pins:
            notes["element without pads", part.ref] += 1
        parts[part.ref] = part
        pins += len(part.pins)
        if pins > PINS_MAX or len(parts) > PARTS_MAX:
            raise too_many(path)
    known = {(pin.ref, pin.number) for part in parts.values() for pin in part.pins}
    for key, one in pending:
        if key not in known:
            raise ElementError(f"found pad {key[1]!r}, which {key[0]} lacks", one)
    unused = [Unused(what, where, n) for (what, where), n in notes.items()]
    if idle:
        unused.append(Unused("net without pads", path.name, idle))
    if copper:
        unused.append(
            Unused(
                "track, via or polygon: nets are those of the pads", path.name, copper
            )
        )
    return make_board(
        name=path.name.removesuffix(".gz").removesuffix(".brd"),
        format="eagle",
        version=version,
        parts=parts.values(),
        net_order=order,
        unused=unused,
        outline_mm=outline(drawing),
    )
