"""Which net of a sister stage stands where a net of a stage stands.

Sister stages (phases of one rail, legs of one bridge) are drawn alike, so what reads
5 k in one reads about 5 k in the others.  A *place* is a pin of a part in a role; two
nets correspond where all their places do.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["SisterNets", "sister_nets"]

Place = tuple[object, ...]

_ROLES = (
    "high_side",
    "low_side",
    "inductors",
    "bootstrap",
    "current_sense",
    "snubber",
)


@dataclass(frozen=True, slots=True)
class _Stage:
    stage: Stage
    net_at: dict[Place, str]
    places_of: dict[str, tuple[Place, ...]]


class SisterNets:
    """Answers which pair of nets in a sister stage corresponds to a pair."""

    def __init__(
        self, groups: tuple[tuple[_Stage, ...], ...], shared: frozenset[str]
    ) -> None:
        self._shared = shared
        self._by_net: dict[str, list[tuple[_Stage, tuple[_Stage, ...]]]] = {}
        for group in groups:
            for mine in group:
                others = tuple(one for one in group if one is not mine)
                for net in mine.places_of:
                    self._by_net.setdefault(net, []).append((mine, others))

    def pairs(self, plus: str, minus: str) -> Iterator[tuple[str, str, str]]:
        """Yield (id of the sister stage, its plus, its minus) for a pair of nets.

        Pairs that all stages share (a rail to ground) have no sisters.

        Notes
        -----
        O(sisters).
        """
        seen = {(plus, minus)}
        stages = self._by_net.get(plus, []) + self._by_net.get(minus, [])
        for mine, others in stages:
            for other in others:
                ends = tuple(self._across(mine, other, net) for net in (plus, minus))
                if None in ends or ends in seen:
                    continue
                seen.add(ends)  # type: ignore[arg-type]
                yield other.stage.id, ends[0] or "", ends[1] or ""

    def _across(self, mine: _Stage, other: _Stage, net: str) -> str | None:
        places = mine.places_of.get(net)
        if places is None:
            return net if net in self._shared else None
        found = {other.net_at.get(place) for place in places}
        return found.pop() if len(found) == 1 else None


def sister_nets(circuit: Circuit) -> SisterNets:
    """Return the correspondences between all sister stages of a board.

    Parts of different value correspond to nothing, nor does a net that one stage
    uses in another way than its sister.

    Notes
    -----
    O(pins of all stages).
    """
    # Imported here: the checklist, whose notion of sisters this is, uses the network.
    from ohmtrail.netanalysis.checklist.sisters import sister_groups

    groups = []
    for group in sister_groups(circuit.stages):
        if len(group) < 2:
            continue
        chips = [one.driver for one in group]
        own_driver = len(set(chips)) == len(chips) and None not in chips
        groups.append(tuple(_placed(circuit, one, own_driver) for one in group))
    shared = frozenset(circuit.ground) | {rail.net for rail in circuit.rails}
    return SisterNets(tuple(groups), shared)


def _placed(circuit: Circuit, stage: Stage, own_driver: bool) -> _Stage:
    net_at: dict[Place, str] = {}
    for place, net in _places(circuit, stage, own_driver):
        if net is not None:
            net_at.setdefault(place, net)
    places: dict[str, list[Place]] = {}
    for place, net in net_at.items():
        places.setdefault(net, []).append(place)
    return _Stage(stage, net_at, {net: tuple(found) for net, found in places.items()})


def _places(
    circuit: Circuit, stage: Stage, own_driver: bool
) -> Iterator[tuple[Place, str | None]]:
    for number, node in enumerate(stage.switch_nodes):
        yield ("switch node", number), node
    for role in _ROLES:
        yield from _pins(circuit, (role,), getattr(stage, role))
    if own_driver and stage.driver is not None:
        yield from _pins(circuit, ("driver",), (stage.driver,))
    for number, chain in enumerate(stage.gate_chains):
        for end, pad in (("gate", chain.gate), ("driver pin", chain.driver_pin)):
            if pad is not None:
                yield ("chain", number, end), _pad_net(circuit, pad)
        for way in ("series", "turn_off", "pull_down"):
            yield from _pins(circuit, ("chain", number, way), getattr(chain, way))


def _pins(
    circuit: Circuit, role: Place, refs: tuple[str, ...]
) -> Iterator[tuple[Place, str | None]]:
    for number, ref in enumerate(refs):
        part = circuit.board.part_by_ref[ref]
        for pin in part.pins:
            yield (*role, number, part.value, pin.number), pin.net


def _pad_net(circuit: Circuit, pad: str) -> str | None:
    ref, _, number = pad.rpartition(".")
    part = circuit.board.part_by_ref.get(ref)
    pin = part.pin(number) if part is not None else None
    return pin.net if pin is not None else None
