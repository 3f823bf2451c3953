"""Adjacency over a board: what the recognisers walk.

`BoardIndex` is built in one pass over the pins and knows no opinion.
`CircuitView` is an index plus the opinions formed so far; recognisers read it
and return new values.  Unless said otherwise every answer leaves out parts that
are not fitted, since no current flows through them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from ohmtrail.netanalysis.board import Board, Part, Pin
from ohmtrail.netanalysis.circuit import Circuit, Kind, Link, Rail, Role
from ohmtrail.netanalysis.values import parse_value, says_not_fitted

if TYPE_CHECKING:
    import networkx

__all__ = [
    "BoardIndex",
    "CircuitView",
    "index_board",
    "marked_ohms",
    "to_networkx",
    "view_of",
]

#: Fields in which designers mark a part as not populated (common practice).
_NOT_FITTED_FIELDS = frozenset(("dnp", "dnf", "dni", "do not populate", "no-fit"))
_FITTED_FIELDS = frozenset(("fitted", "populate", "populated", "mount", "mounted"))
_COPPER = re.compile(r"solder_?jumper|net_?tie", re.I)
_DENIALS = frozenset(("", "no", "0", "false", "n", "~"))

_NO_KIND = Kind("other", "not looked at yet")


@dataclass(frozen=True, slots=True)
class BoardIndex:
    """Adjacency of a board.  Read only; made by `index_board`."""

    board: Board
    #: Fitted pins of each net, in the file's order.
    pins_by_net: Mapping[str, tuple[Pin, ...]]
    #: Pins of parts that are not fitted, by net.
    unfitted_pins_by_net: Mapping[str, tuple[Pin, ...]]
    #: Parts not populated: marked so in the file, or their value says so ("DNP").
    unfitted: frozenset[str]
    #: Nets of each part, in pin order, each once; unfitted parts included.
    nets_by_part: Mapping[str, tuple[str, ...]]


def index_board(board: Board) -> BoardIndex:
    """Index a board's pins by net and nets by part.

    Notes
    -----
    O(parts + pins).
    """
    fitted: dict[str, list[Pin]] = {net.name: [] for net in board.nets}
    unfitted: dict[str, list[Pin]] = {}
    nets: dict[str, tuple[str, ...]] = {}
    absent: set[str] = set()
    for part in board.parts:
        populated = _populated(part)
        side = fitted if populated else unfitted
        if not populated:
            absent.add(part.ref)
        mine: dict[str, None] = {}
        for pin in part.pins:
            if pin.net is not None:
                side.setdefault(pin.net, []).append(pin)
                mine[pin.net] = None
        nets[part.ref] = tuple(mine)
    return BoardIndex(
        board=board,
        pins_by_net={net: tuple(pins) for net, pins in fitted.items()},
        unfitted_pins_by_net={net: tuple(pins) for net, pins in unfitted.items()},
        unfitted=frozenset(absent),
        nets_by_part=nets,
    )


def _populated(part: Part) -> bool:
    """Whether a part is on the board, as its mark, value and fields say.

    Solder bridges and net ties are copper: the board has them whatever the
    parts list says.
    """
    if _COPPER.search(f"{part.library} {part.footprint}"):
        return True
    if not part.fitted or says_not_fitted(part.value):
        return False
    for name, text in part.fields:
        said = text.strip().casefold()
        if name.casefold() in _NOT_FITTED_FIELDS and said not in _DENIALS:
            return False
        if name.casefold() in _FITTED_FIELDS and (
            said in ("no", "0", "false", "n") or says_not_fitted(text)
        ):
            return False
    return True


@dataclass(frozen=True, slots=True)
class CircuitView:
    """A board with the opinions formed so far, and the questions stages ask.

    The mappings are filled by the recognisers in a fixed order; a question that
    needs a later opinion simply gets the empty answer before it is there.
    """

    index: BoardIndex
    kinds: Mapping[str, Kind] = field(default_factory=dict)
    #: Roles by (ref, pin number); pins without an opinion are absent.
    roles: Mapping[tuple[str, str], Role] = field(default_factory=dict)
    #: Ground nets, the main one first.
    ground: tuple[str, ...] = ()
    links: tuple[Link, ...] = ()
    links_by_net: Mapping[str, tuple[Link, ...]] = field(default_factory=dict)
    links_by_ref: Mapping[str, tuple[Link, ...]] = field(default_factory=dict)
    #: Supply rails known so far, by net.
    rails: Mapping[str, Rail] = field(default_factory=dict)
    #: Marked resistance of resistors in ohms, by ref; absent where unknown.
    ohms_by_ref: Mapping[str, float] = field(default_factory=dict)
    #: Nominal volts stated by the user, by net.
    stated_volts: Mapping[str, float] = field(default_factory=dict)

    # -- the board ---------------------------------------------------------

    @property
    def board(self) -> Board:
        """The board itself."""
        return self.index.board

    def part(self, ref: str) -> Part:
        """Return a part; KeyError if there is none of this ref."""
        return self.index.board.part_by_ref[ref]

    def fitted(self, ref: str) -> bool:
        """Whether the part is populated."""
        return ref not in self.index.unfitted

    def pins(self, net: str | None) -> tuple[Pin, ...]:
        """Fitted pins on a net; empty for None or an unknown net."""
        return self.index.pins_by_net.get(net, ()) if net is not None else ()

    def refs(self, net: str | None) -> tuple[str, ...]:
        """Fitted parts on a net, each once, in the file's order."""
        return tuple(dict.fromkeys(pin.ref for pin in self.pins(net)))

    def degree(self, net: str) -> int:
        """Count the fitted pins on a net."""
        return len(self.index.pins_by_net.get(net, ()))

    def nets(self, ref: str) -> tuple[str, ...]:
        """Nets of a part, each once, in pin order."""
        return self.index.nets_by_part.get(ref, ())

    def net_of(self, ref: str, number: str) -> str | None:
        """Net of a pin, or None."""
        pin = self.part(ref).pin(number)
        return pin.net if pin is not None else None

    def pins_on(self, ref: str, net: str) -> tuple[Pin, ...]:
        """Pins of one part that are on a net."""
        return tuple(pin for pin in self.part(ref).pins if pin.net == net)

    # -- opinions ----------------------------------------------------------

    def kind(self, ref: str) -> str:
        """Kind of a part, one of `KINDS`."""
        return self.kinds.get(ref, _NO_KIND).kind

    def sort(self, ref: str) -> str:
        """Sort within the kind ("n-channel"), or ""."""
        return self.kinds.get(ref, _NO_KIND).sort

    def role(self, ref: str, number: str) -> str:
        """Role of a pin ("gate"), or ""."""
        role = self.roles.get((ref, number))
        return role.role if role is not None else ""

    def unit(self, ref: str, number: str) -> int:
        """Transistor or channel within the package that a pin belongs to."""
        role = self.roles.get((ref, number))
        return role.unit if role is not None else 0

    def pins_with_role(
        self, ref: str, *roles: str, unit: int | None = None
    ) -> tuple[Pin, ...]:
        """Pins of a part with one of these roles (of one unit, if given)."""
        return tuple(
            pin
            for pin in self.part(ref).pins
            if self.role(ref, pin.number) in roles
            and (unit is None or self.unit(ref, pin.number) == unit)
        )

    def net_with_role(self, ref: str, role: str, unit: int | None = None) -> str | None:
        """Net of the first connected pin with a role, or None."""
        for pin in self.pins_with_role(ref, role, unit=unit):
            if pin.net is not None:
                return pin.net
        return None

    def units(self, ref: str) -> tuple[int, ...]:
        """Transistors (or channels) in the package, from the pin roles."""
        return tuple(
            sorted({self.unit(ref, pin.number) for pin in self.part(ref).pins})
        )

    def is_ground(self, net: str | None) -> bool:
        """Whether the net is one of the ground nets."""
        return net is not None and net in self.ground

    def ohms(self, ref: str) -> float | None:
        """Return the marked resistance of a resistor, or None where unknown."""
        return self.ohms_by_ref.get(ref)

    def links_at(self, net: str) -> tuple[Link, ...]:
        """Low-resistance links that end on a net."""
        return self.links_by_net.get(net, ())

    def links_of(self, ref: str) -> tuple[Link, ...]:
        """Links that a part makes (several for windings and multi-way jumpers)."""
        return self.links_by_ref.get(ref, ())

    # -- walking -----------------------------------------------------------

    def is_two_terminal(self, ref: str) -> bool:
        """Whether the part touches exactly two nets."""
        return len(self.nets(ref)) == 2

    def other_net(self, ref: str, net: str) -> str | None:
        """Return the other net of a part that touches exactly two, else None."""
        nets = self.nets(ref)
        if len(nets) != 2 or net not in nets:
            return None
        return nets[1] if nets[0] == net else nets[0]

    def parts_on(self, net: str | None, *kinds: str) -> tuple[str, ...]:
        """Fitted parts on a net, of these kinds if any are given."""
        return tuple(
            ref for ref in self.refs(net) if not kinds or self.kind(ref) in kinds
        )

    def neighbours(self, net: str, *kinds: str) -> Iterator[tuple[str, str]]:
        """Yield (ref, other net) of the fitted two-net parts on a net."""
        for ref in self.refs(net):
            if kinds and self.kind(ref) not in kinds:
                continue
            other = self.other_net(ref, net)
            if other is not None:
                yield ref, other

    def two_pin_parts_between(
        self, net_a: str | None, net_b: str | None, *kinds: str
    ) -> tuple[str, ...]:
        """Fitted two-net parts that join two nets, of these kinds if given.

        Notes
        -----
        O(degree of the net with fewer pins).
        """
        if net_a is None or net_b is None or net_a == net_b:
            return ()
        if self.degree(net_a) > self.degree(net_b):
            net_a, net_b = net_b, net_a
        return tuple(
            ref for ref, other in self.neighbours(net_a, *kinds) if other == net_b
        )

    def linked_nets(
        self,
        net: str,
        kinds: Iterable[str] = ("resistor", "jumper", "other"),
        *,
        limit: int = 64,
    ) -> dict[str, tuple[str, ...]]:
        """Nets reached through links of these kinds, with the refs on the way.

        Ground is never walked through, nor reached.  The net itself is in the
        answer with an empty way.  Links that may be open are not followed.
        """
        wanted = frozenset(kinds)
        reached: dict[str, tuple[str, ...]] = {net: ()}
        queue = [net]
        for here in queue:
            for link in self.links_at(here):
                if link.kind not in wanted or not link.always:
                    continue
                other = link.net_b if link.net_a == here else link.net_a
                if other in reached or self.is_ground(other):
                    continue
                if len(reached) >= limit:
                    return reached
                reached[other] = (*reached[here], link.ref)
                queue.append(other)
        return reached

    # -- growing -----------------------------------------------------------

    def with_links(self, links: Iterable[Link]) -> CircuitView:
        """Return the view with links, indexed by net and by ref."""
        links = tuple(links)
        by_net: dict[str, list[Link]] = {}
        by_ref: dict[str, list[Link]] = {}
        for link in links:
            by_net.setdefault(link.net_a, []).append(link)
            by_net.setdefault(link.net_b, []).append(link)
            by_ref.setdefault(link.ref, []).append(link)
        return replace(
            self,
            links=links,
            links_by_net={net: tuple(found) for net, found in by_net.items()},
            links_by_ref={ref: tuple(found) for ref, found in by_ref.items()},
        )

    def with_rails(self, rails: Iterable[Rail]) -> CircuitView:
        """Return the view with supply rails, by net."""
        return replace(self, rails={rail.net: rail for rail in rails})


