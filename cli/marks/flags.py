"""What stands at a pad: the steps of the checklist that touch it, in a few lines."""

from collections.abc import Iterable, Sequence

from ohmtrail.cli.marks.plan import MINUS, ProbeMark

__all__ = ["flag_lines"]

#: Lines of a flag, and numbers in one of them.
_LINES_MAX, _NUMBERS_MAX = 5, 8
_MODES = {"four-wire": "4-wire"}


def _some(words: Sequence[str]) -> str:
    left = len(words) - _NUMBERS_MAX
    shown = " ".join(words[:_NUMBERS_MAX])
    return f"{shown} and {left} more" if left > 0 else shown


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))


def _reads(mode: str, expect: str) -> str:
    """Return mode and expected reading; ohms alone say that it is resistance."""
    if mode == "resistance" and "Ω" in expect:
        return expect
    return f"{_MODES.get(mode, mode)} {expect}"


def flag_lines(probes: Iterable[tuple[str, ProbeMark]]) -> tuple[str, ...]:
    """Return the lines of one pad's flag.

    Parameters
    ----------
    probes : iterable of (str, ProbeMark)
        Each with the name of its use of the sheet, "" where there is one use.

    Returns
    -------
    tuple of str
        ``2+ 5.7 to 69 kΩ`` for the red lead; ``3- 5-`` for the black one, whose
        reading stands at the red one.  A line that is too long or one too many says
        how many it leaves out.
    """
    plus: dict[tuple[str, str], list[str]] = {}
    minus: list[str] = []
    for name, one in probes:
        head = f"{name}:" if name else ""
        if one.role == MINUS:
            minus.append(f"{head}{one.number}-")
        else:
            numbers = plus.setdefault((one.mode, one.expect), [])
            numbers.append(f"{head}{one.number}+")
    rows = [(_some(_once(words)), _reads(*key)) for key, words in plus.items()]
    room = _LINES_MAX - bool(minus)
    lines = [f"{numbers} {reads}" for numbers, reads in rows[:room]]
    if rows[room:]:
        left = sum(len(words) for words in list(plus.values())[room:])
        lines[-1] += f"; and {left} more"
    if minus:
        lines.append(_some(_once(minus)))
    return tuple(lines)
