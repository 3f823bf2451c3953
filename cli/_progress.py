"""A bar on stderr while long work goes on: silent where nobody watches."""

import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["line", "progress"]

#: Work that takes less shows nothing.
_AFTER_SECONDS = 1.0
_EVERY_SECONDS = 0.25
_CELLS = 16
_CLEAR = "\r\x1b[2K"

#: What is on the screen now; one at a time.
_lock = threading.Lock()
_drawn = False


def _watched() -> bool:
    return sys.stderr.isatty() and os.environ.get("TERM") != "dumb"


def line(text: str) -> None:
    """Write a line that is to stay; a bar makes room for it, and comes back after."""
    with _lock:
        _wipe()
        sys.stderr.write(text)
        sys.stderr.flush()


def _wipe() -> None:
    global _drawn
    if _drawn:
        sys.stderr.write(_CLEAR)
        sys.stderr.flush()
        _drawn = False


def _draw(text: str) -> None:
    global _drawn
    with _lock:
        sys.stderr.write(_CLEAR + text)
        sys.stderr.flush()
        _drawn = True


@contextmanager
def progress(total: int) -> Iterator[Callable[[str], None]]:
    """Show how far work has come.

    Parameters
    ----------
    total : int
        Steps of the work.

    Yields
    ------
    callable
        To be called with a few words as each step begins.

    Notes
    -----
    Draws from a thread, a second after the work began, on a terminal only; the line
    is gone when the work is done.
    """
    if not _watched():
        yield lambda _: None
        return
    told: list[str] = []
    done = threading.Event()
    start = time.monotonic()

    def watch() -> None:
        wait = _AFTER_SECONDS
        while not done.wait(wait):
            wait = _EVERY_SECONDS
            full = _CELLS * max(0, len(told) - 1) // max(1, total)
            row = "#" * full + "." * (_CELLS - full)
            seconds = time.monotonic() - start
            try:
                _draw(f"[{row}] {''.join(told[-1:])}, {seconds:.0f} s")
            except (OSError, ValueError):
                return

    thread = threading.Thread(target=watch, daemon=True)
    thread.start()
    try:
        yield told.append
    finally:
        done.set()
        thread.join()
        with _lock:
            _wipe()
