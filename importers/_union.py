"""Union-find: groups that grow together."""

from collections.abc import Hashable
from typing import Generic, TypeVar

__all__ = ["KeyUnion", "Union"]

K = TypeVar("K", bound=Hashable)


class Union:
    """Union-find over whole numbers.

    Examples
    --------
    >>> union = Union(3)
    >>> union.join(0, 2)
    >>> union.find(2) == union.find(0), union.find(1) == union.find(0)
    (True, False)
    """

    def __init__(self, count: int = 0) -> None:
        self.up = list(range(count))

    def add(self) -> int:
        """Return a new number that stands alone."""
        self.up.append(len(self.up))
        return len(self.up) - 1

    def find(self, node: int) -> int:
        """Return the least number that is joined with this one."""
        up = self.up
        while up[node] != node:
            up[node] = up[up[node]]
            node = up[node]
        return node

    def join(self, a: int, b: int) -> None:
        """Join the sets of two numbers."""
        a, b = self.find(a), self.find(b)
        if a != b:
            self.up[max(a, b)] = min(a, b)


class KeyUnion(Union, Generic[K]):
    """The same over whatever can be a dictionary's key; each key has a number.

    Examples
    --------
    >>> union = KeyUnion()
    >>> union.join_keys("a", "b")
    >>> union.find_key("a") == union.find_key("b"), "c" in union
    (True, False)
    """

    def __init__(self) -> None:
        super().__init__()
        #: Number by key, in the order of their first use.
        self.ids: dict[K, int] = {}

    def node(self, key: K) -> int:
        """Return the number of a key, which need not be known."""
        found = self.ids.get(key)
        if found is None:
            found = self.ids[key] = self.add()
        return found

    def find_key(self, key: K) -> int:
        """Return the number of the group of a key, which need not be known."""
        return self.find(self.node(key))

    def join_keys(self, a: K, b: K) -> None:
        """Make the groups of two keys one; the older number stays."""
        self.join(self.node(a), self.node(b))

    def __contains__(self, key: K) -> bool:
        return key in self.ids
