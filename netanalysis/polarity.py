"""Which transistors conduct the other way round: P-channel and PNP, unit by unit."""

import re

from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["is_p_type", "pair_types"]

#: The two transistors of one package: Q_Dual_NMOS_PMOS, "N- and P-Channel".
_PAIR = re.compile(
    r"\b(?:Q_Dual_|Dual_)?([NP])-?(?:MOS|PN|Channel|ch)?(?:[ _/+,-]+(?:and )?)"
    r"([NP])-?(?:MOS|PN|Channel|ch)",
    re.I,
)


def pair_types(view: CircuitView, ref: str) -> str:
    """Return the channel letters of a pair in one package ("NP"), or ""."""
    part = view.part(ref)
    for text in (part.library.rpartition(":")[2], part.value, part.description):
        match = _PAIR.search(text)
        if match:
            return (match[1][0] + match[2][0]).upper()
    return ""


def is_p_type(view: CircuitView, ref: str, unit: int | None = None) -> bool:
    """Whether a transistor is a P-channel or PNP one.

    Parameters
    ----------
    view : CircuitView
        With kinds and roles.
    ref : str
        A transistor, or a package of several.
    unit : int, optional
        Which of the package's; of an N and P pair only this tells.

    Notes
    -----
    O(pins of the part).  A sort may say more than the channel ("p-channel dual").
    """
    if unit is not None:
        controls = view.pins_with_role(ref, "gate", "base")
        units = sorted({view.unit(ref, p.number) for p in controls if p.net})
        if len(units) > 1 and unit in units and (letters := pair_types(view, ref)):
            return letters[min(units.index(unit), 1)] == "P"
    return view.sort(ref).startswith(("p-channel", "pnp"))
