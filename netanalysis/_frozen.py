"""Frozen dataclasses that are made as fast as others."""

import dataclasses
from functools import wraps
from typing import Any, TypeVar

__all__ = ["quickly_made"]

C = TypeVar("C")


def quickly_made(cls: type[C]) -> type[C]:
    """Make the objects of a frozen dataclass with slots in half the time.

    Parameters
    ----------
    cls : type
        With ``@dataclass(frozen=True, slots=True)``, and no subclasses.

    Returns
    -------
    type
        The same class.  Its objects are as frozen as before.

    Notes
    -----
    A frozen dataclass sets each field through ``object.__setattr__``, which takes
    most of the time in which a large file is read.  Here an object is filled while
    it belongs to a twin class of the same slots that is not frozen.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @quickly_made
    ... @dataclass(frozen=True, slots=True)
    ... class Point:
    ...     x: int
    ...     y: int = 0
    >>> Point(1)
    Point(x=1, y=0)
    >>> Point(1).x = 2
    Traceback (most recent call last):
    dataclasses.FrozenInstanceError: cannot assign to field 'x'
    """
    twin = dataclasses.make_dataclass(
        cls.__name__,
        [
            (
                one.name,
                one.type,
                dataclasses.field(
                    default=one.default, default_factory=one.default_factory
                ),
            )
            for one in dataclasses.fields(cls)  # type: ignore[arg-type]
        ],
        slots=True,
    )
    fill = vars(twin)["__init__"]
    become = object.__setattr__

    @wraps(vars(cls)["__init__"])
    def init(self: Any, *values: Any, **named: Any) -> None:
        become(self, "__class__", twin)
        fill(self, *values, **named)
        self.__class__ = cls

    type.__setattr__(cls, "__init__", init)
    return cls
