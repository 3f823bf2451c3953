"""What each action costs at the bench, in seconds (common practice, TRADE)."""

from ohmtrail.netanalysis.graph import CircuitView

__all__ = [
    "INJECT_SECONDS",
    "LOOK_SECONDS",
    "POWER_SECONDS",
    "READ_SECONDS",
    "fit_seconds",
    "lift_seconds",
    "needless_seconds",
    "replace_seconds",
]

READ_SECONDS = 10.0
LOOK_SECONDS = 10.0
INJECT_SECONDS = 60.0
POWER_SECONDS = 120.0

_TWO_PIN, _SWITCH, _CHIP = 120.0, 600.0, 3600.0
_SWITCHES = ("mosfet", "igbt", "bipolar")


def lift_seconds(view: CircuitView, ref: str) -> float:
    """Return what it takes to take a part off, or to put one on."""
    if view.kind(ref) in _SWITCHES:
        return _SWITCH
    if len(view.part(ref).pins) <= 2 or len(view.nets(ref)) <= 2:
        return _TWO_PIN
    if view.kind(ref) in ("diode", "zener", "tvs", "led", "resistor", "capacitor"):
        return _TWO_PIN
    return _CHIP


def fit_seconds(view: CircuitView, ref: str) -> float:
    """Return what it takes to fit a part whose place is empty."""
    return 0.5 * lift_seconds(view, ref)


def needless_seconds(view: CircuitView, ref: str) -> float:
    """Return what a good part replaced for nothing is worth, in bench seconds.

    The part itself, and the risk to the board (common practice, no source).
    """
    seconds = lift_seconds(view, ref)
    return {_TWO_PIN: 300.0, _SWITCH: 600.0}.get(seconds, 4000.0)


def replace_seconds(view: CircuitView, ref: str, *, off: bool) -> float:
    """Return what it takes to fit a new part; ``off`` if its place is empty."""
    return fit_seconds(view, ref) if off else lift_seconds(view, ref)
