"""Back-to-back pairs: two transistors in series whose body diodes oppose."""

import functools
from collections import Counter
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_build import (
    Command,
    command,
    refs_of,
    switching_stage,
)
from ohmtrail.netanalysis.recognise.stage_parts import measured_by, sense_parts
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["back_to_back_stages", "upstream"]

#: Kinds of links that a shunt or sensor makes.
_SHUNTS = ("resistor", "jumper", "other")
_Position = tuple[Element, ...]


def back_to_back_stages(
    scene: Scene, positions: list[_Position], made: frozenset[str | None]
) -> tuple[list[Stage], set[int]]:
    """Return the pairs among pass transistors, and the places of those used.

    Parameters
    ----------
    scene : Scene
        The board.
    positions : list of tuples of Element
        Free transistors, those between the same nets together.
    made : frozenset of str
        Nets that converters make.

    Notes
    -----
    O(positions) times those that meet on one net.
    """
    done: set[int] = set()
    pairs = []
    at: dict[str, list[int]] = {}
    for place, position in enumerate(positions):
        for net in (position[0].high, position[0].low):
            at.setdefault(net, []).append(place)
    for place, position in enumerate(positions):
        if place in done:
            continue
        near = [p for net in (position[0].high, position[0].low) for p in at[net]]
        mate = _back_to_back(scene, place, near, positions, done, made)
        if mate is not None:
            done |= {place, mate}
            pairs.append((position, positions[mate]))
    # Where several pairs meet, power goes out: sources are joined, not split.
    ends = Counter(net for pair in pairs for p in pair for net in (p[0].low, p[0].high))
    hubs = {
        net for net, count in ends.items() if count > 1 and count != _inner(pairs, net)
    }
    return [_pair(scene, *pair, made, hubs) for pair in pairs], done


def _inner(pairs: list[tuple[_Position, _Position]], net: str) -> int:
    """How often a net is the common node inside a pair, counted for both halves."""
    return sum(
        2
        for first, second in pairs
        if net in (first[0].low, first[0].high)
        and net in (second[0].low, second[0].high)
    )


def _back_to_back(
    scene: Scene,
    place: int,
    near: list[int],
    positions: list[_Position],
    done: set[int],
    made: frozenset[str | None],
) -> int | None:
    """Position whose body diodes oppose this one's, in series over a common node."""
    mine = positions[place][0]
    for other in near:
        theirs = positions[other][0]
        if other == place or other in done or theirs.p_type != mine.p_type:
            continue
        if theirs.kind != mine.kind or mine.kind == "bipolar":
            continue
        if _tied(scene, mine) != _tied(scene, theirs):
            continue  # protection against reverse polarity, then a load switch
        middle = None
        if mine.low == theirs.low and mine.high != theirs.high:
            middle, ends = mine.low, (mine.high, theirs.high)
        elif mine.high == theirs.high and mine.low != theirs.low:
            middle, ends = mine.high, (mine.low, theirs.low)
        if middle is None or scene.view.is_ground(middle):
            continue
        if not (all(map(scene.carries, ends)) or _in_return(scene, middle, ends)):
            continue
        if _only_between(scene, middle, ends, mine, theirs, made):
            return other
    return None


def _tied(scene: Scene, element: Element) -> bool:
    """Whether a P-channel's gate is merely tied to ground, over a resistor at most."""
    view = scene.view
    gate = element.gate or ""
    if not element.p_type:
        return False
    if view.is_ground(gate):
        return True
    driven = ("chip", "other", "bipolar", "mosfet", "connector", "switch")
    if any(ref != element.ref for ref in view.parts_on(gate, *driven)):
        return False
    far = [other for _, other in view.neighbours(gate, "resistor")]
    return all(view.is_ground(net) or net == element.source for net in far) and any(
        map(view.is_ground, far)
    )


def _in_return(scene: Scene, middle: str, ends: tuple[str, str]) -> bool:
    """Whether the two sit in a negative line: one end at ground, one at a port."""
    if scene.is_power(middle) or scene.to_ground(middle) is not None:
        return False
    grounded = [scene.to_ground(end) is not None for end in ends]
    if grounded[0] == grounded[1]:
        return False
    outer = ends[1] if grounded[0] else ends[0]
    return any(
        scene.has_port(net)
        for net in scene.view.linked_nets(
            outer, ("resistor", "jumper", "fuse", "other")
        )
    )


