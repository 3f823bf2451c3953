"""What a meter should read, and what that rests on."""

from collections.abc import Iterable
from dataclasses import dataclass

from ohmtrail.netanalysis.network.scene import Element

__all__ = ["Expectation", "reasons", "unknown"]

#: Reasons that a source line names; the rest is counted.
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Expectation:
    """A reading to expect of a healthy board, at the pads, leads nulled."""

    mode: str
    #: What the leads touch, as asked: "REF.PIN" or a net.
    plus: str
    minus: str
    #: In `unit`; ``inf`` is an open circuit, None what nobody can tell.
    low: float | None
    typical: float | None
    high: float | None
    unit: str
    #: Refs that set the reading or its range, the strongest first.
    because: tuple[str, ...] = ()
    #: What the range rests on.
    source: str = ""
    notes: tuple[str, ...] = ()
    #: What swapping the probes tells; empty where it tells nothing.
    swap: str = ""
    #: True if what no file states takes part.
    assumed: bool = False


def unknown(mode: str, plus: str, minus: str, why: str) -> Expectation:
    """Return an expectation that says why there is none."""
    unit = "ohms" if mode in ("resistance", "four-wire") else "volts"
    return Expectation(mode, plus, minus, None, None, None, unit, source=why)


def reasons(elements: Iterable[Element]) -> str:
    """Return what elements rest on, in words, a part at a time."""
    found: dict[str, str] = {}
    for one in elements:
        found.setdefault(one.ref, one.because)
    named = [f"{ref} ({because})" for ref, because in list(found.items())[:_NAMED]]
    rest = len(found) - len(named)
    more = f" and {rest} more" if rest > 0 else ""
    return ", ".join(named) + more
