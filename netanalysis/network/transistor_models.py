"""Transistors that are off: body diodes, base junctions, what is built in.

Drops are what a meter shows at 1 mA (common practice, no single source).
"""

import re
from collections.abc import Iterator

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.network.elements import Junction, Resistance
from ohmtrail.netanalysis.network.scene import Range, Scene, joined, junction
from ohmtrail.netanalysis.polarity import is_p_type

__all__ = ["BODY", "bipolar_junctions", "fet_junctions", "igbt_junctions"]

BODY = Range(0.35, 0.42, 0.7)
BASE_EMITTER = Range(0.55, 0.66, 0.78)
BASE_COLLECTOR = Range(0.5, 0.63, 0.76)
_EMISSION = 1.05
#: Transistors with their resistors inside: base resistor in ohms, and their drop.
_PREBIASED = re.compile(r"^(?:P?DT[AC]|DDT[AC]|MUN|UMH|RN[12]\d|EMD)\d", re.I)
_BIAS_OHMS = 10e3
_BIASED = Range(0.6, 0.7, 5.0)
_WITH_DIODE = re.compile(r"diode|co-?pack", re.I)


def _pins(scene: Scene, part: Part, role: str, unit: int) -> tuple[Pin, ...]:
    """Pins of a role in a unit; those of the whole part where all units share it."""
    view = scene.view
    mine = view.pins_with_role(part.ref, role, unit=unit)
    if mine:
        return mine
    every = view.pins_with_role(part.ref, role)
    return every if len({pin.net for pin in every}) == 1 else ()


def fet_junctions(scene: Scene, part: Part) -> Iterator[Junction | Resistance]:
    """Yield the body diode of each field-effect transistor in a package."""
    view = scene.view
    middle = view.pins_with_role(part.ref, "switch")
    if middle and view.pins_with_role(part.ref, "high gate", "low gate"):
        yield from _block(scene, part, middle)
        return
    gates = view.pins_with_role(part.ref, "gate")
    units = sorted({view.unit(part.ref, pin.number) for pin in gates}) or [0]
    for unit in units:
        drains = _pins(scene, part, "drain", unit) or middle
        sources = _pins(scene, part, "source", unit) or middle
        if not drains or not sources:
            continue
        yield from joined(scene, part, drains)
        yield from joined(scene, part, sources)
        channel, because, assumed = _channel(scene, part, unit, drains, sources)
        drain, source = scene.node(drains[0]), scene.node(sources[0])
        ends = (drain, source) if channel == "p" else (source, drain)
        role = view.roles.get((part.ref, drains[0].number))
        if role is not None and role.inferred:
            because += f"; pins: {role.because}"
        yield from junction(
            part, *ends, BODY, "body", because, emission=_EMISSION, assumed=assumed
        )


def _channel(
    scene: Scene,
    part: Part,
    unit: int,
    drains: tuple[Pin, ...],
    sources: tuple[Pin, ...],
) -> tuple[str, str, bool]:
    view = scene.view
    practice = "(common practice)"
    p_type = is_p_type(view, part.ref, unit)
    if p_type or view.sort(part.ref).startswith("n-channel"):
        channel = "p" if p_type else "n"
        return channel, f"body diode, {channel}-channel {practice}", False
    if view.is_ground(sources[0].net):
        return "n", f"body diode; source at ground, so n-channel {practice}", False
    if view.is_ground(drains[0].net):
        return "p", f"body diode; drain at ground, so p-channel {practice}", True
    return "n", f"body diode; channel not stated, taken as n {practice}", True


def _block(
    scene: Scene, part: Part, middle: tuple[Pin, ...]
) -> Iterator[Junction | Resistance]:
    """Yield the two body diodes of a package with both switches."""
    view = scene.view
    bottom = view.pins_with_role(part.ref, "ground", "source")
    top = view.pins_with_role(part.ref, "input", "supply", "drain")
    because = "body diode of a switch in the package (common practice)"
    node = scene.node(middle[0])
    for pins in (bottom, top, middle):
        yield from joined(scene, part, pins if scene.in_hand else ())
    ends = [(scene.node(pin), node) for pin in bottom[:1]]
    ends += [(node, scene.node(pin)) for pin in top[:1]]
    for anode, cathode in ends:
        yield from junction(
            part, anode, cathode, BODY, "body", because, emission=_EMISSION
        )


def bipolar_junctions(scene: Scene, part: Part) -> Iterator[Junction | Resistance]:
    """Yield base-emitter and base-collector junctions of each transistor."""
    view = scene.view
    sort = view.sort(part.ref)
    biased = bool(_PREBIASED.match(part.value))
    bases = view.pins_with_role(part.ref, "base")
    for unit in sorted({view.unit(part.ref, pin.number) for pin in bases}):
        base = _pins(scene, part, "base", unit)
        pnp = is_p_type(view, part.ref, unit)
        because = f"{'pnp' if pnp else 'npn'} (common practice)"
        if not sort and not pnp:
            because = "polarity not stated, taken as npn (common practice)"
        for role, drop in (("emitter", BASE_EMITTER), ("collector", BASE_COLLECTOR)):
            ends = _pins(scene, part, role, unit)
            if not base or not ends:
                continue
            yield from joined(scene, part, ends)
            inner, outer = scene.node(base[0]), scene.node(ends[0])
            yield from junction(
                part,
                *((outer, inner) if pnp else (inner, outer)),
                _BIASED if biased else drop,
                "base",
                f"{role} junction, {because}",
                emission=_EMISSION,
                ohms_series=_BIAS_OHMS if biased else 0.0,
                assumed=not (sort or pnp) or biased,
            )


def igbt_junctions(scene: Scene, part: Part) -> Iterator[Junction | Resistance]:
    """Yield the diode across an IGBT, if the part is said to have one."""
    text = f"{part.library} {part.value} {part.description} {part.keywords}"
    if not _WITH_DIODE.search(text):
        return
    emitters = scene.view.pins_with_role(part.ref, "emitter")
    collectors = scene.view.pins_with_role(part.ref, "collector")
    if emitters and collectors:
        ends = scene.node(emitters[0]), scene.node(collectors[0])
        because = "diode across the IGBT, as described (common practice)"
        yield from junction(part, *ends, BODY, "body", because, emission=_EMISSION)
