"""Parameters that are visible at one place of a deck."""

from collections.abc import Mapping

from ohmtrail.importers.spice._expression import bare, evaluate, names
from ohmtrail.importers.spice._numbers import spice_number

__all__ = ["Scope"]


class Scope:
    """Parameters by name, worked out when asked for.

    Parameters
    ----------
    texts : mapping
        Expression by name in lower case.
    given : mapping
        Values that win over them: what an instance states.
    parent : Scope or None
        Where names are looked up that are not here.
    """

    __slots__ = ("_given", "_texts", "_values", "parent")

    def __init__(
        self,
        texts: Mapping[str, str],
        given: Mapping[str, float | None] | None = None,
        parent: "Scope | None" = None,
    ) -> None:
        self._texts = texts
        self._given = given or {}
        self._values: dict[str, float | None] = {}
        self.parent = parent

    def _home(self, name: str) -> "Scope | None":
        scope: Scope | None = self
        while scope is not None:
            if name in scope._given or name in scope._texts:
                return scope
            scope = scope.parent
        return None

    def _known(self, name: str) -> bool:
        return name in self._given or name in self._values

    def value(self, name: str) -> float | None:
        """Return a parameter's value, None if unknown or defined by itself."""
        home = self._home(name)
        if home is None:
            return None
        stack = [(home, name)]
        begun: set[tuple[int, str]] = set()
        while stack:
            scope, here = stack[-1]
            if scope._known(here):
                stack.pop()
                continue
            text = scope._texts[here]
            first_time = (id(scope), here) not in begun
            begun.add((id(scope), here))
            if first_time:
                waiting = []
                for used in names(text):
                    there = scope._home(used)
                    if there is not None and not there._known(used):
                        waiting.append((there, used))
                if waiting:
                    stack += waiting
                    continue
            scope._values[here] = evaluate(text, scope._ready)
            stack.pop()
        return home._ready(name)

    def _ready(self, name: str) -> float | None:
        """Return a value that is worked out already."""
        home = self._home(name)
        if home is None:
            return None
        if name in home._given:
            return home._given[name]
        return home._values.get(name)

    def number(self, text: str) -> float | None:
        """Return the number that a value's text means here, or None."""
        found = spice_number(text)
        if found is None:
            found = evaluate(bare(text), self.value)
        return found
