"""Supply rails: which nets they are, their nominal volts, what makes them."""

from ohmtrail.netanalysis.circuit import Rail, Stage
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["name_rails", "supply_tree"]


def name_rails(view: CircuitView) -> tuple[Rail, ...]:
    """Return the rails that names and power pins show."""
    return ()


def supply_tree(view: CircuitView, stages: tuple[Stage, ...]) -> tuple[Rail, ...]:
    """Return the rails with source, feeds and loads."""
    return ()
