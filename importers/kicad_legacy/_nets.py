"""Joins the groups of all sheets by name, and names the nets."""

from ohmtrail.importers._union import Union
from ohmtrail.importers.kicad_legacy._hierarchy import Use
from ohmtrail.importers.kicad_legacy._library import LibPin
from ohmtrail.importers.kicad_legacy._model import GLOBAL, HIERARCHICAL, LOCAL
from ohmtrail.importers.kicad_legacy._touch import MEMBER, POWER, Group

__all__ = ["Node", "connect"]

#: Use of a sheet, index of the symbol on it, pin.
Node = tuple[Use, int, LibPin]

_HIERARCHICAL = (HIERARCHICAL, HIERARCHICAL + MEMBER)
_EVERYWHERE = (POWER, GLOBAL, GLOBAL + MEMBER)
#: Which of two local, or of two global, names wins.
_RANK = {
    LOCAL: 1,
    LOCAL + MEMBER: 1,
    HIERARCHICAL: 2,
    HIERARCHICAL + MEMBER: 2,
    POWER: 3,
    GLOBAL: 4,
    GLOBAL + MEMBER: 4,
}


class _Joiner(Union):
    """Union-find over the groups of all uses."""

    def __init__(self, uses: list[Use], groups: list[list[Group]]) -> None:
        self.base: list[int] = []
        total = 0
        for sheet in groups:
            self.base.append(total)
            total += len(sheet)
        super().__init__(total)
        self.power: dict[str, int] = {}
        self.globals: dict[tuple[str, str], int] = {}
        self.entrances: list[dict[str, list[int]]] = []
        for use in uses:
            self._on_sheet(use, groups[use.index])
        for use in uses:
            self._to_power(use, groups[use.index])
            self._through_edges(use, groups[use.index])

    def _on_sheet(self, use: Use, groups: list[Group]) -> None:
        """Join equal names on a sheet, and global ones anywhere.

        Two hierarchical labels alone do not join: the sheet's pin does that.
        """
        here: dict[str, int] = {}
        entrances: dict[str, list[int]] = {}
        for node, group in enumerate(groups, self.base[use.index]):
            for kind, text in group.names:
                if kind in _HIERARCHICAL:
                    entrances.setdefault(text, []).append(node)
                    continue
                self.join(here.setdefault(text, node), node)
                if kind == POWER:
                    self.join(self.power.setdefault(text, node), node)
                elif kind in _EVERYWHERE:
                    self.join(self.globals.setdefault((kind, text), node), node)
        for text, nodes in entrances.items():
            if text in here:
                for node in nodes:
                    self.join(here[text], node)
        self.entrances.append(entrances)

    def _to_power(self, use: Use, groups: list[Group]) -> None:
        """Join labels to the power pins of their name, on whatever sheet."""
        for node, group in enumerate(groups, self.base[use.index]):
            for kind, text in group.names:
                if kind not in _HIERARCHICAL and text in self.power:
                    self.join(self.power[text], node)

    def _through_edges(self, use: Use, groups: list[Group]) -> None:
        for node, group in enumerate(groups, self.base[use.index]):
            for index, text in group.edges:
                child = use.children[index]
                for inside in self.entrances[child.index].get(text, ()):
                    self.join(node, inside)


def _rank(
    use: Use, kind: str, text: str, kind_first: bool
) -> tuple[int, int, int, str, str]:
    """Return the smaller, the sooner a name becomes the net's."""
    rank = -_RANK[kind]
    if kind in _EVERYWHERE:
        return 0, rank, 0, text, ""
    if kind_first:
        return 1, rank, use.depth, text, use.path
    return 1, use.depth, rank, text, use.path


def connect(
    uses: list[Use], groups: list[list[Group]], kind_first: bool
) -> list[tuple[str, tuple[str, ...], list[Node]]]:
    """Return the nets that have pins: name, names that lost, and pins.

    The name is empty where no label gives one.

    Parameters
    ----------
    uses : list of Use
        Every use of every sheet.
    groups : list
        What touches, for each use.
    kind_first : bool
        Whether a hierarchical label names the net even if a local label stands
        on a higher sheet, as in KiCad up to 4.  KiCad 5 took the higher sheet.

    Notes
    -----
    Nearly O(groups + names + pins).
    """
    joiner = _Joiner(uses, groups)
    nets: dict[int, list[tuple[Use, Group]]] = {}
    for use in uses:
        base = joiner.base[use.index]
        for node, group in enumerate(groups[use.index], base):
            nets.setdefault(joiner.find(node), []).append((use, group))
    found = []
    for pieces in nets.values():
        pins: list[Node] = []
        for use, group in pieces:
            pins += [(use, index, pin) for index, pin in group.pins]
        if not pins:
            continue
        names: dict[str, tuple[int, int, int, str, str]] = {}
        for use, group in pieces:
            for kind, text in group.names:
                rank = _rank(use, kind, text, kind_first)
                full = text if kind in _EVERYWHERE else use.path + text
                if full not in names or rank < names[full]:
                    names[full] = rank
        ordered = sorted(names, key=names.__getitem__)
        name = ordered[0] if ordered else ""
        found.append((name, tuple(ordered[1:]), pins))
    return found
