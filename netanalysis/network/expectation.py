"""What a meter should read, and what that rests on."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ohmtrail.netanalysis.network.scene import Element

__all__ = ["Expectation", "ohm_text", "reasons", "unknown"]

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
    #: The typical reading then, in `unit`; None where it tells nothing.
    swapped: float | None = None
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


def ohm_text(ohms: float) -> str:
    """Return ohms as parts are marked: "9.09", "4.7k", "1M".

    Examples
    --------
    >>> ohm_text(9.0909), ohm_text(4700.0), ohm_text(0.005), ohm_text(float("inf"))
    ('9.09', '4.7k', '5m', 'OL')
    """
    if math.isinf(ohms):
        return "OL"
    for scale, letter in ((1e6, "M"), (1e3, "k"), (0.0995, ""), (1e-4, "m")):
        if float(f"{ohms:.3g}") >= scale:
            factor = {"M": 1e6, "k": 1e3, "": 1.0, "m": 1e-3}[letter]
            return f"{ohms / factor:.3g}{letter}"
    return "0"
