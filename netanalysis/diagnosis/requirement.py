"""What has to be replaced if a hypothesis is true: never one part of a set alone."""

from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.memberships import parallel_mates

__all__ = ["SWITCHES", "mates_of", "needed"]

_SET_FAULTS = ("drain-source short", "all shorted", "gate short", "leaky")
SWITCHES = ("mosfet", "igbt", "bipolar")


def mates_of(case: Case, ref: str) -> tuple[str, ...]:
    """Return the fitted switches in parallel with a switch."""
    if case.view.kind(ref) not in SWITCHES:
        return ()
    return tuple(
        mate for mate in parallel_mates(case.circuit, ref) if case.view.fitted(mate)
    )


def needed(case: Case, hypothesis: Hypothesis) -> frozenset[str]:
    """Return the refs that must get a new part before power, the board as it is now.

    A shorted switch takes its parallel set along: the mates carried the fault and
    may be weakened while they read healthy (TRADE).  What was renewed since the
    last failure, and not powered since, is good.

    Parameters
    ----------
    case : Case
    hypothesis : Hypothesis
        What is taken to be wrong, or to have been wrong.
    """
    found: set[str] = set()
    for fault, piece in hypothesis.faults:
        if case.piece(fault.ref) == piece:
            found.add(fault.ref)
        if fault.name in _SET_FAULTS:
            found.update(
                mate for mate in mates_of(case, fault.ref) if mate not in case.fresh
            )
    return frozenset(found)
