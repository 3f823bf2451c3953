"""Part values: what the text beside a part says, as SI numbers."""

from ohmtrail.netanalysis.values._parse import Value, parse_value, says_not_fitted

__all__ = ["Value", "parse_value", "says_not_fitted"]
