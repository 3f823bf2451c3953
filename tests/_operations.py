"""Work counted rather than timed: a slow machine must not fail a test."""

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

__all__ = ["operations"]


def operations(run: Callable[[], object]) -> int:
    """Return how many lines of Python run, each turn of a loop anew.

    What one call of the interpreter's own functions does is not counted: how long
    files of 20 MB take is measured in ``benchmarks/``.
    """
    count = 0

    def note(frame: FrameType, event: str, _: Any) -> Any:
        nonlocal count
        count += 1
        return note

    before = sys.gettrace()
    sys.settrace(note)
    try:
        run()
    finally:
        sys.settrace(before)
    return count
