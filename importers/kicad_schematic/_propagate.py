"""Carries names up and down the hierarchy and along buses."""

from collections import deque

from ohmtrail.importers.kicad_schematic._bus import (
    NET,
    Connection,
    match_member,
)
from ohmtrail.importers.kicad_schematic._graph import Graph
from ohmtrail.importers.kicad_schematic._hierarchy import Use
from ohmtrail.importers.kicad_schematic._subgraph import (
    GLOBAL_POWER,
    HIERARCHICAL,
    PIN,
    SHEET_PIN,
    Subgraph,
)

__all__ = ["propagate"]

_SET_SIZES = (13, 29, 59, 127, 257, 541, 1109, 2357, 5087, 10273, 20753)


def propagate(graph: Graph, uses: list[Use]) -> None:
    """Let every subgraph take the best name of those it is connected with."""
    _Propagation(graph, uses).run()


def _order_of_visits(found: list[Subgraph]) -> list[Subgraph]:
    """Return subgraphs in the order in which KiCad looks at them.

    It keeps them in a hash set whose common implementation lists the newest
    first and turns the list around whenever it grows.
    """
    if len(found) < 3:
        return found[::-1]
    limits = iter(_SET_SIZES)
    limit = next(limits)
    order: deque[Subgraph] = deque()
    for subgraph in found:
        if len(order) == limit:
            order.reverse()
            limit = next(limits, 0)
        order.appendleft(subgraph)
    return list(order)


