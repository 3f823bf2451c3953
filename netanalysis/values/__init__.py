"""Part values: what the text beside a part says, as SI numbers."""

from ohmtrail.netanalysis.values._marks import (
    capacitor_mark_farads,
    digits_mark,
    eia96_mark,
    eia96_ohms,
    resistor_mark_ohms,
    resistor_marks,
    rkm_text,
)
from ohmtrail.netanalysis.values._parse import (
    parse_value,
    read_value,
    says_not_fitted,
)
from ohmtrail.netanalysis.values._series import (
    SERIES,
    e_series,
    is_preferred,
    nearest_preferred,
    series_of,
)
from ohmtrail.netanalysis.values._value import Reading, Value

__all__ = [
    "SERIES",
    "Reading",
    "Value",
    "capacitor_mark_farads",
    "digits_mark",
    "e_series",
    "eia96_mark",
    "eia96_ohms",
    "is_preferred",
    "nearest_preferred",
    "parse_value",
    "read_value",
    "resistor_mark_ohms",
    "resistor_marks",
    "rkm_text",
    "says_not_fitted",
    "series_of",
]
