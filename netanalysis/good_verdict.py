"""A verdict on a reading, once it is known what a good board reads there."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from ohmtrail.netanalysis.verdict import Decider, Verdict

if TYPE_CHECKING:
    from ohmtrail.netanalysis.network.evidence import Known

__all__ = ["with_good_board"]

#: A good board's lowest honest reading over this one's: from here on it is no longer
#: the difference between two boards (common practice, no source).
_SHORT_RATIO = 3.0


def _shown(ohms: float) -> str:
    if math.isinf(ohms):
        return "OL"
    for factor, prefix in ((1e6, "mega-"), (1e3, "kilo-")):
        if ohms >= factor:
            return f"{ohms / factor:.3g} {prefix}ohms"
    return f"{ohms:.3g} ohms"


def with_good_board(
    verdict: Verdict, known: "Known", ohms: float, net: str, other: str
) -> Verdict:
    """Return the verdict with a good board's reading taken into account.

    Parameters
    ----------
    verdict : Verdict
        What the rail's class says (`judge`).
    known : Known
        What the good board reads at the same pair, in ohms.
    ohms : float
        This board's reading.
    net, other : str
        The rail and what it was read against.

    Returns
    -------
    Verdict
        A short stays a short whatever the other board reads.  Within what boards
        differ by, a doubtful reading is normal; at less than a third of that it is a
        short.  A reading that is normal for its class and below what boards differ by
        is in doubt: something may leak.
    """
    said = f"a good board reads {_shown(known.typical)} here ({known.source})"
    because = (*verdict.because, said)
    if verdict.verdict == "short":
        return replace(verdict, because=because)
    if ohms >= known.low:
        tail = "boards of one model differ by as much (common practice)"
        if ohms > known.high:
            tail = "this one reads higher: no short, but a path may be open"
        return Verdict("normal", (*because, tail))
    far = ohms * _SHORT_RATIO < known.low
    if verdict.verdict == "cannot tell":
        if far:
            tail = "this one reads far lower than boards of one model differ by"
            return Verdict("short", (*because, tail))
        return replace(verdict, because=because)
    tail = "this one reads lower than boards differ by: something may leak"
    decider = Decider(
        "diode",
        other,
        net,
        "red on the lower net, then swap, on both boards",
        (
            ("as on the good board", "another load is fitted; nothing leaks"),
            (
                "lower than there, one way",
                "a junction is damaged: a chip's pin, a clamp",
            ),
            ("lower than there, both ways", "something leaks: capacitors first"),
        ),
    )
    return Verdict("cannot tell", (*because, tail), decider)
