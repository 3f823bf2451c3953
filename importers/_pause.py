"""Large trees without the garbage collector's help."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["no_collection"]


@contextmanager
def no_collection() -> Iterator[None]:
    """Hold the cyclic garbage collector while a file is read.

    It would walk through the growing tree again and again, and find nothing: trees
    and boards have no cycles.  Reading takes a third of the time without it.

    What was read is then put with the objects that have lived long: else the first
    object made afterwards would start a walk through all of it.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            if not gc.get_freeze_count():  # what a program has frozen stays so
                gc.freeze()
                gc.unfreeze()
            gc.enable()
