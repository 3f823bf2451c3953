"""What a healthy board reads, and what that rests on.

Ranges marked "common practice" have no published source.  Readings are at the
pads, leads nulled.
"""

from collections.abc import Iterable

from ohmtrail.netanalysis.checklist.model import Expect
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.values import parse_value
from ohmtrail.netanalysis.verdict import rail_class

__all__ = [
    "BODY_DIODE",
    "CLAMP",
    "COIL",
    "HIGH",
    "PRACTICE",
    "SCHOTTKY",
    "UNKNOWN_RAIL",
    "capacitor_expect",
    "diode_expect",
    "marked_ohms",
    "parallel_ohms",
    "pull_down_expect",
    "rail_expect",
    "volts_expect",
]

PRACTICE = "common practice"
UNKNOWN_RAIL = "unknown: the rail's voltage is not known"

#: Body diode of a power MOSFET in diode mode.
BODY_DIODE = Expect(0.35, 0.42, 0.7, "volts")
#: A chip's clamp diodes, red lead on ground.
CLAMP = Expect(0.3, 0.5, 0.7, "volts")
SCHOTTKY = Expect(0.12, 0.2, 0.45, "volts")
#: A power inductor's or bead's winding.
COIL = Expect(0.0, None, 1.0, "ohms")
#: "Kilo-ohms and more".
HIGH = Expect(1e3, None, "OL", "ohms")

#: Tolerance where none is marked, and what contact adds, in ohms: two-wire, and
#: four-wire where the needle lands.
_TOLERANCE = 0.05
_CONTACT_OHMS = {"resistance": 0.1, "four-wire": 0.001}


def parallel_ohms(values: Iterable[float]) -> float | None:
    """Return the resistance of resistors in parallel, in ohms; None for none."""
    total = 0.0
    for ohms in values:
        if ohms <= 0:
            return 0.0
        total += 1 / ohms
    return 1 / total if total else None


def marked_ohms(
    view: CircuitView, ref: str, across: Iterable[str] = (), mode: str = "resistance"
) -> tuple[Expect | None, str]:
    """Return what a resistor reads in circuit, and what that rests on.

    Parameters
    ----------
    view : CircuitView
        The circuit.
    ref : str
        The resistor.
    across : iterable of str
        Other resistors between the same two nets, which lower the reading.
    mode : str
        "resistance" or "four-wire": what contact adds.
    """
    ohms = view.ohms(ref)
    text = view.part(ref).value
    if ohms is None:
        return None, f"marked {text!r}: not read as a value" if text else "no value"
    value = parse_value(text, "resistor")
    marked = value.tolerance if value is not None else None
    tolerance = _TOLERANCE if marked is None else marked
    others = {one: view.ohms(one) for one in across if one != ref}
    known = [one for one in others.values() if one is not None]
    seen = parallel_ohms([ohms, *known])
    assert seen is not None
    low = seen * (1 - tolerance)
    # From a hundred ohms up, other ways round take off more than the tolerance.
    if ohms >= 100:
        low *= 0.5 if ohms >= 1e3 else 0.9
    if len(known) < len(others):
        low = 0.0
    high = seen * (1 + tolerance) + _CONTACT_OHMS[mode]
    source = f"marked {text}"
    source += f", {100 * tolerance:g} %" + (" assumed" if marked is None else "")
    if others:
        source += f", less what {' '.join(others)} across it takes off"
    return Expect(round(low, 9), round(seen, 9), round(high, 9), "ohms"), source


def pull_down_expect(view: CircuitView, refs: Iterable[str]) -> tuple[Expect, str]:
    """Return what a gate reads to its source with these pull-downs in parallel."""
    refs = tuple(dict.fromkeys(refs))
    values = [view.ohms(ref) for ref in refs]
    known = [ohms for ohms in values if ohms is not None]
    total = parallel_ohms(known)
    if total is None or len(known) < len(values) or total == 0:
        return HIGH, f"{PRACTICE}: high, or the driver's own pull-down"
    low = min(1e3, total * 0.5) if total > 2e3 else total * 0.5
    expect = Expect(round(low, 6), round(total, 6), round(total * 1.05, 6), "ohms")
    marked = " parallel ".join(view.part(ref).value for ref in refs)
    return expect, f"pull-down {marked}, less the driver's own path ({PRACTICE})"


def rail_expect(volts: float | None) -> tuple[Expect | None, str]:
    """Return what a rail of this nominal voltage reads to ground, cold."""
    if volts is None or volts == 0:
        return None, f"{UNKNOWN_RAIL} (--nominal NET=VOLTS)"
    row = rail_class(volts)
    expect = Expect(row.low_ohms, row.typical_ohms, "OL", "ohms")
    return expect, f"{PRACTICE} for {row.article} ({volts:g} V)"


def volts_expect(volts: float | None, low: float = 0.95) -> tuple[Expect | None, str]:
    """Return what a rail of this nominal voltage reads when powered."""
    if volts is None or volts == 0:
        return None, f"{UNKNOWN_RAIL} (--nominal NET=VOLTS)"
    ends = sorted((volts * low, volts * 1.05))
    expect = Expect(round(ends[0], 6), volts, round(ends[1], 6), "volts")
    return expect, f"nominal {volts:g} V, 5 % ({PRACTICE})"


#: Test current of diode mode, in amps (REFERENCES: about 1 mA on handhelds).
_DIODE_AMPS = 1e-3


def _ohms_across(view: CircuitView, ref: str) -> float | None:
    """Return the marked resistors across a two-net part, in parallel."""
    nets = view.nets(ref)
    if len(nets) != 2:
        return None
    across = view.two_pin_parts_between(nets[0], nets[1], "resistor")
    known = [view.ohms(one) for one in across]
    return parallel_ohms(ohms for ohms in known if ohms is not None)


def diode_expect(view: CircuitView, ref: str) -> tuple[Expect, str]:
    """Return what a diode reads forward, with what lies across it.

    A resistor across it that takes the meter's milliamp below the diode's own drop
    hides the diode: then the resistor's drop is what shows.
    """
    top = 2.0 if view.kind(ref) == "led" else 0.8
    source = f"{PRACTICE}: forward drop, Schottky 0.12 to 0.45 V, silicon 0.5 to 0.8 V"
    ohms = _ohms_across(view, ref)
    if ohms is None or ohms * _DIODE_AMPS > 1.0:
        return Expect(SCHOTTKY.low, None, top, "volts"), source
    drop = ohms * _DIODE_AMPS
    source = f"1 mA over the {ohms:g} ohms across it; lift one end to see the diode"
    return Expect(0.0, min(drop, 0.5), min(top, drop * 1.2 + 0.005), "volts"), source


def capacitor_expect(view: CircuitView, ref: str) -> tuple[Expect, str]:
    """Return what a capacitor reads in resistance, with what lies across it."""
    ohms = _ohms_across(view, ref)
    if ohms is None:
        return HIGH, f"{PRACTICE}: rises while it charges"
    expect = Expect(min(1e3, ohms * 0.5), ohms, ohms * 1.05, "ohms")
    return expect, f"the resistor across it, {ohms:g} ohms"
