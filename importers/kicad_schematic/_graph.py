"""Net names: merging by label on each sheet, then through the hierarchy.

The rules are those of KiCad 9's connection graph: a name carries the
connection, so two subgraphs whose final names are equal are one net.
"""

from collections.abc import Mapping, Sequence

from ohmtrail.importers.kicad_schematic._bus import (
    GROUP,
    NET,
    VECTOR,
    Connection,
)
from ohmtrail.importers.kicad_schematic._subgraph import (
    GLOBAL,
    LOCAL,
    NONE,
    PIN,
    SHEET_PIN,
    Driver,
    Subgraph,
)

__all__ = ["Graph"]


class Graph:
    """The subgraphs of a design on their way to names."""

    def __init__(
        self,
        subgraphs: list[Subgraph],
        paths: Sequence[str],
        aliases: Mapping[str, Sequence[str]],
    ) -> None:
        self.paths = paths
        self.aliases = aliases
        self.driven = [item for item in subgraphs if item.resolve(aliases)]
        self.by_name: dict[str, list[Subgraph]] = {}
        #: The number that each clashing name was given last.
        self._numbers: dict[str, int] = {}

    def name(self, subgraph: Subgraph) -> str:
        """Return the full name that a subgraph carries now."""
        connection = subgraph.connection
        return "" if connection is None else connection.full(self.paths)

    def rename(self, subgraph: Subgraph, old: str) -> None:
        """Note that a subgraph has a new name."""
        group = self.by_name.get(old)
        if group is not None and subgraph in group:
            group.remove(subgraph)
        self.by_name.setdefault(self.name(subgraph), []).append(subgraph)

    def merge_on_sheets(self) -> None:
        """Give clashing weak names numbers, join equal labels, link buses."""
        for subgraph in self.driven:
            full = self.name(subgraph)
            self.by_name.setdefault(full, []).append(subgraph)
            if subgraph.connection is not None and subgraph.connection.kind == VECTOR:
                prefix = full.partition("[")[0] + "[]"
                self.by_name.setdefault(prefix, []).append(subgraph)
        self.driven += self._bus_members()
        candidates = self._candidates()
        changed: dict[int, Subgraph] = {}
        for subgraph in self.driven:
            if subgraph.absorbed_by is not None:
                continue
            if not subgraph.strong:
                self._settle_weak(subgraph)
            if subgraph.strong:
                self._merge(subgraph, candidates, changed)
        for subgraph in changed.values():
            if subgraph.absorbed_by is None:
                subgraph.resolve(self.aliases)
        self.driven = [item for item in self.driven if item.absorbed_by is None]

    def _bus_members(self) -> list[Subgraph]:
        """Make a subgraph for each member of each bus label."""
        made = []
        for subgraph in self.driven:
            for driver in subgraph.drivers:
                if driver.priority not in (LOCAL, GLOBAL):
                    continue
                if "[" not in driver.name and "{" not in driver.name:
                    continue
                bus = Connection(subgraph.use)
                bus.configure(driver.name, self.aliases)
                for member in bus.members:
                    if member.kind != NET:
                        continue
                    virtual = Subgraph(subgraph.use)
                    connection = Connection(subgraph.use)
                    connection.name = member.full_local()
                    virtual.connection = connection
                    virtual.strong = True
                    self.by_name.setdefault(self.name(virtual), []).append(virtual)
                    made.append(virtual)
        return made

    def _candidates(self) -> dict[tuple[int, str], list[Subgraph]]:
        """Index the subgraphs by sheet and by each name that may join them."""
        index: dict[tuple[int, str], list[Subgraph]] = {}
        for serial, subgraph in enumerate(self.driven):
            subgraph.serial = serial
            for name in subgraph.names():
                index.setdefault((subgraph.use, name), []).append(subgraph)
        return index

    def _settle_weak(self, subgraph: Subgraph) -> None:
        connection = subgraph.connection
        if connection is None:
            return
        name = self.name(subgraph)
        rivals = self.by_name.get(name, [])
        if len(rivals) <= 1 and connection.kind == VECTOR:
            rivals = self.by_name.get(name.partition("[")[0] + "[]", rivals)
        if len(rivals) > 1:
            number = self._numbers.get(name, 1) if connection.kind != GROUP else 1
            while True:
                if connection.kind == GROUP:
                    prefix = connection.group_prefix or "BUS"
                    rest = connection.name.partition("{")[2]
                    connection.configure(f"{prefix}_{number}{{{rest}", self.aliases)
                else:
                    connection.suffix = f"_{number}"
                new = self.name(subgraph)
                if new not in self.by_name:
                    break
                number += 1
            self._numbers[name] = number
            if subgraph in rivals:
                rivals.remove(subgraph)
            self.by_name[new] = [subgraph]
        elif subgraph.driver is not None and subgraph.priority == SHEET_PIN:
            # A global label of this name on the same sheet would swallow it.
            clash = self.by_name.get(connection.short(), [])
            if not any(item.use == subgraph.use for item in clash):
                subgraph.strong = True

    def _others(self, subgraph: Subgraph) -> list[Connection]:
        """Return the names of a subgraph that did not win."""
        found = []
        own = subgraph.connection
        if own is None or not subgraph.multiple:
            return []
        for driver in subgraph.drivers:
            if driver is subgraph.driver or driver.priority in (SHEET_PIN, PIN):
                continue
            connection = Connection(subgraph.use)
            connection.configure(driver.name, self.aliases)
            if connection.kind == own.kind and connection.short() != own.short():
                found.append(connection)
        return found

    def _merge(
        self,
        subgraph: Subgraph,
        candidates: dict[tuple[int, str], list[Subgraph]],
        changed: dict[int, Subgraph],
    ) -> None:
        own = subgraph.connection
        if own is None:
            return
        pending = [own.copy(), *self._others(subgraph)]
        at = 0
        while at < len(pending):
            member = pending[at]
            at += 1
            if member.kind != NET:
                pending += member.members
            for other in list(candidates.get((subgraph.use, member.short()), [])):
                theirs = other.connection
                if (
                    other is subgraph
                    or other.absorbed_by is not None
                    or not other.strong
                    or theirs is None
                ):
                    continue
                if own.kind != NET and theirs.kind == NET:
                    _link(subgraph.bus_neighbors, member, other)
                    _link(other.bus_parents, member, subgraph)
                elif own.kind == theirs.kind:
                    pending += self._others(other)
                    subgraph.absorb(other)
                    for name in subgraph.names():
                        group = candidates.setdefault((subgraph.use, name), [])
                        if subgraph not in group:
                            group.append(subgraph)
                            group.sort(key=_serial)
                    changed[id(subgraph)] = subgraph

    def finish(self) -> None:
        """Give nets of one lone pin their ``unconnected-`` name."""
        for subgraph in self.driven:
            driver = subgraph.driver
            if (
                not subgraph.strong
                and driver is not None
                and driver.pin is not None
                and _lone(subgraph.drivers)
                and subgraph.connection is not None
            ):
                name = driver.pin.default_name(True)
                subgraph.connection.configure(name, self.aliases)


def _lone(drivers: list[Driver]) -> bool:
    """Tell whether one item alone names a net; loose references do not count."""
    return len(drivers) == 1 or sum(item.priority >= NONE for item in drivers) == 1


def _serial(subgraph: Subgraph) -> int:
    return subgraph.serial


def _link(
    links: list[tuple[Connection, list[Subgraph]]],
    member: Connection,
    other: Subgraph,
) -> None:
    for known, group in links:
        if known is member:
            if other not in group:
                group.append(other)
            return
    links.append((member, [other]))
