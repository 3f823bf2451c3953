"""Recognisers: from what a file says to what its parts are for."""

from ohmtrail.netanalysis.recognise._order import base_view, recognise

__all__ = ["base_view", "recognise"]
