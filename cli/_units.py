"""People's quantities, with any unit, to SI floats."""

from typing import Any

__all__ = ["quantity"]


def quantity(text: str, unit: str) -> float | None:
    """Read a quantity in whatever unit of the right kind it is written.

    Parameters
    ----------
    text : str
        "900 mV", "2.1 kohm", "0.05 megohm".
    unit : str
        The SI unit wanted, as pint spells it ("volt", "ohm").

    Returns
    -------
    float or None
        In ``unit``; None if the text is no quantity of that kind.

    Examples
    --------
    >>> quantity("900 mV", "volt"), quantity("2.5 kiloohm", "ohm")
    (0.9, 2500.0)
    >>> quantity("3 apples", "volt") is None, quantity("3 ohm", "volt") is None
    (True, True)

    Notes
    -----
    Imports pint, some 0.2 s: call it where the common spellings do not match.
    """
    if len(text) > 40 or "**" in text or "^" in text:
        return None
    import tokenize

    import pint

    try:
        found: Any = pint.UnitRegistry().Quantity(text.replace("Ω", "ohm"))
        return round(float(found.to(unit).magnitude), 12)
    except (pint.PintError, tokenize.TokenError, ValueError, TypeError):
        return None
    except (AttributeError, ArithmeticError, SyntaxError):
        return None
