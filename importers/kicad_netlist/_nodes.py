"""The nets of a netlist: names made unique, no pin in two."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._bounds import PINS_MAX, too_many
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._numbering import free_name
from ohmtrail.importers.kicad_netlist._libparts import plain_type
from ohmtrail.importers.kicad_netlist._tree import (
    Node,
    Packed,
    blank,
    lists,
    pack,
    tag,
    text,
)
from ohmtrail.netanalysis.board import Unused

__all__ = ["NetNode", "Nets", "read_nets", "unnamed"]


_KNOWN = {"code", "name", "class", "node"}


@dataclass(frozen=True, slots=True)
class NetNode:
    """One pin in one net."""

    net: str
    name: str
    electrical: str
    #: Where it stands in the tree.
    source: Node | Packed = field(repr=False, compare=False)


@dataclass(frozen=True, slots=True)
class Nets:
    """All nets of a file."""

    #: Net names in the file's order.
    order: tuple[str, ...]
    #: Ref -> pin number -> node.
    by_ref: dict[str, dict[str, NetNode]]


def unnamed(nodes: list[tuple[str, str]], taken: set[str], last: dict[str, int]) -> str:
    """Return a name for a net that has none, after its first pin as KiCad does.

    Parameters
    ----------
    nodes : list of (ref, pin)
        In the file's order.
    taken : set of str
        Names in use.
    last : dict
        As `free_name` takes it.

    Examples
    --------
    >>> unnamed([("U1", "2"), ("U2", "3")], set(), {})
    'Net-(U1-Pad2)'
    >>> unnamed([("U2", "6")], set(), {})
    'unconnected-(U2-Pad6)'
    """
    word = "Net" if len(nodes) != 1 else "unconnected"
    name = f"{word}-({nodes[0][0]}-Pad{nodes[0][1]})" if nodes else f"{word}-()"
    return free_name(name, "_", taken, last) if name in taken else name


def read_nets(
    section: Node,
    path: Path,
    line_of: Callable[[Node | Packed], int],
    unused: list[Unused],
) -> Nets:
    """Read the section "nets".

    Parameters
    ----------
    section : list
        What begins with "nets".
    path, line_of
        For messages.
    unused : list of Unused
        Gets what is met and not used, or made up.

    Raises
    ------
    ParseError
        If a node lacks its ref or pin, a pin stands in two nets, or there are more
        pins than any board has.

    Notes
    -----
    Nets are told apart by entry, not by name: several may have the empty name,
    and each then gets a name of its own.  Two entries of one name are one net, as
    they are for KiCad's board editor.
    """
    entries = list(lists(section, "net"))
    taken = {text(entry, "name") for entry in entries}
    order: dict[str, None] = {}
    by_ref: dict[str, dict[str, NetNode]] = {}
    made_up = count = 0
    last: dict[str, int] = {}
    again: Counter[str] = Counter()
    strange: Counter[str] = Counter()
    for entry in entries:
        name = text(entry, "name")
        nodes = []
        for node in entry[1:]:
            if isinstance(node, tuple):
                ref, number, function, electrical = node
            elif tag(node) == "node":
                ref, number, function, electrical = pack(node)
            else:
                continue
            # KiCad writes an empty pin for a mounting hole whose pad has no number.
            if not ref or number is None:
                lacking = "pin" if ref else "ref"
                raise ParseError(
                    f"found a node without a {lacking} in net {name!r}",
                    path,
                    line_of(node),
                )
            nodes.append((ref, number, function, electrical, node))
        if not name:
            name = unnamed([(ref, number) for ref, number, *_ in nodes], taken, last)
            taken.add(name)
            made_up += 1
        elif name in order:
            again[name] += 1
        order[name] = None
        for ref, number, function, electrical, node in nodes:
            pins = by_ref.setdefault(ref, {})
            other = pins.get(number)
            if other is None:
                count += 1
                if count > PINS_MAX:
                    raise too_many(path)
                pins[number] = NetNode(
                    name, blank(function), plain_type(electrical), node
                )
            elif other.net != name:
                raise ParseError(
                    f"found pin {ref}.{number} in net {name!r}, but it is in net "
                    f"{other.net!r} since line {line_of(other.source)}",
                    path,
                    line_of(node),
                )
    for entry in entries:
        for child in entry[1:]:
            if not isinstance(child, tuple) and tag(child) not in _KNOWN:
                strange[tag(child)] += 1
    unused += [
        Unused(f"'{what}' of a net", str(path), n) for what, n in strange.items()
    ]
    if made_up:
        unused.append(
            Unused("net without a name, named after a pin", str(path), made_up)
        )
    unused += [
        Unused(f"net {name!r} written again, taken as one net", str(path), n)
        for name, n in again.items()
    ]
    return Nets(tuple(order), by_ref)
