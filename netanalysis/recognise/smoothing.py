"""Whether capacitors to ground smooth a net, as they do a supply."""

from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["WIDE_PINS", "smoothed", "smoothed_or_wide"]

#: A net of so many pins is a supply, and is walked for no single chip.
WIDE_PINS = 512


def smoothed(view: CircuitView, net: str) -> bool:
    """Whether a capacitor lies between a net and ground."""
    return any(view.is_ground(far) for _, far in view.neighbours(net, "capacitor"))


def smoothed_or_wide(view: CircuitView, net: str) -> bool:
    """As `smoothed`; a net of more than `WIDE_PINS` pins is taken to be, unseen."""
    return view.degree(net) > WIDE_PINS or smoothed(view, net)
