"""The walk from a gate over resistors, beads and diodes to what drives it."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.recognise.links import across_network
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = [
    "GATE_MAX_OHMS",
    "RANK_TRANSISTOR",
    "SLOW_GATE_MAX_OHMS",
    "Found",
    "Step",
    "across",
    "barred",
    "diode_points",
    "drivers",
]

#: A gate resistor is small; what pulls a pass transistor's gate slowly is not.
GATE_MAX_OHMS = 1.1e3
SLOW_GATE_MAX_OHMS = 220e3
_MAX_STEPS = 6
_GATE_ROLES = ("high gate", "low gate", "gate drive")
_NEVER = ("supply", "ground", "switch", "boot", "feedback", "sense", "input")
_MANY_PINS = 24
#: The output that turns off, where a driver has two: OUTL, OUT-, SINK, VOFF (CP).
_OFF_PIN = re.compile(r"(?:OUT_?[LN-]|SINK|OFF|PDN?)$")
_RAIL_PINS = 200


_RANK_GATE_PIN, _RANK_OUTPUT, RANK_TRANSISTOR, _RANK_CHIP, _RANK_CONNECTOR = range(5)


@dataclass(frozen=True, slots=True)
class Step:
    """One part on the way from a gate to its driver."""

    ref: str
    #: Net nearer the gate, and net nearer the driver.
    near: str
    far: str


@dataclass(frozen=True, slots=True)
class Found:
    """A pin that could drive the gate, and the way to it."""

    #: Less is likelier: a chip's gate pin, an output, a transistor, a connector.
    rank: int
    #: Length of the way; parts that charge no gate cost more.
    cost: int
    pin: Pin | None
    way: tuple[Step, ...]
    sort: str

    @property
    def order(self) -> tuple[int, int, bool]:
        """Sort key: best first; of two outputs of one chip the one that turns on."""
        name = self.pin.name.upper() if self.pin is not None else ""
        return self.rank, self.cost, bool(_OFF_PIN.search(name))


def drivers(
    scene: Scene, element: Element, own: set[tuple[str, int]], limit: float
) -> Iterator[Found]:
    """Yield the pins that could drive a gate, over parts up to so many ohms.

    ``own`` are refs and units of the stage's own switches, which drive nothing
    here; the other half of a dual package may.
    """
    start = element.gate or ""
    best: dict[str, int] = {start: 0}
    queue: list[tuple[str, int, tuple[Step, ...]]] = [(start, 0, ())]
    while queue:
        queue.sort(key=lambda entry: entry[1])
        net, cost, way = queue.pop(0)
        yield from _driver_pins(scene, element, own, net, cost, way)
        if len(way) >= _MAX_STEPS or (not way and barred(scene, element, net)):
            continue
        for ref, other, price in _steps(scene, element, net, limit):
            total = cost + price
            if total < best.get(other, 1 << 30):
                best[other] = total
                queue.append((other, total, (*way, Step(ref, net, other))))


def _steps(
    scene: Scene, element: Element, net: str, limit: float
) -> Iterator[tuple[str, str, int]]:
    view = scene.view
    if view.degree(net) > _MANY_PINS:
        return
    for ref in view.refs(net):
        kind = view.kind(ref)
        if kind not in ("resistor", "bead", "diode", "zener", "jumper"):
            continue
        for other in across(scene, ref, net):
            if barred(scene, element, other):
                continue
            if kind == "resistor":
                ohms = view.ohms(ref)
                if ohms is not None and ohms > limit:
                    continue
                price = 10 if ohms is None or ohms <= GATE_MAX_OHMS else 25
            elif kind in ("diode", "zener"):
                # Forward for charging: an N-channel gate takes current in.
                ahead = diode_points(scene, ref, net, other)
                forward = ahead == (-1 if not element.p_type else 1)
                price = 30 if forward else 200
            else:
                price = 5
            yield ref, other, price


def across(scene: Scene, ref: str, net: str) -> tuple[str, ...]:
    """Nets on the other side of a two-net part, or of one array resistor."""
    view = scene.view
    other = view.other_net(ref, net)
    if other is not None:
        return (other,)
    if view.kind(ref) == "resistor" and view.sort(ref) == "network":
        return across_network(view.part(ref), net)
    if view.kind(ref) in ("diode", "zener"):
        return tuple(n for n in view.nets(ref) if n != net)
    return ()


def barred(scene: Scene, element: Element, net: str) -> bool:
    """Nets that no gate drive comes over: ground, own ends, supplies."""
    return (
        scene.view.is_ground(net)
        or net in (element.high, element.low)
        or net in scene.view.rails
        or scene.is_power(net)
    )


def diode_points(scene: Scene, ref: str, here: str, there: str) -> int:
    """Return 1 if the diode conducts from here to there, -1 for the other way."""
    for element in (*scene.by_low.get(here, ()), *scene.by_high.get(here, ())):
        if element.ref == ref and {element.low, element.high} == {here, there}:
            return 1 if element.low == here else -1
    view = scene.view
    anode, cathode = (
        view.net_with_role(ref, "anode"),
        view.net_with_role(ref, "cathode"),
    )
    if anode == here and cathode == there:
        return 1
    return -1 if cathode == here and anode == there else 0


def _driver_pins(
    scene: Scene,
    element: Element,
    own: set[tuple[str, int]],
    net: str,
    cost: int,
    way: tuple[Step, ...],
) -> Iterator[Found]:
    view = scene.view
    if net == element.gate and barred(scene, element, net):
        # The gate sits on a rail: where the rail comes in is what drives it.
        for pin in view.pins(net) if view.degree(net) <= _RAIL_PINS else ():
            if view.kind(pin.ref) == "connector":
                yield Found(_RANK_CONNECTOR, cost, pin, way, "connector")
        return
    for pin in view.pins(net):
        kind, role = view.kind(pin.ref), view.role(pin.ref, pin.number)
        if kind in ("chip", "other"):
            if len(view.part(pin.ref).pins) < 3:
                continue
            if any(pin.ref == ref for ref, _ in own):
                continue
            rank = _chip_rank(pin, role)
            yield Found(rank, cost, pin, way, "chip")
        elif kind == "transformer":
            yield Found(_RANK_OUTPUT, cost, pin, way, "transformer")
        elif kind in ("mosfet", "bipolar", "igbt"):
            if (pin.ref, view.unit(pin.ref, pin.number)) in own:
                continue
            pulls = _transistor_rank(scene, element, pin)
            if pulls is not None:
                yield Found(pulls, cost, pin, way, "transistor")
        elif kind in ("connector", "switch"):
            yield Found(_RANK_CONNECTOR, cost, pin, way, "connector")


def _chip_rank(pin: Pin, role: str) -> int:
    if role in _GATE_ROLES:
        return _RANK_GATE_PIN
    if role == "output" or pin.electrical in (
        "output",
        "tri_state",
        "open_collector",
        "open_emitter",
        "power_out",
    ):
        return _RANK_OUTPUT
    if role in _NEVER or pin.electrical == "input":
        return _RANK_CONNECTOR + 2
    return RANK_TRANSISTOR


def _transistor_rank(scene: Scene, element: Element, pin: Pin) -> int | None:
    """Rank a transistor's pin: it drives with its collector or a follower's emitter."""
    view = scene.view
    role = view.role(pin.ref, pin.number)
    unit = view.unit(pin.ref, pin.number)
    if role in ("collector", "drain"):
        for other in scene.at(pin.net or ""):
            if (other.ref, other.unit) == (pin.ref, unit) and other.switch:
                far = other.low if other.high == pin.net else other.high
                if far == element.source and not view.is_ground(far):
                    # It can only discharge the gate: any other driver is likelier.
                    return _RANK_CHIP
                ends = (element.high, element.low)
                if far in ends or scene.is_power(far):
                    return RANK_TRANSISTOR
                if scene.to_ground(far) is not None or _signal_end(scene, far):
                    return RANK_TRANSISTOR
        return None
    if role in ("emitter", "source"):
        # A follower pair: its other half ends here too, and supply lies beyond.
        pairs = [
            e for e in scene.at(pin.net or "") if e.switch and e.ref != element.ref
        ]
        if len({(e.ref, e.unit) for e in pairs}) > 1:
            return RANK_TRANSISTOR
        mine = [e for e in pairs if e.ref == pin.ref and e.unit == unit]
        if mine and scene.is_power(mine[0].drain):
            return _RANK_CHIP
    return None


def _signal_end(scene: Scene, net: str) -> bool:
    """Whether an emitter or source is pulled by a chip or a resistor."""
    view = scene.view
    return bool(view.parts_on(net, "chip")) or any(
        view.is_ground(other) for _, other in view.neighbours(net, "resistor")
    )
