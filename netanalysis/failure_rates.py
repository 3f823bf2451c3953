"""How often parts fail, and how often they fail short: priors, never truth.

Failure rates are generic parts-count figures (failures per million hours, ground
benign) as the RAMSTK repository transcribes them from MIL-HDBK-217F; shares of
shorts are its transcription of MIL-HDBK-338B.  Published sources differ by 5 to 20
points, so only the order of suspects rests on them.  A row whose ``source`` says
"common practice" has no published figure.
"""

from dataclasses import dataclass

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Kind

__all__ = ["ShortRate", "short_rate"]


@dataclass(frozen=True, slots=True)
class ShortRate:
    """Prior of a part failing short."""

    #: Failures per million hours.
    per_million_hours: float
    #: Share of failures that are shorts.
    short_share: float
    source: str

    @property
    def weight(self) -> float:
        """Rate of shorts, per million hours."""
        return self.per_million_hours * self.short_share


_217 = "MIL-HDBK-217F parts count, by RAMSTK"
_338 = "MIL-HDBK-338B, by RAMSTK"
_BOTH = f"{_217}; {_338}"
_ASSUMED = "common practice, no source"

#: By kind and sort; the empty sort is the kind's own row.
_TABLE: dict[tuple[str, str], ShortRate] = {
    ("mosfet", ""): ShortRate(0.014, 0.51, _BOTH),
    ("igbt", ""): ShortRate(0.014, 0.51, f"as a FET: {_BOTH}"),
    ("bipolar", ""): ShortRate(0.0057, 0.73, _BOTH),
    ("capacitor", ""): ShortRate(0.00078, 0.49, f"ceramic chip: {_BOTH}"),
    ("capacitor", "tantalum"): ShortRate(0.0018, 0.69, _BOTH),
    ("capacitor", "electrolytic"): ShortRate(0.024, 0.53, _BOTH),
    ("capacitor", "polarised"): ShortRate(0.0018, 0.69, f"as tantalum: {_BOTH}"),
    ("capacitor", "film"): ShortRate(0.0041, 0.40, _BOTH),
    ("diode", ""): ShortRate(0.0036, 0.49, _BOTH),
    ("diode", "schottky"): ShortRate(0.0028, 0.49, _BOTH),
    ("tvs", ""): ShortRate(0.0029, 0.49, f"{_217}; share as a diode, {_338}"),
    ("zener", ""): ShortRate(0.0033, 0.49, f"{_217}; share as a diode, {_338}"),
    ("led", ""): ShortRate(0.0036, 0.30, _BOTH),
    ("resistor", ""): ShortRate(0.0012, 0.05, _BOTH),
    ("resistor", "network"): ShortRate(0.0023, 0.08, _BOTH),
    ("inductor", ""): ShortRate(0.0017, 0.42, _BOTH),
    ("bead", ""): ShortRate(0.0017, 0.42, f"as an inductor: {_BOTH}"),
    ("transformer", ""): ShortRate(0.023, 0.42, f"power transformer: {_BOTH}"),
    ("relay", ""): ShortRate(0.13, 0.19, _BOTH),
    ("crystal", ""): ShortRate(0.032, 0.0, f"{_217}; no shorts recorded"),
    ("fuse", ""): ShortRate(0.010, 0.0, f"{_217}; {_338}: fails open or late"),
    ("switch", ""): ShortRate(0.005, 0.16, f"rate {_ASSUMED}; share {_338}"),
    ("connector", ""): ShortRate(0.005, 0.16, f"rate {_ASSUMED}; share {_338}"),
    ("jumper", ""): ShortRate(0.001, 0.05, _ASSUMED),
    ("battery", ""): ShortRate(0.01, 0.06, f"rate {_ASSUMED}; share PTC Table A-1"),
    ("other", ""): ShortRate(0.002, 0.2, _ASSUMED),
    ("testpoint", ""): ShortRate(0.0, 0.0, "nothing in it to fail"),
}

#: Microcircuits: C1 by complexity, which pins stand for here (common practice).
_CHIP_C1 = ((16, 0.010), (48, 0.020), (144, 0.040), (10**9, 0.060))
#: The only microcircuit row with shorts is memory.
_CHIP_SHARE = 0.26


def short_rate(part: Part, kind: Kind) -> ShortRate:
    """Return the prior of a part failing short.

    Parameters
    ----------
    part : Part
        Only its pin count is looked at, for chips.
    kind : Kind
        What the part is.

    Examples
    --------
    >>> round(short_rate(Part("Q1", "", ()), Kind("mosfet", "")).weight, 5)
    0.00714
    """
    if kind.kind == "chip":
        c1 = next(rate for limit, rate in _CHIP_C1 if len(part.pins) <= limit)
        return ShortRate(
            c1,
            _CHIP_SHARE,
            "MIL-HDBK-217F C1, complexity taken from the pin count; "
            f"share of shorts as memory, {_338}",
        )
    for sort in (kind.sort, ""):
        row = _TABLE.get((kind.kind, sort))
        if row is not None:
            return row
    return _TABLE[("other", "")]
