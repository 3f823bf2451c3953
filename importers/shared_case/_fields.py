"""Typed access to parsed JSON: what is not as expected is an error in one line."""

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NoReturn

from ohmtrail.importers._errors import ParseError

__all__ = ["Fields"]


def _kind(value: Any) -> str:
    """Name what was found."""
    if value is None:
        return "nothing"
    names = {dict: "an object", list: "a list", str: "a text", bool: "true or false"}
    return names.get(type(value), "a number")


class Fields:
    """One object of the file.

    Parameters
    ----------
    value : object
        What the JSON has there.
    where : str
        What it is, for messages.
    path : Path
        The file.
    """

    def __init__(self, value: Any, where: str, path: Path) -> None:
        self.where, self.path = where, path
        if not isinstance(value, dict):
            self.fail(_kind(value), "an object")
        self._value: dict[str, Any] = value
        self._used: set[str] = set()

    def fail(self, found: str, expected: str) -> NoReturn:
        """Raise the error line."""
        raise ParseError(
            f"found {found} in {self.where}, expected {expected}", self.path
        )

    def any(self, key: str) -> Any:
        """Return what stands under a key, None for nothing."""
        self._used.add(key)
        return self._value.get(key)

    def inner(self, key: str) -> "Fields":
        """Return an object within."""
        return Fields(self.any(key), f"{key} of {self.where}", self.path)

    def text(self, key: str, most: int, default: str | None = None) -> str:
        """Return a text under a key."""
        value = self.any(key)
        if value is None and default is not None:
            return default
        return self.as_text(value, key, most)

    def as_text(self, value: Any, what: str, most: int) -> str:
        """Return a value that is to be a text."""
        if not isinstance(value, str):
            self.fail(f"{_kind(value)} as {what}", "a text")
        if len(value) > most:
            self.fail(f"{what} of {len(value)} characters", f"{most} at most")
        return value

    def as_number(self, value: Any, what: str, most: float = 1e9) -> float | None:
        """Return a value that is to be a finite number, or None."""
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fail(f"{_kind(value)} as {what}", "a number")
        if not (math.isfinite(value) and abs(value) <= most):
            self.fail(f"{what} {str(value)[:20]}", f"{most:g} at most")
        return float(value)

    def rows(self, key: str, most: int) -> list[Any]:
        """Return a list under a key, empty where there is none."""
        value = self.any(key)
        return [] if value is None else self.as_list(value, key, most)

    def as_list(self, value: Any, what: str, most: int, least: int = 0) -> list[Any]:
        """Return a value that is to be a list of so many."""
        if not isinstance(value, list):
            self.fail(f"{_kind(value)} as {what}", "a list")
        if not least <= len(value) <= most:
            self.fail(f"{len(value)} entries of {what}", f"{least} to {most}")
        return value

    def one_of(self, value: Any, what: str, words: Iterable[str]) -> str:
        """Return a value that is to be one of some words."""
        words = tuple(words)
        if value not in words:
            found = repr(value[:40]) if isinstance(value, str) else _kind(value)
            shown = ", ".join(word or "nothing" for word in words)
            self.fail(f"{found} as {what}", f"one of {shown}")
        return str(value)

    def end(self) -> None:
        """Refuse keys that nothing reads."""
        for key in self._value:
            if key not in self._used:
                self.fail(f"the key {key[:40]!r}", "none that version 1 lacks")
