"""Parts that the log says are off the board, named where a checklist reads them."""

from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.netanalysis.checklist.model import COLD, Section, Step

__all__ = ["with_parts_off"]

_NAMED_MAX = 6


def with_parts_off(
    sections: Iterable[Section], off: frozenset[str]
) -> tuple[Section, ...]:
    """Return the sections with a word on parts that are off the board.

    The first section says which they are, and each cold reading of one says so too.
    The same sections where none is off.
    """
    made = tuple(sections)
    if not off or not made:
        return made
    refs = sorted(off)
    named = " ".join(refs[:_NAMED_MAX])
    if len(refs) > _NAMED_MAX:
        named += f" and {len(refs) - _NAMED_MAX} more"
    said = f"the board with {named} on it: off by the log, cold ranges are without"
    made = tuple(
        replace(one, steps=tuple(_told(step, off) for step in one.steps))
        for one in made
    )
    first = replace(made[0], unknown=(said, *made[0].unknown))
    return (first, *made[1:])


def _told(step: Step, off: frozenset[str]) -> Step:
    gone = [ref for ref in step.parts if ref in off]
    if not gone or step.phase != COLD or step.mode is None:
        return step
    verb = "is" if len(gone) == 1 else "are"
    words = f"{' '.join(gone)} {verb} off the board"
    detail = f"{words}; {step.detail}" if step.detail else words
    return replace(step, detail=detail)
