"""The flags of a board: one for every pad that a needle goes to."""

from dataclasses import dataclass

from ohmtrail.cli.marks.flags import flag_lines
from ohmtrail.cli.marks.plan import PLUS, MarkPlan, ProbeMark

__all__ = ["Flag", "flags_of", "step_lines"]

#: Numbers of a short flag.
_NUMBERS = 3


@dataclass(frozen=True, slots=True)
class Flag:
    """Everything that is said at one pad."""

    ref: str
    pin: str
    #: As `flag_lines` gives them.
    lines: tuple[str, ...]
    #: "2+ 3+ 5-", for where the lines have no room.
    short: str


def flags_of(plan: MarkPlan) -> tuple[Flag, ...]:
    """Return one flag for every pad that a needle goes to.

    Parameters
    ----------
    plan : MarkPlan

    Returns
    -------
    tuple of Flag
        In the order of the checklist; a needle without a known pad has no flag.

    Notes
    -----
    O(probes).
    """
    pads: dict[tuple[str, str], list[ProbeMark]] = {}
    for mark in plan.probes:
        if mark.ref:
            pads.setdefault((mark.ref, mark.pin), []).append(mark)
    return tuple(
        Flag(ref, pin, flag_lines(("", mark) for mark in marks), _short(marks))
        for (ref, pin), marks in pads.items()
    )


def _signed(mark: ProbeMark) -> str:
    return f"{mark.number}{'+' if mark.role == PLUS else '-'}"


def _short(marks: list[ProbeMark]) -> str:
    signed = list(dict.fromkeys(map(_signed, marks)))
    return " ".join(signed[:_NUMBERS]) + (" ..." if signed[_NUMBERS:] else "")


def step_lines(plan: MarkPlan) -> list[str]:
    """Return the checklist's steps in one line each, both needles and the reading.

    Notes
    -----
    A line reads "12 four-wire: + Q502.5, - Q502.1: 22 to 31 mΩ".
    """
    steps: dict[int, list[ProbeMark]] = {}
    for mark in plan.probes:
        steps.setdefault(mark.number, []).append(mark)
    lines = []
    for number, marks in steps.items():
        needles = ", ".join(
            f"{'+' if mark.role == PLUS else '-'} "
            + (f"{mark.ref}.{mark.pin}" if mark.ref else mark.net or "?")
            for mark in marks
        )
        lines.append(f"{number} {marks[0].mode}: {needles}: {marks[0].expect}")
    return lines
