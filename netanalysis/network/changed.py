"""Hypotheses about a board as changes of conductance between points."""

from collections.abc import Sequence
from dataclasses import dataclass

from ohmtrail.netanalysis.network.assembly import Assembly
from ohmtrail.netanalysis.network.elements import Network, Resistance

__all__ = ["Change", "Edges", "changed_edges", "part_of"]


@dataclass(frozen=True, slots=True)
class Change:
    """What a hypothesis takes out and puts in, as in `Network.changed`."""

    #: Refs whose resistances all go.
    without: tuple[str, ...] = ()
    #: What is put in: a short, a leak, a part with another value.
    add: tuple[Resistance, ...] = ()


@dataclass(frozen=True, slots=True)
class Edges:
    """One hypothesis, reduced to pairs of points whose conductance changes."""

    #: Place of the hypothesis in the list it came from.
    number: int
    #: Pairs of points, the lower first, each pair once.
    pairs: tuple[tuple[int, int], ...]
    #: Reciprocal of the change of conductance in ohms: 0 for a short, below 0 where
    #: something was taken out.
    ohms: tuple[float, ...]
    #: True if something that conducts is put in.
    added: bool
    #: Edges of the assembly that go.
    gone: tuple[int, ...]
    #: Points at paths of 0 ohm that go: these points may fall apart.
    opened: tuple[int, ...]


def changed_edges(
    assembly: Assembly, changes: Sequence[Change]
) -> tuple[list[Edges], dict[str, int]]:
    """Reduce hypotheses to edges; also number the nodes that only they name.

    Returns
    -------
    edges : list of Edges
        One a hypothesis.
    new : dict of str to int
        Points of nodes that the network lacks, from ``assembly.count`` on.

    Raises
    ------
    ValueError
        If a resistance put in is negative or not a number.
    """
    places: dict[str, list[int]] = {}
    for place, one in enumerate(assembly.network.resistances):
        places.setdefault(one.ref, []).append(place)
    edge = {place: k for k, place in enumerate(assembly.element.tolist())}
    joints = frozenset(assembly.joints)
    new: dict[str, int] = {}
    found = []
    for number, change in enumerate(changes):
        lost: dict[tuple[int, int], float] = {}
        won: dict[tuple[int, int], float] = {}
        gone, opened = [], []
        for place in (p for ref in set(change.without) for p in places.get(ref, ())):
            if place in joints:
                opened.append(assembly.point(assembly.network.resistances[place].a))
            elif place in edge:
                k = edge[place]
                gone.append(k)
                pair = _ordered(int(assembly.tail[k]), int(assembly.head[k]))
                lost[pair] = lost.get(pair, 0.0) + float(assembly.siemens[k])
        for one in change.add:
            pair = _ordered(_point(assembly, new, one.a), _point(assembly, new, one.b))
            siemens = _siemens(one, assembly.corner)
            if pair[0] != pair[1] and siemens > 0.0:
                won[pair] = won.get(pair, 0.0) + siemens
        pairs, ohms = [], []
        for pair in sorted(lost.keys() | won.keys()):
            change_by = won.get(pair, 0.0) - lost.get(pair, 0.0)
            if change_by != 0.0:
                pairs.append(pair)
                ohms.append(1.0 / change_by)
        found.append(
            Edges(
                number,
                tuple(pairs),
                tuple(ohms),
                bool(won),
                tuple(gone),
                tuple(opened),
            )
        )
    return found, new


def _ordered(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)


def _point(assembly: Assembly, new: dict[str, int], node: str) -> int:
    if node in assembly.numbers:
        return assembly.point(node)
    return new.setdefault(node, assembly.count + len(new))


def _siemens(one: Resistance, corner: str) -> float:
    ohms = one.at(corner)
    if not ohms >= 0.0:
        raise ValueError(f"{one.ref}: expected 0 ohm or more, found {ohms} ohm")
    return float("inf") if ohms < 1e-300 else 1.0 / ohms


def part_of(network: Network, nodes: frozenset[str]) -> Network:
    """Return the part of a network whose nodes are given: whole islands."""
    return Network(
        tuple(node for node in network.nodes if node in nodes),
        tuple(one for one in network.resistances if one.a in nodes and one.b in nodes),
    )
