"""Flattening: every instance of a cell without contents becomes a part."""

from dataclasses import dataclass, field

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX
from ohmtrail.importers._union import Union
from ohmtrail.importers.edif._cells import Instance, View
from ohmtrail.importers.edif._contents import Reader

__all__ = ["Flat", "Leaf", "flatten"]

_DEPTH_MAX = 100
_LETTERS_MAX = 200_000_000


@dataclass(frozen=True, slots=True)
class Leaf:
    """An instance that becomes a part, with its place in the hierarchy."""

    path: str
    instance: Instance
    #: Net by bit of the view's ports.
    nets: dict[int, int]


@dataclass(slots=True)
class Flat:
    """The flattened design; nets are numbers, `root` tells which are one."""

    leaves: list[Leaf] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    sheets: list[str] = field(default_factory=list)
    _union: Union = field(default_factory=Union)

    def new(self, name: str) -> int:
        """Add a net."""
        self.names.append(name)
        return self._union.add()

    def root(self, net: int) -> int:
        """Return the first of the nets that are one with this."""
        return self._union.find(net)

    def join(self, a: int, b: int) -> None:
        """Make two nets one; the earlier, which is higher up, names it."""
        self._union.join(a, b)


def _ordered(reader: Reader, top: View) -> list[View]:
    """Read all views below ``top``; children before parents.

    Raises
    ------
    ParseError
        If a cell contains itself.
    """
    done: list[View] = []
    state: dict[int, int] = {}  # 1 while its children are read, then 2
    stack = [top]
    while stack:
        view = stack[-1]
        if state.get(id(view)) == 1:
            state[id(view)] = 2
            done.append(view)
            stack.pop()
            continue
        if id(view) in state:
            stack.pop()
            continue
        state[id(view)] = 1
        reader.read_contents(view)
        seen: set[int] = set()
        for child in view.instances:
            target = child.view
            if target.contents is None or id(target) in seen:
                continue
            seen.add(id(target))
            if state.get(id(target)) == 1:
                raise reader.source.error(
                    f"found cell {target.cell.name.text} inside itself", child.node
                )
            if id(target) not in state:
                stack.append(target)
    return done


def _count(reader: Reader, views: list[View]) -> None:
    """Refuse a design whose flattening would not end in reasonable time."""
    size: dict[int, tuple[int, int]] = {}
    for view in views:
        parts = pins = 0
        for child in view.instances:
            more = (1, child.view.bits)
            if child.view.contents is not None:
                more = size[id(child.view)]
                more = (more[0] + 1, more[1] + len(child.view.nets))
            parts, pins = parts + more[0], pins + more[1]
        size[id(view)] = (parts, pins)
        if parts > PARTS_MAX or pins > PINS_MAX:
            raise reader.source.error(
                f"found {parts} instances and {pins} pins below cell "
                f"{view.cell.name.text}, expected at most {PARTS_MAX} and {PINS_MAX}",
                view.node,
            )


def flatten(reader: Reader, top: View) -> Flat:
    """Return all parts below a view, with nets that go through the hierarchy.

    Parameters
    ----------
    reader : Reader
        Of the file.
    top : View
        With contents.

    Raises
    ------
    ParseError
        As the reader, or if a cell contains itself, or the design is too large.

    Notes
    -----
    O(flattened instances, pins and nets); no recursion.  A net takes the name
    that it has highest up, with the path of the instances above: ``u1/n3``.
    """
    views = _ordered(reader, top)
    _count(reader, views)
    flat = Flat()
    common: dict[str, int] = {}
    letters = 0
    pending: list[tuple[View, str, int, dict[int, int]]] = [(top, "", 0, {})]
    while pending:
        view, path, depth, above = pending.pop()
        flat.sheets.append(f"/{path}")
        letters += len(path) * (1 + len(view.nets) + len(view.instances))
        if depth > _DEPTH_MAX or letters > _LETTERS_MAX:
            raise reader.source.error(
                f"found cells nested deeper than {_DEPTH_MAX}, or paths of instances "
                "too long",
                view.node,
            )
        here: list[int] = []
        for name, bits in view.nets:
            known = [above[bit] for bit in bits if bit in above]
            net = known[0] if known else flat.new(path + name)
            for other in known[1:]:
                flat.join(net, other)
            here.append(net)
        for number, name in view.globals:
            net = common.setdefault(name.casefold(), here[number])
            flat.join(net, here[number])
        blocks = []
        for instance in view.instances:
            nets = {bit: here[number] for bit, number in instance.joined}
            if instance.view.contents is None:
                flat.leaves.append(Leaf(path, instance, nets))
            else:
                inner = f"{path}{instance.text}/"
                blocks.append((instance.view, inner, depth + 1, nets))
        pending += reversed(blocks)
    return flat
