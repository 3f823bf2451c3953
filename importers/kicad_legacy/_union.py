"""Union-find over whatever can be a dictionary's key."""

from collections.abc import Hashable
from typing import Generic, TypeVar

__all__ = ["Union"]

K = TypeVar("K", bound=Hashable)


class Union(Generic[K]):
    """Groups that grow together.

    Examples
    --------
    >>> union = Union()
    >>> union.join("a", "b")
    >>> union.find("a") == union.find("b"), union.find("c") == union.find("a")
    (True, False)
    """

    def __init__(self) -> None:
        self._ids: dict[K, int] = {}
        self._up: list[int] = []

    def find(self, key: K) -> int:
        """Return the number of the group of a key, which need not be known."""
        node = self._ids.get(key)
        if node is None:
            node = self._ids[key] = len(self._up)
            self._up.append(node)
            return node
        return self._root(node)

    def _root(self, node: int) -> int:
        up = self._up
        while up[node] != node:
            up[node] = up[up[node]]
            node = up[node]
        return node

    def join(self, a: K, b: K) -> None:
        """Make the groups of two keys one; the older number stays."""
        first, second = self.find(a), self.find(b)
        if first != second:
            self._up[max(first, second)] = min(first, second)

    def __contains__(self, key: K) -> bool:
        return key in self._ids
