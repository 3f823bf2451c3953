"""The faults that a suggestion speaks of, as paths that the readings can weigh."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.claims import Item
from ohmtrail.netanalysis.diagnosis.faults import (
    Fault,
    FaultPath,
    all_faults,
    chain_faults,
)
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["faults_meant"]

#: Which modelled faults a word covers; a bad part may have any of them.
_NAMES: Mapping[str, tuple[str, ...]] = {
    "short": (
        "short",
        "drain-source short",
        "all shorted",
        "gate short",
        "pin short",
        "driver output dead",
    ),
    "open": ("open",),
    "leaky": ("leaky", "gate short"),
    "gate short": ("gate short", "all shorted"),
    "drifted": ("drifted",),
    "driver output dead": ("driver output dead",),
    "solder bridge": ("solder bridge",),
    "weakened": (),
}
_BAD = (*_NAMES["short"], "open", "leaky", "drifted")
#: Kinds that conduct direct current while they are good: they can be seen to be open.
_CONDUCTING = ("resistor", "inductor", "bead", "fuse", "jumper")
#: A drifted resistor is off by half at least, and not yet open (common practice).
_DRIFT_LOW, _DRIFT_HIGH = 1.5, 300.0
_DRIFT_MOST = 2e6
#: What solder makes, in ohms (common practice, no source).
_BRIDGE = (0.003, 5.0)
_BRIDGES_MOST = 12


def faults_meant(
    circuit: Circuit, view: CircuitView, item: Item
) -> dict[str, tuple[Fault, ...]]:
    """Return, by ref, the faults that an item of a suggestion can mean.

    Parameters
    ----------
    circuit : Circuit
    view : CircuitView
    item : Item

    Returns
    -------
    dict
        Refs in the item's order; a ref whose fault direct current cannot show has
        none.  A bridge between two nets stands under "".

    Notes
    -----
    Faults that the suspects know keep their prior; others have weight 0.
    """
    if item.fault == "solder bridge":
        return _bridges(view, item)
    names = _BAD if item.fault is None else _NAMES.get(item.fault, (item.fault,))
    asked = {pin.net for pin in item.pins if pin.net is not None}
    known: dict[str, list[Fault]] = {ref: [] for ref in item.parts}
    every = all_faults(circuit, view, asked)
    for fault in (*every, *_chain(circuit, view)):
        if fault.ref in known and fault.name in names:
            known[fault.ref].append(fault)
    for ref in item.parts:
        known[ref] += [one for one in _made(view, ref) if one.name in names]
    pins = {(pin.ref, pin.net) for pin in item.pins}
    return {ref: _at_pins(found, pins, ref) for ref, found in known.items()}


def _chain(circuit: Circuit, view: CircuitView) -> Iterator[Fault]:
    for faults in chain_faults(circuit, view).values():
        yield from faults


def _at_pins(
    found: Iterable[Fault], pins: set[tuple[str, str | None]], ref: str
) -> tuple[Fault, ...]:
    nets = {net for one, net in pins if one == ref}
    once: dict[tuple[object, ...], Fault] = {}
    for fault in found:
        if not nets or nets & set(fault.nets):
            key = (fault.name, fault.paths, fault.open)
            if key not in once or once[key].weight < fault.weight:
                once[key] = fault
    return tuple(once.values())


def _made(view: CircuitView, ref: str) -> Iterator[Fault]:
    """Yield faults of parts that hold no rail down: open, drifted, shorted."""
    nets = view.nets(ref)
    kind = view.kind(ref)
    if kind not in _CONDUCTING or len(nets) != 2:
        return
    yield Fault(ref, "open", (), True, 0.0, "", nets)
    if kind == "resistor":
        ohms = view.ohms(ref)
        if ohms is None:
            return
        low = max(ohms * _DRIFT_LOW, ohms + 1.0)
        high = max(low * 2, min(ohms * _DRIFT_HIGH, _DRIFT_MOST))
        yield Fault(
            ref,
            "drifted",
            (FaultPath(nets[0], nets[1], low, high),),
            True,
            0.0,
            "",
            nets,
        )
        if ohms > 3.0:
            way = FaultPath(nets[0], nets[1], 0.01, max(0.02, 0.3 * ohms))
            yield Fault(ref, "short", (way,), False, 0.0, "", nets)


def _bridges(view: CircuitView, item: Item) -> dict[str, tuple[Fault, ...]]:
    """Solder from one pad of a part to the next, or between two nets."""
    if item.nets:
        pairs = combinations(item.nets, 2)
        made = tuple(_bridge("", a, b) for a, b in pairs)
        if len(item.nets) == 1 and view.ground:
            made = (_bridge("", item.nets[0], view.ground[0]),)
        return {"": made}
    found: dict[str, tuple[Fault, ...]] = {}
    for ref in item.parts:
        pins = view.part(ref).pins
        seen: dict[tuple[str, str], Fault] = {}
        for one, other in zip(pins, (*pins[1:], pins[0]), strict=True):
            a, b = sorted((one.net or "", other.net or ""))
            if a and b and a != b:
                seen.setdefault((a, b), _bridge(ref, a, b))
        found[ref] = tuple(seen.values())[:_BRIDGES_MOST]
    return found


def _bridge(ref: str, a: str, b: str) -> Fault:
    path = FaultPath(a, b, *_BRIDGE)
    return Fault(ref, "solder bridge", (path,), False, 0.0, "", (a, b))
