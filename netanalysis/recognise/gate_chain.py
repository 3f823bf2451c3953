"""From a gate back to the pin that drives it.

The walk starts at the gate and goes over resistors, beads and forward diodes
until it meets a driver: a chip's gate pin, any other chip's output, a transistor
that pulls the node, a connector.  What bridges the way is the turn-off path, what
leads from it to the switch's own source is the bleed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import GateChain
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["Drive", "find_drive"]

#: A gate resistor is small; what pulls a pass transistor's gate slowly is not.
GATE_MAX_OHMS = 1.1e3
SLOW_GATE_MAX_OHMS = 220e3
_MAX_STEPS = 6
_GATE_ROLES = ("high gate", "low gate", "gate drive")
_NEVER = ("supply", "ground", "switch", "boot", "feedback", "sense", "input")
_MANY_PINS = 24
_RAIL_PINS = 200


@dataclass(frozen=True, slots=True)
class Drive:
    """A gate chain and what kind of thing drives it."""

    chain: GateChain
    #: Ref of the driver, None where none was found.
    driver: str | None
    #: "chip", "transistor", "connector" or "".
    sort: str


@dataclass(frozen=True, slots=True)
class _Step:
    ref: str
    #: Net nearer the gate, and net nearer the driver.
    near: str
    far: str


@dataclass(frozen=True, slots=True)
class _Found:
    rank: int
    cost: int
    pin: Pin | None
    way: tuple[_Step, ...]
    sort: str


def find_drive(scene: Scene, element: Element, mates: tuple[Element, ...]) -> Drive:
    """Return the gate chain of one switch.

    Parameters
    ----------
    scene : Scene
        The board.
    element : Element
        The switch.
    mates : tuple of Element
        Switches of the same stage; none of them counts as a driver.

    Notes
    -----
    O(parts within a few steps of the gate).
    """
    gate = element.gate or ""
    own = {mate.ref for mate in (*mates, element)}
    found = min(
        _drivers(scene, element, own, GATE_MAX_OHMS),
        key=lambda hit: (hit.rank, hit.cost),
        default=None,
    )
    if found is None or found.rank > _RANK_TRANSISTOR:
        slow = min(
            _drivers(scene, element, own, SLOW_GATE_MAX_OHMS),
            key=lambda hit: (hit.rank, hit.cost),
            default=None,
        )
        if slow is not None and (found is None or slow.rank < found.rank):
            found = slow
    way = found.way if found is not None else ()
    nodes = (gate, *(step.far for step in way))
    pin = found.pin if found is not None else None
    off = _second_output(scene, element, way, pin)
    if not off:
        off = _bypass(scene, way)
    if not off:
        off = _helper(scene, element, nodes, own, pin)
    used = {step.ref for step in way}
    chain = GateChain(
        switch=element.ref,
        gate=element.gate_pin or "",
        driver_pin=pin.key if pin is not None else None,
        series=tuple(step.ref for step in reversed(way)),
        turn_off=off,
        pull_down=_bleed(scene, element, nodes, used | set(off)),
    )
    driver = pin.ref if pin is not None else None
    if found is not None and found.sort not in ("chip", "transistor"):
        driver = None
    return Drive(chain, driver, found.sort if found is not None else "")


# -- the way to the driver -------------------------------------------------

_RANK_GATE_PIN, _RANK_OUTPUT, _RANK_TRANSISTOR, _RANK_CHIP, _RANK_CONNECTOR = range(5)


def _drivers(
    scene: Scene, element: Element, own: set[str], limit: float
) -> Iterator[_Found]:
    start = element.gate or ""
    best: dict[str, int] = {start: 0}
    queue: list[tuple[str, int, tuple[_Step, ...]]] = [(start, 0, ())]
    while queue:
        queue.sort(key=lambda entry: entry[1])
        net, cost, way = queue.pop(0)
        yield from _driver_pins(scene, element, own, net, cost, way)
        if len(way) >= _MAX_STEPS or (not way and _barred(scene, element, net)):
            continue
        for ref, other, price in _steps(scene, element, net, limit):
            total = cost + price
            if total < best.get(other, 1 << 30):
                best[other] = total
                queue.append((other, total, (*way, _Step(ref, net, other))))


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
        for other in _across(scene, ref, net):
            if _barred(scene, element, other):
                continue
            if kind == "resistor":
                ohms = view.ohms(ref)
                if ohms is not None and ohms > limit:
                    continue
                price = 10 if ohms is None or ohms <= GATE_MAX_OHMS else 25
            elif kind in ("diode", "zener"):
                # Forward for charging: an N-channel gate takes current in.
                ahead = _diode_points(scene, ref, net, other)
                forward = ahead == (-1 if not element.p_type else 1)
                price = 30 if forward else 200
            else:
                price = 5
            yield ref, other, price


def _across(scene: Scene, ref: str, net: str) -> tuple[str, ...]:
    """Nets on the other side of a two-net part, or of one array resistor."""
    view = scene.view
    other = view.other_net(ref, net)
    if other is not None:
        return (other,)
    if view.kind(ref) == "resistor" and view.sort(ref) == "network":
        pins = sorted(view.part(ref).pins, key=lambda p: (len(p.number), p.number))
        return tuple(
            far.net
            for near, far in zip(pins, reversed(pins), strict=True)
            if near.net == net and far.net is not None and far.net != net
        )
    if view.kind(ref) in ("diode", "zener"):
        return tuple(n for n in view.nets(ref) if n != net)
    return ()


def _barred(scene: Scene, element: Element, net: str) -> bool:
    """Nets that no gate drive comes over: ground, own ends, supplies."""
    return (
        scene.view.is_ground(net)
        or net in (element.high, element.low)
        or net in scene.view.rails
        or scene.is_power(net)
    )


def _diode_points(scene: Scene, ref: str, here: str, there: str) -> int:
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
    own: set[str],
    net: str,
    cost: int,
    way: tuple[_Step, ...],
) -> Iterator[_Found]:
    view = scene.view
    if net == element.gate and _barred(scene, element, net):
        # The gate sits on a rail: where the rail comes in is what drives it.
        for pin in view.pins(net) if view.degree(net) <= _RAIL_PINS else ():
            if view.kind(pin.ref) == "connector":
                yield _Found(_RANK_CONNECTOR, cost, pin, way, "connector")
        return
    for pin in view.pins(net):
        kind, role = view.kind(pin.ref), view.role(pin.ref, pin.number)
        if kind in ("chip", "other"):
            if len(view.part(pin.ref).pins) < 3:
                continue
            rank = _chip_rank(pin, role)
            yield _Found(rank, cost, pin, way, "chip")
        elif kind == "transformer":
            yield _Found(_RANK_OUTPUT, cost, pin, way, "transformer")
        elif kind in ("mosfet", "bipolar", "igbt") and pin.ref not in own:
            pulls = _transistor_rank(scene, element, pin)
            if pulls is not None:
                yield _Found(pulls, cost, pin, way, "transistor")
        elif kind in ("connector", "switch"):
            yield _Found(_RANK_CONNECTOR, cost, pin, way, "connector")


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
    return _RANK_TRANSISTOR


def _transistor_rank(scene: Scene, element: Element, pin: Pin) -> int | None:
    """Rank a transistor's pin: it drives with its collector or a follower's emitter."""
    view = scene.view
    role = view.role(pin.ref, pin.number)
    unit = view.unit(pin.ref, pin.number)
    if role in ("collector", "drain"):
        for other in scene.at(pin.net or ""):
            if (other.ref, other.unit) == (pin.ref, unit) and other.switch:
                far = other.low if other.high == pin.net else other.high
                ends = (element.high, element.low)
                if far in ends or scene.is_power(far):
                    return _RANK_TRANSISTOR
                if scene.to_ground(far) is not None or _signal_end(scene, far):
                    return _RANK_TRANSISTOR
        return None
    if role in ("emitter", "source"):
        # A follower pair: its other half ends here too, and supply lies beyond.
        pairs = [
            e for e in scene.at(pin.net or "") if e.switch and e.ref != element.ref
        ]
        if len({(e.ref, e.unit) for e in pairs}) > 1:
            return _RANK_TRANSISTOR
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


# -- beside the way --------------------------------------------------------


def _second_output(
    scene: Scene, element: Element, way: tuple[_Step, ...], pin: Pin | None
) -> tuple[str, ...]:
    """Turn-off path of a driver with separate on and off outputs.

    Both pins of one chip reach the gate, each over its own small part.
    """
    view = scene.view
    if pin is None or not way or view.kind(pin.ref) != "chip":
        return ()
    node = way[0].near
    used = {step.ref for step in way}
    for ref, other in view.neighbours(node, "resistor", "bead", "diode"):
        ohms = view.ohms(ref)
        if ref in used or (ohms is not None and ohms > GATE_MAX_OHMS):
            continue
        if _barred(scene, element, other) or other == pin.net:
            continue
        if any(p.ref == pin.ref for p in view.pins(other)):
            return (ref,)
    return ()


def _bypass(scene: Scene, way: tuple[_Step, ...]) -> tuple[str, ...]:
    """Parts that bridge the series parts: a diode, or a diode and a resistor."""
    view = scene.view
    nodes = [way[0].near, *(step.far for step in way)] if way else []
    used = {step.ref for step in way}
    for place, near in enumerate(nodes):
        ahead = set(nodes[place + 1 :])
        for ref in view.refs(near):
            if ref in used or view.kind(ref) not in ("diode", "resistor"):
                continue
            for middle in _across(scene, ref, near):
                diode = view.kind(ref) == "diode"
                if middle in ahead:
                    if diode:
                        return (ref,)
                    continue
                if middle in nodes or view.degree(middle) != 2:
                    continue
                for second, far in view.neighbours(middle, "diode", "resistor"):
                    if second == ref or far not in ahead:
                        continue
                    if diode or view.kind(second) == "diode":
                        return (ref, second)
    return ()


def _helper(
    scene: Scene,
    element: Element,
    nodes: tuple[str, ...],
    own: set[str],
    pin: Pin | None,
) -> tuple[str, ...]:
    """Find the transistor that discharges the gate into the switch's own source."""
    view = scene.view
    for node in nodes:
        for other in scene.at(node):
            if not other.switch or other.ref in own:
                continue
            far = other.low if other.high == node else other.high
            commanded = other.gate in nodes or (
                pin is not None and pin.ref == other.ref and pin.net == node
            )
            if not commanded:
                continue
            if far == element.source:
                return (other.ref,)
            for ref, beyond in view.neighbours(far, "resistor"):
                if beyond == element.source:
                    return (other.ref, ref)
    return ()


def _bleed(
    scene: Scene, element: Element, nodes: tuple[str, ...], used: set[str]
) -> tuple[str, ...]:
    """Resistors from the gate's side to the switch's own source."""
    view = scene.view
    found: dict[str, None] = {}
    for node in nodes:
        if node == element.source:
            continue
        for ref, other in view.neighbours(node, "resistor"):
            if ref not in used and scene.same_ground(other, element.source):
                found[ref] = None
    return tuple(found)
