"""Numbers behind names that are taken."""

from collections.abc import Container

__all__ = ["free_name"]


def free_name(name: str, mark: str, taken: Container[str], last: dict[str, int]) -> str:
    """Return a name with the first number behind it that makes it free.

    Parameters
    ----------
    name : str
        A name that is taken.
    mark : str
        What stands before the number.
    taken : container of str
        Names in use; none leaves it between two calls.
    last : dict
        The number that each name was given last; empty at first.

    Notes
    -----
    Numbers are not tried again: n equal names take O(n).

    Examples
    --------
    >>> last = {}
    >>> free_name("R?", "#", {"R?", "R?#2"}, last), free_name("R?", "#", {"R?"}, last)
    ('R?#3', 'R?#4')
    """
    number = last.get(name, 1) + 1
    while (found := f"{name}{mark}{number}") in taken:
        number += 1
    last[name] = number
    return found
