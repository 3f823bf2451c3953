"""Direct-current resistance of links: coils, beads, fuses, windings, jumpers.

No file states these.  The ranges are common practice, by value and kind, and wide
enough for every make: catalogue parts of each group lie inside (no single source).
"""

import math
import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Link
from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.scene import INSIDE, Range, Scene, path
from ohmtrail.netanalysis.values import parse_value

__all__ = ["TOLERANCE", "link_paths", "marked_range"]

#: Tolerance of a resistor where none is marked.
TOLERANCE = 0.05
#: A 0 ohm part, a closed solder bridge, a closed switch.
ZERO = Range(5e-4, 0.01, 0.05)
BRIDGE = Range(1e-4, 1e-3, 0.02)
CONTACT = Range(2e-3, 0.02, 0.5)
SHUNT = Range(1e-4, 5e-3, 0.5)

#: (up to this many henries, range): power inductors at the low end, small signal
#: ones at the high end of each.
_COILS = (
    (0.1e-6, Range(2e-4, 0.02, 3.0)),
    (1.0e-6, Range(2e-4, 0.01, 1.0)),
    (10e-6, Range(2e-3, 0.04, 2.0)),
    (100e-6, Range(0.01, 0.2, 8.0)),
    (1e-3, Range(0.05, 1.0, 40.0)),
    (math.inf, Range(0.2, 10.0, 500.0)),
)
_COIL_UNKNOWN = Range(2e-4, 0.05, 10.0)
_CHOKE = Range(2e-3, 0.1, 5.0)
_WINDING = Range(2e-3, 0.5, 30.0)
_FUSE_UNKNOWN = Range(1e-3, 0.03, 5.0)
_SENSOR = Range(1e-4, 1e-3, 0.02)
_STAYS = re.compile(r"dip|slide|toggle|rotary|rocker|[SD]P[D34]T|latch", re.I)
_MOMENTARY = re.compile(r"push|tact|button|moment|reset", re.I)


def marked_range(part: Part, ohms: float) -> tuple[Range, str]:
    """Return the range of a resistor marked with a value, and the reason."""
    value = parse_value(part.value, "resistor")
    marked = value.tolerance if value is not None else None
    tolerance = TOLERANCE if marked is None else marked
    if ohms == 0.0:
        return ZERO, f"marked {part.value}: a 0 ohm part (common practice)"
    said = f"{100 * tolerance:g} %" + (" assumed" if marked is None else "")
    range_ = Range(ohms * (1 - tolerance), ohms, ohms * (1 + tolerance))
    return range_, f"marked {part.value}, {said}"


def link_paths(scene: Scene, part: Part) -> Iterator[Resistance]:
    """Yield the paths that a part's links make."""
    for link in scene.links.get(part.ref, ()):
        a, b = part.pin(link.pin_a), part.pin(link.pin_b)
        if a is None or b is None:
            continue
        known = _range(scene, part, link)
        if known is not None:
            ohms, because, assumed = known
            nodes = scene.node(a), scene.node(b)
            yield from path(part, *nodes, ohms, because, assumed=assumed)


def _range(scene: Scene, part: Part, link: Link) -> tuple[Range, str, bool] | None:
    practice = f"common practice: {link.because}"
    if link.because.startswith("Kelvin"):
        return INSIDE, link.because, False
    if link.kind == "resistor":
        if link.ohms is None:
            return SHUNT, f"{link.because} (common practice)", True
        return (*marked_range(part, link.ohms), False)
    if link.kind in ("jumper", "connector"):
        return _jumper(link)
    if link.kind == "switch":
        text = f"{part.library} {part.value} {part.footprint} {part.description}"
        pressed = _MOMENTARY.search(text) or _to_ground(scene, link, text)
        if pressed and not re.search(r"_NC(?:_|$)", part.library):
            return None
        open_ = Range(CONTACT.low, math.inf, math.inf)
        return open_, "switch in unknown position: contact or open", True
    if link.kind in ("inductor", "bead"):
        sort = scene.view.sort(part.ref)
        return (*_coil(part, link.kind, sort), True)
    if link.kind == "fuse":
        return (*_fuse(part, scene.view.sort(part.ref)), True)
    if link.kind == "transformer":
        return _WINDING, f"common practice: {link.because}", True
    if link.kind == "other":
        return _SENSOR, practice, True
    return BRIDGE, practice, True


def _to_ground(scene: Scene, link: Link, text: str) -> bool:
    """Whether a switch takes a signal to ground: a button, unless it says otherwise."""
    view = scene.view
    ends = (link.net_a, link.net_b)
    signals = [net for net in ends if not view.is_ground(net)]
    on_rail = any(net in view.rails for net in signals)
    return len(signals) == 1 and not on_rail and not _STAYS.search(text)


def _jumper(link: Link) -> tuple[Range, str, bool]:
    if link.always:
        return BRIDGE, f"{link.because}: copper or solder (common practice)", False
    drawn_closed = "drawn closed" in link.because
    usual = CONTACT.typical if drawn_closed else math.inf
    return Range(CONTACT.low, usual, math.inf), f"{link.because}: may be open", True


def _coil(part: Part, kind: str, sort: str) -> tuple[Range, str]:
    value = parse_value(part.value, kind)
    if sort == "common-mode":
        return _CHOKE, "common practice: winding of a common-mode choke"
    if kind == "bead":
        impedance = value.impedance_ohms if value is not None else None
        high = 1.0 if impedance is None or impedance > 300 else 0.5
        return Range(2e-3, 0.1, high), "common practice: bead"
    henries = value.henries if value is not None else None
    if henries is None:
        return _COIL_UNKNOWN, f"common practice: coil of unknown value {part.value!r}"
    row = next(range_ for most, range_ in _COILS if henries <= most)
    return row, f"common practice: winding of a {part.value} coil"


def _fuse(part: Part, sort: str) -> tuple[Range, str]:
    value = parse_value(part.value, "fuse")
    amps = value.amps if value is not None else None
    if not amps:
        return _FUSE_UNKNOWN, "common practice: fuse of unknown rating"
    most = 2.0 if sort == "resettable" else 1.0
    range_ = Range(0.01 / amps, 0.1 / amps, most / amps)
    return range_, f"common practice: {amps:g} A fuse"
