"""All that can hold a net down."""

import heapq
from collections.abc import Mapping
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit, Kind
from ohmtrail.netanalysis.cut_points import bridges
from ohmtrail.netanalysis.failure_rates import short_rate
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.ground_like import ground_like
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.part_roles import RoleBook
from ohmtrail.netanalysis.query import links_reach
from ohmtrail.netanalysis.switch_paths import switch_paths
from ohmtrail.netanalysis.view import view_of

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
    beyond: dict[str, list[tuple[str, str]]],
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


def _share(view: CircuitView, ref: str, net: str, ends: frozenset[str]) -> float:
    """How far a short of this part, seen from this net, can hold the net down.

    The factors are common practice; they only order the suspects.
    """
    kind = view.kind(ref)
    if any(net in (link.net_a, link.net_b) for link in view.links_of(ref)):
        # A link passes current anyway; only its case can short to something.
        return 0.01
    others = [other for other in view.nets(ref) if other != net]
    if kind in ("mosfet", "igbt", "bipolar"):
        roles = {view.role(ref, pin.number) for pin in view.pins_on(ref, net)}
        return 0.3 if roles <= {"gate", "base"} and roles else 1.0
    if kind == "chip":
        roles = {view.role(ref, pin.number) for pin in view.pins_on(ref, net)}
        return 1.0 if roles & {"supply", "input", "output", "switch"} else 0.3
    if len(others) == 1 and others[0] not in ends:
        return 0.3 if kind in ("diode", "zener", "tvs", "led") else 0.1
    return 1.0 if others else 0.0


def _weights(
    view: CircuitView, ways: dict[str, _Way], ends: frozenset[str], between: bool
) -> list[tuple[str, _Way, float]]:
    """Return each suspect once, where it is reached first, with its weight."""
    found: dict[str, tuple[_Way, float]] = {}
    for way in ways.values():
        for ref in view.refs(way.net):
            if ref in found:
                continue
            if between and not ends & set(view.nets(ref)):
                continue
            kind = view.kinds.get(ref, Kind("other", ""))
            weight = short_rate(view.part(ref), kind).weight
            weight *= _share(view, ref, way.net, ends)
            found[ref] = (way, weight * 0.5**way.open_links)
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
    view: CircuitView,
    start: str,
    ways: dict[str, _Way],
    place: dict[str, str],
    beyond: dict[str, list[tuple[str, str]]],
) -> tuple[CutPoint, ...]:
    """Return the links whose lift splits the suspects.

    First by links alone; then with every assumed switch shorted, for the links
    that lie beyond one.
    """
    links = {
        (link.ref, link.net_a, link.net_b)
        for net in ways
        for link in view.links_at(net)
        if view.fitted(link.ref) and link.net_a in ways and link.net_b in ways
    }
    switches = {
        (ref, min(net, other), max(net, other))
        for net in ways
        for ref, other in beyond.get(net, ())
        if other in ways
    }
    closed = {net for net, way in ways.items() if not way.assumes}
    inner = sorted(edge for edge in links if edge[1] in closed and edge[2] in closed)
    cuts = dict(bridges(start, inner))
    for ref, nets in bridges(start, sorted(links) + sorted(switches)).items():
        cuts.setdefault(ref, nets)
    made = []
    for ref, nets in cuts.items():
        if view.kind(ref) not in _LIFTABLE:
            continue
        far = tuple(one for one, net in place.items() if net in nets and one != ref)
        # Suspects beyond a switch that hangs on the far side go with it.
        cut_off = set(far)
        near = tuple(one for one in place if one not in cut_off and one != ref)
        if near and far:
            made.append(CutPoint(ref, near, far))
    return tuple(made)


def find_short(
    circuit: Circuit,
    net: str,
    to: str | None = None,
    *,
    assumed_max: int = ASSUMED_MAX,
    view: CircuitView | None = None,
    book: RoleBook | None = None,
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
    view, book : optional
        The circuit's own, where the caller has them already.

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
    view = view_of(circuit) if view is None else view
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
    beyond: dict[str, list[tuple[str, str]]] = {}
    for path in switch_paths(circuit, view) if assumed_max else ():
        beyond.setdefault(path.net_a, []).append((path.ref, path.net_b))
        beyond.setdefault(path.net_b, []).append((path.ref, path.net_a))
    ground = frozenset(circuit.ground)
    # One that is ground is only an end, never a way.
    near_net, far_net = (to, None) if to and view.is_ground(net) else (net, to)
    stops = ground
    if far_net is not None:
        stops = frozenset(links_reach(view, far_net)) - {near_net}
    ways = _spread(view, near_net, beyond, stops | ground, assumed_max)
    ends = stops if far_net is not None else ground_like(view)
    weighted = _weights(view, ways, ends, between=far_net is not None)
    total = sum(weight for _, _, weight in weighted)
    book = RoleBook(circuit, view) if book is None else book
    suspects = [
        Suspect(
            ref=ref,
            kind=view.kind(ref),
            role=book.role(ref, way.net),
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
        place = {one.ref: one.net for one in suspects}
        cuts = _cut_points(view, near_net, ways, place, beyond)
        prior = {one.ref: one.prior for one in suspects}
        # The most even split first.
        cuts = tuple(
            sorted(cuts, key=lambda cut: abs(0.5 - sum(prior[r] for r in cut.far)))
        )
    return ShortAnswer(
        net=net,
        to=asked,
        parts=tuple(suspects),
        cut_points=cuts,
        reached={reached: way.via for reached, way in ways.items()},
    )
