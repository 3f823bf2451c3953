"""All that can hold a net down."""

import heapq
from collections.abc import Mapping
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.cut_points import lost_by_lift
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.query import links_reach
from ohmtrail.netanalysis.short_index import ShortIndex

__all__ = ["ASSUMED_MAX", "CutPoint", "ShortAnswer", "Suspect", "find_short"]

#: Shorted switches assumed at once on the way to a suspect.
ASSUMED_MAX = 2
#: Chance that what a shorted switch fed is down as well (common practice, no
#: source: such failures go together more often than chance, and not mostly).
_TOGETHER = 0.2

_LIFTABLE = ("inductor", "bead", "fuse", "resistor", "jumper", "other")


@dataclass(frozen=True, slots=True)
class Suspect:
    """A part that can hold the net down."""

    ref: str
    kind: str
    role: str
    #: Its pins on the net where it was reached.
    pins: tuple[str, ...]
    net: str
    #: Links and shorted switches passed on the way from the net.
    via: tuple[str, ...]
    #: Those of ``via`` that must themselves be shorted.
    assumes: tuple[str, ...]
    #: Probability that this part is the one, before any reading; all sum to 1.
    prior: float


@dataclass(frozen=True, slots=True)
class CutPoint:
    """A link whose lift splits the suspects."""

    ref: str
    #: Suspects that stay on the net, and suspects cut off.
    near: tuple[str, ...]
    far: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShortAnswer:
    """Suspects for a net that is held down, best first."""

    net: str
    #: The net that it is shorted to, as asked; None means ground.
    to: str | None
    parts: tuple[Suspect, ...]
    cut_points: tuple[CutPoint, ...]
    #: Nets reached, with the refs passed; over assumed switches too.
    reached: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class _Way:
    net: str
    via: tuple[str, ...] = ()
    assumes: tuple[str, ...] = ()
    open_links: int = 0


def _spread(
    view: CircuitView,
    start: str,
    beyond: Mapping[str, list[tuple[str, str]]],
    stops: frozenset[str],
    assumed_max: int,
) -> dict[str, _Way]:
    """Reach nets with the fewest assumed switches, then the fewest links."""
    best: dict[str, _Way] = {}
    heap = [((0, 0, 0), 0, _Way(start))]
    pushed = 1
    while heap:
        _, _, way = heapq.heappop(heap)
        if way.net in best:
            continue
        best[way.net] = way
        steps = []
        for link in view.links_at(way.net):
            other = link.net_b if link.net_a == way.net else link.net_a
            may_open = way.open_links + (not link.always)
            steps.append(
                _Way(other, (*way.via, link.ref), way.assumes, may_open)
                if view.fitted(link.ref)
                else None
            )
        if len(way.assumes) < assumed_max:
            steps += [
                _Way(other, (*way.via, ref), (*way.assumes, ref), way.open_links)
                for ref, other in beyond.get(way.net, ())
                if ref not in way.via
            ]
        for step in steps:
            if step is None or step.net in best or step.net in stops:
                continue
            cost = (len(step.assumes), step.open_links, len(step.via))
            heapq.heappush(heap, (cost, pushed, step))
            pushed += 1
    return best


def _weights(
    index: ShortIndex, ways: dict[str, _Way], ends: frozenset[str] | None
) -> list[tuple[str, _Way, float]]:
    """Return each suspect once, where it is reached first, with its weight.

    With ``ends``, only parts that touch one of these nets are suspects.
    """
    view = index.view
    found: dict[str, tuple[_Way, float]] = {}
    for way in ways.values():
        for ref in view.refs(way.net):
            if ref in found:
                continue
            if ends is not None and not ends & set(view.nets(ref)):
                continue
            weight = index.weight(ref, way.net, ends) * 0.5**way.open_links
            found[ref] = (way, weight)
    direct = sum(weight for way, weight in found.values() if not way.assumes)
    weighted = []
    for ref, (way, weight) in found.items():
        for switch in way.assumes:
            # The chance that this switch is the shorted one, given that one is.
            known = found.get(switch)
            share = min(1.0, known[1] / direct) if known and direct > 0 else 0.0
            weight *= share * _TOGETHER
        weighted.append((ref, way, weight))
    return weighted