def marked_ohms(board: Board, kinds: Mapping[str, Kind]) -> dict[str, float]:
    """Return the marked resistance of every resistor whose value tells, in ohms."""
    marked: dict[str, float] = {}
    for part in board.parts:
        kind = kinds.get(part.ref)
        if kind is not None and kind.kind == "resistor":
            value = parse_value(part.value, "resistor")
            if value is not None and value.ohms is not None:
                marked[part.ref] = value.ohms
    return marked


def view_of(circuit: Circuit) -> CircuitView:
    """Return the view of a finished circuit, for those who walk it afterwards.

    Notes
    -----
    O(parts + pins): build it once, not once a question.
    """
    view = CircuitView(
        index=index_board(circuit.board),
        kinds=circuit.kinds,
        roles=circuit.roles,
        ground=circuit.ground,
        ohms_by_ref=marked_ohms(circuit.board, circuit.kinds),
        stated_volts=circuit.stated_volts,
    )
    return view.with_links(circuit.links).with_rails(circuit.rails)


def to_networkx(board: Board, *, fitted_only: bool = True) -> networkx.MultiGraph:
    """Return the board as a bipartite multigraph of parts and nets.

    Nodes are ``("part", ref)`` and ``("net", name)``; each connected pin is one
    edge whose key is the pin number, with the `Pin` as attribute ``pin``.

    Parameters
    ----------
    board : Board
        The design.
    fitted_only : bool
        Leave out parts that are not fitted.

    Notes
    -----
    O(parts + pins).  Imports networkx.
    """
    import networkx

    graph: networkx.MultiGraph = networkx.MultiGraph(name=board.name)
    graph.add_nodes_from(("net", net.name) for net in board.nets)
    for part in board.parts:
        if fitted_only and not part.fitted:
            continue
        graph.add_node(("part", part.ref), part=part)
        for pin in part.pins:
            if pin.net is not None:
                graph.add_edge(
                    ("part", part.ref), ("net", pin.net), key=pin.number, pin=pin
                )
    return graph
