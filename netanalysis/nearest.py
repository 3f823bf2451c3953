"""What was probably meant by a name that is not there."""

from collections.abc import Iterable

__all__ = ["NotOnBoardError", "nearest"]


class NotOnBoardError(LookupError):
    """The board does not hold what was asked.  ``str()`` is one line.

    Attributes
    ----------
    asked : str
        The name as given.
    near : tuple of str
        Names that exist and look alike.
    """

    def __init__(self, message: str, asked: str = "", near: Iterable[str] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.asked = asked
        self.near = tuple(near)

    def __str__(self) -> str:
        """Return the line for people."""
        return self.message


def _last(name: str) -> str:
    return name.rstrip("/").rsplit("/", 1)[-1]


def nearest(
    asked: str, names: Iterable[str], count: int = 3, *, always: bool = False
) -> tuple[str, ...]:
    """Return the names that look most like the one asked, best first.

    Case and sheet path count little; a name that holds the asked one
    comes before one that merely looks alike.

    Parameters
    ----------
    asked : str
        What was typed.
    names : iterable of str
        What exists.
    count : int
        How many at most.
    always : bool
        Return the least unlike ones where none looks alike.

    Examples
    --------
    >>> nearest("VMIAN", ["/Power/VMAIN", "GND", "VCORE"])
    ('/Power/VMAIN',)
    >>> nearest("core", ["VCORE", "VMAIN"])
    ('VCORE',)
    """
    from difflib import SequenceMatcher

    wanted = _last(asked).casefold()
    if not wanted:
        return ()
    matcher = SequenceMatcher(autojunk=False)
    matcher.set_seq2(wanted)
    names = tuple(names)
    scored: list[tuple[float, int, str]] = []
    for order, name in enumerate(names):
        short = _last(name).casefold()
        matcher.set_seq1(short)
        if short == wanted:
            score = 3.0
        elif len(wanted) > 1 and wanted in short:
            score = 1.0 + len(wanted) / len(short)
        elif matcher.real_quick_ratio() < 0.6 or matcher.quick_ratio() < 0.6:
            continue
        else:
            score = matcher.ratio()
            if score < 0.6:
                continue
        scored.append((-score, order, name))
    if always and not scored:
        for order, name in enumerate(names):
            matcher.set_seq1(_last(name).casefold())
            scored.append((-matcher.quick_ratio(), order, name))
    return tuple(name for _, _, name in sorted(scored)[:count])
