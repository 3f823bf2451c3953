"""Names of nets, chosen as the netlister does."""

import re

from ohmtrail.importers.lepton._config import Config
from ohmtrail.importers.lepton._design import Design

__all__ = ["name_nets", "natural"]

_PIECE = re.compile(r"[0-9]+|[^0-9]+")

#: Kind ("net" or "netname"), name, blocks around (innermost first).
_Name = tuple[str, str, tuple[str, ...]]


def natural(text: str) -> list[tuple[bool, int, str]]:
    """Return a sorting key that counts: R2 before R10.

    Examples
    --------
    >>> sorted(["R10", "R2", "A1"], key=natural)
    ['A1', 'R2', 'R10']
    """
    return [
        (False, int(piece[:300]), piece)
        if piece[0] in "0123456789"
        else (True, 0, piece)
        for piece in _PIECE.findall(text)
    ]


def _shown(name: _Name, config: Config) -> str:
    rule = config.net if name[0] == "net" else config.netname
    return rule.join(name[1], name[2])


def name_nets(design: Design) -> tuple[list[str], dict[str, tuple[str, ...]]]:
    """Return the name of every group of the design, "" for those without one.

    The second item holds the names that lost, by net.  Of several names that in
    the outermost block wins, then that of ``net=`` (or ``netname=``, by the
    project's settings), then the one that sorts first.

    Notes
    -----
    Two nets whose names come out equal are one net, as they are for the
    netlister.
    """
    config = design.folder.config
    preferred = "netname" if config.prefer_netname else "net"
    names: dict[int, dict[_Name, None]] = {}
    find = design.union.find
    for use in design.uses:
        for index, group in enumerate(use.sheet.groups):
            if group.netnames or group.nets:
                found = names.setdefault(find(use.base + index), {})
                for name in group.netnames:
                    found["netname", name, use.blocks] = None
                for name in group.nets:
                    found["net", name, use.blocks] = None

    def rank(name: _Name) -> tuple[object, ...]:
        words = " ".join((name[1], *name[2]))
        return len(name[2]), name[0] != preferred, natural(words)

    chosen: dict[int, str] = {}
    aliases: dict[str, dict[str, None]] = {}
    for root, found in names.items():
        best = _shown(min(found, key=rank), config)
        chosen[root] = best
        for other in found:
            shown = _shown(other, config)
            if shown != best:
                aliases.setdefault(best, {})[shown] = None
    result = [chosen.get(find(node), "") for node in range(len(design.union.up))]
    return result, {net: tuple(others) for net, others in aliases.items()}
