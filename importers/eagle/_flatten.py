"""Modules unfolded: every use of a drawing with its path, its names, its nets."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from ohmtrail.importers._xml import ElementError
from ohmtrail.importers.eagle._bus import members
from ohmtrail.importers.eagle._scope import ModuleInstance, Scope

__all__ = ["USES_MAX", "Nets", "Use", "join_ports", "unfold"]

#: Modules in modules deeper than this are refused.
DEPTH_MAX = 32

#: More members of buses joined through ports than this are refused.
JOINS_MAX = 1_000_000

#: More uses of modules than this are refused: a few nested ones make millions.
USES_MAX = 10_000

_NUMBERED = re.compile(r"(.*?)(\d{1,9})")


@dataclass(frozen=True, slots=True)
class Use:
    """One use of one drawing."""

    scope: Scope
    #: Module instances from the schematic down; empty for the schematic itself.
    path: tuple[ModuleInstance, ...]
    #: Index of the use that holds it, -1 for the schematic.
    above: int

    @property
    def variant(self) -> str:
        """Assembly variant of this use: the instance's, else the drawing's."""
        return (self.path[-1].variant if self.path else "") or self.scope.variant

    @property
    def prefix(self) -> str:
        """What stands before local names: "" or "AMP1:"."""
        return "".join(f"{one.name}:" for one in self.path)

    @property
    def sheet(self) -> str:
        """Path of the drawing in words, with the slash at the end."""
        return "/" + "".join(f"{one.name}/" for one in self.path)

    def part(self, name: str) -> str:
        """Return the name on the board of a part.

        An instance with an offset adds it to the part's number, one without
        writes its own name before.

        Examples
        --------
        With an instance AMP1 of offset 100, R7 becomes R107; without, AMP1:R7.
        """
        for one in reversed(self.path):
            match = _NUMBERED.fullmatch(name) if one.offset else None
            if match is None:
                name = f"{one.name}:{name}"
            else:
                name = f"{match[1]}{int(match[2]) + one.offset}"
        return name


def unfold(root: Scope, modules: Mapping[str, Scope]) -> list[Use]:
    """Return the schematic and every use of a module, outer ones first.

    Raises
    ------
    ElementError
        If a module is unknown, holds itself, is nested deeper than `DEPTH_MAX` or
        used more than `USES_MAX` times.

    Notes
    -----
    O(uses); no recursion.
    """
    uses = [Use(root, (), -1)]
    done = 0
    while done < len(uses):
        use = uses[done]
        for one in use.scope.instances.values():
            scope = modules.get(one.module)
            if scope is None:
                raise ElementError(f"found unknown module {one.module!r}", one.element)
            if any(outer.module == one.module for outer in use.path):
                raise ElementError(f"found module {one.module} in itself", one.element)
            if len(use.path) >= DEPTH_MAX:
                raise ElementError(
                    f"found modules nested deeper than {DEPTH_MAX}", one.element
                )
            if len(uses) > USES_MAX:
                raise ElementError(
                    f"found more than {USES_MAX} uses of modules", one.element
                )
            uses.append(Use(scope, (*use.path, one), done))
        done += 1
    return uses


@dataclass(slots=True)
class Nets:
    """Nets of all uses, joined through ports; a key is (index of use, name)."""

    _above: dict[tuple[int, str], tuple[int, str]] = field(default_factory=dict)
    #: How many members of buses have been joined.
    joins: int = 0

    def find(self, key: tuple[int, str]) -> tuple[int, str]:
        """Return the key that stands for a net: outermost, first named."""
        above = self._above.setdefault(key, key)
        while above != key:
            self._above[key] = self._above[above]  # halve the path
            key, above = above, self._above[above]
        return key

    def join(self, one: tuple[int, str], two: tuple[int, str]) -> None:
        """Make two nets one; the outer name stays."""
        one, two = self.find(one), self.find(two)
        if two[0] < one[0]:
            one, two = two, one
        self._above[two] = one

    def keys(self) -> Iterator[tuple[int, str]]:
        """Give every key in the order of first use."""
        return iter(tuple(self._above))


def join_ports(
    nets: Nets, uses: list[Use], index: int, inner: Mapping[str, int]
) -> list[str]:
    """Join the nets of one use with those of the modules in it.

    Parameters
    ----------
    nets : Nets
        Where to join.
    uses : list of Use
        All uses.
    index : int
        The outer one.
    inner : mapping
        Index of the use of each module instance in it.

    Returns
    -------
    list of str
        Ports of buses whose members do not pair with the bus outside.

    Raises
    ------
    ElementError
        If a module instance or a port is unknown.
    """
    scope, odd = uses[index].scope, []
    for wirings, is_bus in ((scope.nets, False), (scope.buses, True)):
        for name, wiring in wirings.items():
            for instance, port, element in wiring.ports:
                below = inner.get(instance)
                if below is None or port not in uses[below].scope.ports:
                    raise ElementError(
                        f"found unknown port {port!r} of {instance!r}", element
                    )
                if not is_bus:
                    nets.join((index, name), (below, port))
                    continue
                outside, inside = members(name), members(port)
                nets.joins += max(len(outside), len(inside), 1)
                if nets.joins > JOINS_MAX:
                    raise ElementError(
                        f"found more than {JOINS_MAX} members of buses on ports",
                        element,
                    )
                if len(outside) != len(inside):
                    shared = set(outside) & set(inside)
                    outside = inside = [one for one in inside if one in shared]
                    odd.append(f"{instance}:{port}")
                for a, b in zip(outside, inside, strict=True):
                    nets.join((index, a), (below, b))
    return odd