def _cut_points(
    index: ShortIndex,
    start: str,
    ways: dict[str, _Way],
    parts: tuple[Suspect, ...],
    *,
    assumed: bool,
    cuts_max: int | None,
) -> tuple[CutPoint, ...]:
    """Return the links whose lift splits the suspects, the most even split first."""
    view = index.view
    links = dict.fromkeys(
        (link.ref, link.net_a, link.net_b)
        for net in ways
        for link in view.links_at(net)
        if view.fitted(link.ref) and link.net_a in ways and link.net_b in ways
    )
    switches = dict.fromkeys(
        (ref, min(net, other), max(net, other))
        for net in ways
        for ref, other in (index.beyond().get(net, ()) if assumed else ())
        if other in ways
    )
    liftable = [edge for edge in links if view.kind(edge[0]) in _LIFTABLE]
    level = {net: len(way.assumes) for net, way in ways.items()}
    lost = lost_by_lift(start, level, links, switches, {ref for ref, _, _ in liftable})
    made = []
    for ref, nets in lost.items():
        far = []
        for one in parts:
            if one.net not in nets or one.ref == ref:
                continue
            # On another net too, that still reaches as well as this one did.
            others = (net for net in view.nets(one.ref) if net not in nets)
            if not any(level.get(net, 99) <= len(one.assumes) for net in others):
                far.append(one)
        if far and len(far) + 1 < len(parts):
            made.append((abs(0.5 - sum(one.prior for one in far)), ref, far))
    made.sort(key=lambda one: one[0])
    cuts = []
    for _, ref, gone in made[:cuts_max]:
        far_refs = {one.ref for one in gone}
        near = [one.ref for one in parts if one.ref not in far_refs and one.ref != ref]
        cuts.append(CutPoint(ref, tuple(near), tuple(one.ref for one in gone)))
    return tuple(cuts)


def find_short(
    circuit: Circuit,
    net: str,
    to: str | None = None,
    *,
    assumed_max: int = ASSUMED_MAX,
    cuts_max: int | None = None,
    index: ShortIndex | None = None,
) -> ShortAnswer:
    """Return all parts that can hold a net down, links followed.

    Every fitted part on the net, and on the nets beyond its links, is listed.  A
    switch may be shorted and so be a link itself: parts beyond transistors, diodes
    and the switches inside chips are listed too, with the switch in ``via`` and
    ``assumes``, and with their prior multiplied by the switch's.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    net : str
        The net that reads low.
    to : str, optional
        The net that it is shorted to; by default ground.  Then only parts that
        touch both sides are suspects.
    assumed_max : int
        How many switches may be shorted on the way to a suspect; 0 follows links
        alone.
    cuts_max : int, optional
        How many cut points at most, the most even splits first.
    index : ShortIndex, optional
        The circuit's own, for many questions about one circuit.

    Returns
    -------
    ShortAnswer
        Suspects sorted by prior, which are normalised.

    Raises
    ------
    NotOnBoardError
        If the net is ground itself, or nothing is known to be ground and ``to`` is
        not given, or both nets are one.

    Notes
    -----
    O((pins + links) log nets) over the nets reached; priors from
    `ohmtrail.netanalysis.failure_rates`.
    """
    index = ShortIndex(circuit) if index is None else index
    view = index.view
    if to is not None and view.is_ground(to) and not view.is_ground(net):
        asked: str | None = to
        to = None
    else:
        asked = to
    if to is None and view.is_ground(net):
        raise NotOnBoardError(f"{net} is ground; give a net that it holds down", net)
    if to is None and not circuit.ground:
        raise NotOnBoardError("no ground net found; give the other net with --to", net)
    if to == net:
        raise NotOnBoardError(f"{net} is given twice; --to takes the other net", net)
    beyond = index.beyond() if assumed_max else {}
    ground = frozenset(circuit.ground)
    # One that is ground is only an end, never a way; of two grounds (the sides of an
    # isolation) only what touches both can join them.
    one_ground = to and view.is_ground(net) and not view.is_ground(to)
    near_net, far_net = (to, None) if to and one_ground else (net, to)
    stops = ground
    if far_net is not None:
        stops = frozenset(links_reach(view, far_net)) - {near_net}
    ways = _spread(view, near_net, beyond, stops | ground, assumed_max)
    weighted = _weights(index, ways, stops if far_net is not None else None)
    total = sum(weight for _, _, weight in weighted)
    suspects = [
        Suspect(
            ref=ref,
            kind=view.kind(ref),
            role=index.role(ref, way.net),
            pins=tuple(pin.number for pin in view.pins_on(ref, way.net)),
            net=way.net,
            via=way.via,
            assumes=way.assumes,
            prior=weight / total if total > 0 else 1 / len(weighted),
        )
        for ref, way, weight in weighted
    ]
    suspects.sort(key=lambda one: -one.prior)
    cuts: tuple[CutPoint, ...] = ()
    if far_net is None:
        cuts = _cut_points(
            index,
            near_net,
            ways,
            tuple(suspects),
            assumed=assumed_max > 0,
            cuts_max=cuts_max,
        )
    return ShortAnswer(
        net=net,
        to=asked,
        parts=tuple(suspects),
        cut_points=cuts,
        reached={reached: way.via for reached, way in ways.items()},
    )