class _Propagation:
    def __init__(self, graph: Graph, uses: list[Use]) -> None:
        self.graph = graph
        self.uses = uses
        self.depth = [0] * len(uses)
        for use in uses[1:]:
            self.depth[use.index] = self.depth[use.parent] + 1
        #: Subgraphs by (use, name of a hierarchical label on it).
        self.ports: dict[tuple[int, str], list[Subgraph]] = {}
        #: Subgraphs by (use of the child sheet, name of the pin on its symbol).
        self.pins: dict[tuple[int, str], list[Subgraph]] = {}
        self.global_names: dict[str, list[Subgraph]] = {}
        for subgraph in graph.driven:
            if subgraph.strong:
                for port in subgraph.hier_ports:
                    key = (subgraph.use, port.name)
                    self.ports.setdefault(key, []).append(subgraph)
            for pin in subgraph.hier_pins:
                child = uses[subgraph.use].children.get(pin.sheet, -1)
                self.pins.setdefault((child, pin.name), []).append(subgraph)
            if not subgraph.local_driver:
                for driver in subgraph.drivers:
                    self.global_names.setdefault(driver.name, []).append(subgraph)

    def run(self) -> None:
        graph = self.graph
        for subgraph in graph.driven:
            if not subgraph.dirty:
                continue
            if not subgraph.local_driver and subgraph.multiple:
                self._join_globals(subgraph)
            self.spread(subgraph, False)
        for subgraph in graph.driven:
            if subgraph.dirty:
                self.spread(subgraph, True)
        self._join_buses()

    def _join_globals(self, subgraph: Subgraph) -> None:
        """Rename whatever shares a name that lost on this subgraph."""
        mine = subgraph.connection
        if mine is None:
            return
        for driver in subgraph.drivers:
            if driver is subgraph.driver:
                continue
            name = driver.name
            if name == mine.full(self.graph.paths):
                continue
            everywhere = driver.priority >= GLOBAL_POWER
            for other in self.global_names.get(name, []):
                if other is subgraph or other.connection is None:
                    continue
                if not everywhere and other.use != subgraph.use:
                    continue
                other.connection.clone(mine)
                other.dirty = False
                self.spread(other, False)

    def _neighbours(self, subgraph: Subgraph, seen: set[int]) -> list[Subgraph]:
        """Return the subgraphs one sheet up and down that join this one."""
        found = []
        mine = subgraph.connection
        for pin in subgraph.hier_pins:
            child = self.uses[subgraph.use].children.get(pin.sheet, -1)
            for other in self.ports.get((child, pin.name), []):
                if id(other) not in seen:
                    found.append(other)
        for port in subgraph.hier_ports:
            for other in self.pins.get((subgraph.use, port.name), []):
                theirs = other.connection
                if id(other) in seen or theirs is None or mine is None:
                    continue
                if theirs.kind == mine.kind:
                    found.append(other)
        return found

    def _spread_members(
        self, bus: Subgraph, stale: dict[int, Connection], force: bool
    ) -> None:
        """Give the nets that hang on a bus the names of its members."""
        paths = self.graph.paths
        parent = bus.connection
        if parent is None:
            return
        for wanted, neighbours in bus.bus_neighbors:
            for start in neighbours:
                neighbour = start.final()
                theirs = neighbour.connection
                if theirs is None:
                    continue
                member = match_member(parent, wanted)
                if member is None:
                    member = self._match_other(parent, neighbours)
                if member is None:
                    continue
                old = theirs.full(paths)
                if old == member.full(paths) or theirs.sheet != neighbour.use:
                    continue
                if theirs.kind != NET:
                    continue
                if neighbour.priority >= GLOBAL_POWER:
                    member.clone(theirs)
                    stale[id(member)] = member
                else:
                    theirs.clone(member)
                    self.graph.rename(neighbour, old)
                    neighbour.dirty = True
                    self.spread(neighbour, force)

    def _match_other(
        self, parent: Connection, neighbours: list[Subgraph]
    ) -> Connection | None:
        for subgraph in neighbours:
            if not subgraph.multiple:
                continue
            for driver in subgraph.drivers:
                if driver.priority in (SHEET_PIN, PIN):
                    continue
                connection = Connection(subgraph.use)
                connection.configure(driver.name, self.graph.aliases)
                member = match_member(parent, connection)
                if member is not None:
                    return member
        return None

    def spread(self, subgraph: Subgraph, force: bool) -> None:
        """Bring one subgraph and all it joins through sheets to one name."""
        connection = subgraph.connection
        if connection is None:
            return
        paths = self.graph.paths
        stale: dict[int, Connection] = {}
        if connection.kind != NET:
            self._spread_members(subgraph, stale, force)
        if not force and subgraph.hier_ports and subgraph.hier_pins:
            return
        if not subgraph.hier_ports and not subgraph.hier_pins:
            subgraph.dirty = False
            return
        visited = [subgraph]
        seen = {id(subgraph)}
        at = 0
        while at < len(visited):
            for other in self._neighbours(visited[at], seen):
                if id(other) not in seen:
                    seen.add(id(other))
                    visited.append(other)
                other.dirty = False
            at += 1
        visited = _order_of_visits(visited)
        best = self._best(subgraph, visited).connection
        if best is None:
            return
        for item in visited:
            theirs = item.connection
            if theirs is None:
                continue
            old = theirs.full(paths)
            if theirs is not best:
                theirs.clone(best)
            if old != theirs.full(paths):
                self.graph.rename(item, old)
            if best.kind != NET:
                self._spread_members(item, stale, force)
        if best.kind != NET and stale:
            for upgraded in list(stale.values()):
                for item in visited:
                    if item.connection is None:
                        continue
                    member = match_member(item.connection, upgraded)
                    if member is None:
                        continue
                    if member is not upgraded:
                        member.clone(upgraded)
                    self._spread_members(item, stale, force)
        subgraph.dirty = False

    def _best(self, start: Subgraph, visited: list[Subgraph]) -> Subgraph:
        """Return the subgraph whose name the whole chain takes."""
        paths = self.graph.paths
        best, highest = start, start.priority
        strong = highest >= HIERARCHICAL
        name = self.graph.name(start)
        if highest >= GLOBAL_POWER:
            return best
        for other in visited:
            if other is start or other.connection is None:
                continue
            priority = other.priority
            other_strong = priority >= HIERARCHICAL
            other_name = other.connection.full(paths)
            shorter = self.depth[other.use] < self.depth[best.use]
            as_good = self.depth[other.use] <= self.depth[best.use]
            if (
                priority >= GLOBAL_POWER
                or (not strong and other_strong)
                or (priority > highest and other_strong)
                or (priority == highest and other_strong and shorter)
                or (
                    strong == other_strong
                    and as_good
                    and priority == highest
                    and other_name < name
                )
            ):
                best, highest = other, priority
                strong, name = other_strong, other_name
        return best

    def _join_buses(self) -> None:
        """Join members of buses that one net ties together."""
        paths = self.graph.paths
        for subgraph in self.graph.driven:
            if len(subgraph.bus_parents) < 2:
                continue
            mine = subgraph.connection
            if mine is None:
                continue
            for wanted, parents in subgraph.bus_parents:
                for start in parents:
                    parent = start.final().connection
                    match = match_member(parent, wanted) if parent else None
                    if match is None or match is mine:
                        continue
                    old = match.full(paths)
                    if old == mine.full(paths):
                        continue
                    match.clone(mine)
                    for item in list(self.graph.by_name.get(old, [])):
                        other = item.final()
                        if other.connection is None or other is subgraph:
                            continue
                        before = other.connection.full(paths)
                        other.connection.clone(mine)
                        if before != other.connection.full(paths):
                            self.graph.rename(other, before)
