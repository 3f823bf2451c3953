"""Parallel sets: devices that a meter cannot tell apart in circuit."""

from ohmtrail.netanalysis.circuit import ParallelSet
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["find_parallel_sets"]


def find_parallel_sets(view: CircuitView) -> tuple[ParallelSet, ...]:
    """Return the parallel sets of a board."""
    return ()
