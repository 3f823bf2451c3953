"""One thing to do at the bench, as `next` names it."""

from dataclasses import dataclass

__all__ = ["Action"]


@dataclass(frozen=True, slots=True)
class Action:
    """The next action, with the reason and what its outcomes mean."""

    #: "look" "measure" "lift" "fit" "inject" "replace" "power" "stop".
    action: str
    why: str
    seconds: float = 0.0
    mode: str | None = None
    plus: str | None = None
    minus: str | None = None
    #: The part looked at, lifted, fitted, or measured off the board.
    part: str | None = None
    #: The complete set to replace.
    parts: tuple[str, ...] = ()
    volts_max: float | None = None
    amps_start: float | None = None
    #: (what is seen, what follows).
    expected: tuple[tuple[str, str], ...] = ()
    #: Rails to watch, what to inspect and whatever else is worth knowing.
    notes: tuple[str, ...] = ()