def _only_between(
    scene: Scene,
    middle: str,
    ends: tuple[str, str],
    mine: Element,
    theirs: Element,
    made: frozenset[str | None],
) -> bool:
    """Whether the two are in series over a node of their own.

    Two load switches on one supply meet there as well; but a supply is made, or
    comes in, or feeds chips.  A port may sit between the two (the charge input
    of a battery): then one driver commands both, and power comes in at an end.
    """
    view = scene.view
    if not scene.is_power(middle):
        return True
    if made.intersection((middle, scene.rail_beyond(middle))):
        return False
    if mine.gate == theirs.gate:
        return True
    told = [command(scene, (element,)) for element in (mine, theirs)]
    if told[0].driver is None or told[0].driver != told[1].driver:
        return False
    fed = any(
        view.kind(pin.ref) == "chip"
        and view.role(pin.ref, pin.number) in ("supply", "input")
        for pin in view.pins(middle)
    )
    strongest = max(upstream(scene, end, made) for end in ends)
    return not fed and strongest >= upstream(scene, middle, made)


def _pair(
    scene: Scene,
    first: _Position,
    second: _Position,
    made: frozenset[str | None],
    hubs: set[str],
) -> Stage:
    a, b = first[0], second[0]
    common_low = a.low == b.low
    middle = a.low if common_low else a.high
    ends = [a.high, b.high] if common_low else [a.low, b.low]
    told = command(scene, (*first, *second))
    scores = [upstream(scene, net, made) - 3 * (net in hubs) for net in ends]
    fed = [_feeds_driver(scene, net, told) for net in ends]
    if fed[0] != fed[1]:
        # What commands the pair must live before the pair is on.
        scores[fed.index(True)] += 3
    in_return = any(scene.to_ground(end) is not None for end in ends)
    swap = scene.to_ground(ends[0]) is not None if in_return else scores[1] > scores[0]
    if swap:
        ends.reverse()
        first, second = second, first
        told = command(scene, (*first, *second))
    sense = dict.fromkeys(sense_parts(scene, *ends))
    if told.controller is not None:
        sense.update(dict.fromkeys(measured_by(scene, told.controller)))
    how = "sources" if middle == a.source else "drains"
    stage = switching_stage(
        scene,
        "back-to-back pass",
        nodes=(),
        input=ends[0],
        output=ends[1],
        high=() if in_return else (*first, *second),
        low=(*first, *second) if in_return else (),
        inductors=(),
        because=(f"{', '.join(refs_of((*first, *second)))}: {how} joined at {middle}",),
        told=told,
    )
    if in_return:
        for end in ends:
            sense.update(dict.fromkeys(scene.to_ground(end) or ()))
    return replace(
        stage, current_sense=tuple(dict.fromkeys((*sense, *stage.current_sense)))
    )


def _feeds_driver(scene: Scene, net: str, told: Command) -> bool:
    """Whether an end of a pair supplies the chip that commands it."""
    return any(
        pin.net == net
        for ref in (told.driver, told.controller)
        if ref is not None
        for pin in scene.view.pins_with_role(ref, "supply", "input")
    )


def upstream(scene: Scene, net: str, made: frozenset[str | None]) -> int:
    """Score how much a net looks like the side where power comes in."""
    nets = dict.fromkeys((net, scene.rail_beyond(net) or net))
    score = 6 if made.intersection(nets) else 0
    for here in nets:
        score += scene.once("way in", here, functools.partial(_comes_in, scene, here))
    return score


def _comes_in(scene: Scene, net: str) -> int:
    view = scene.view
    way_in = ("connector", "battery", "fuse")
    score = 2 * len(view.parts_on(net, *way_in))
    rail = view.rails.get(net)
    if rail is not None and rail.source is not None:
        score += view.kind(rail.source) in (*way_in, "inductor")
    used = any(view.role(pin.ref, pin.number) == "supply" for pin in view.pins(net))
    return score - 2 * used
