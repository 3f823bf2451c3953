"""Recognisers: one idea a file, run in a fixed order by `recognise`.

`recognise` is imported when it is first asked for: who needs one recogniser alone
does not wait for the patterns of all.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ohmtrail.netanalysis.recognise._order import base_view, recognise

__all__ = ["base_view", "recognise"]


def __getattr__(name: str) -> Any:
    """Import what the package exports on first use."""
    if name in __all__:
        from ohmtrail.netanalysis.recognise import _order

        return getattr(_order, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
