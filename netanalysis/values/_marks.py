"""What is printed on a part: three and four digits, EIA-96, the decimal R.

A mark is read by another rule than a value in a schematic: 220 printed on a chip
is 22 ohm, drawn beside it in a schematic it is 220 ohm.
"""

import re

from ohmtrail.netanalysis.values._series import e_series, is_preferred

__all__ = [
    "capacitor_mark_farads",
    "digits_mark",
    "eia96_mark",
    "eia96_ohms",
    "resistor_mark_ohms",
    "resistor_marks",
    "rkm_text",
]

#: Power of ten of the letter of EIA-96, the letter to write first.
_EIA96 = {
    "Z": -3,
    "Y": -2,
    "R": -2,
    "X": -1,
    "S": -1,
    "A": 0,
    "B": 1,
    "H": 1,
    "C": 2,
    "D": 3,
    "E": 4,
    "F": 5,
}
_EIA96_MARK = re.compile(r"(\d\d)([ZYRXSABHCDEF])")
_DIGITS = re.compile(r"(\d{2,3})(\d)")
_POINT = re.compile(r"(\d*)([RL])(\d*)")
_RKM_LETTERS = (("G", 9), ("M", 6), ("k", 3), ("R", 0), ("m", -3))


def eia96_ohms(mark: str) -> float | None:
    """Return the ohms of an EIA-96 chip mark, None if it is none.

    Two digits count the member of E96 from 01 = 100 to 96 = 976, a letter is the
    power of ten.

    Examples
    --------
    >>> eia96_ohms("01C"), eia96_ohms("68X"), eia96_ohms("97A")
    (10000.0, 49.9, None)
    """
    match = _EIA96_MARK.fullmatch(mark)
    if match is None or not 1 <= int(match[1]) <= 96:
        return None
    return float(f"{e_series(96)[int(match[1]) - 1]}e{_EIA96[match[2]]}")


def eia96_mark(ohms: float) -> str | None:
    """Return the EIA-96 mark of a resistance, None where the code has none.

    >>> eia96_mark(10e3), eia96_mark(49.9), eia96_mark(4.7e3)
    ('01C', '68X', None)
    """
    for letter in "ZYXABCDEF":
        mantissa = ohms / 10.0 ** _EIA96[letter]
        number = round(mantissa)
        if 100 <= number <= 976 and abs(mantissa - number) < 1e-6 * number:
            if number in e_series(96):
                return f"{e_series(96).index(number) + 1:02d}{letter}"
            return None
    return None


def resistor_mark_ohms(mark: str) -> tuple[float, ...]:
    """Return every resistance that a chip resistor's mark can mean.

    Parameters
    ----------
    mark : str
        "103", "1002", "4R7", "R47", "01C", "0", "000", "L50".

    Returns
    -------
    tuple of float
        Ohms; empty if the mark is none.  More than one where codes overlap: 10R
        is 10 ohm, and 1.24 ohm in EIA-96.

    Examples
    --------
    >>> resistor_mark_ohms("103"), resistor_mark_ohms("1002")
    ((10000.0,), (10000.0,))
    >>> resistor_mark_ohms("220"), resistor_mark_ohms("10R")
    ((22.0,), (10.0, 1.24))
    """
    found: list[float] = []
    if re.fullmatch(r"0+", mark):
        found.append(0.0)
    elif match := _DIGITS.fullmatch(mark):
        found.append(float(f"{match[1]}e{match[2]}"))
    elif (match := _POINT.fullmatch(mark)) and (match[1] or match[3]):
        power = -3 if match[2] == "L" else 0
        found.append(float(f"{match[1] or 0}.{match[3] or 0}e{power}"))
    coded = eia96_ohms(mark)
    if coded is not None:
        found.append(coded)
    return tuple(dict.fromkeys(found))


def digits_mark(ohms: float, digits: int) -> str | None:
    """Return the three or four character mark of a resistance, None if none fits.

    Parameters
    ----------
    ohms : float
        The resistance.
    digits : int
        3 (two figures and a zero count) or 4 (three figures and a zero count).

    Examples
    --------
    >>> digits_mark(10e3, 3), digits_mark(10e3, 4), digits_mark(4.7, 3)
    ('103', '1002', '4R7')
    >>> digits_mark(0.47, 3), digits_mark(12.0, 4), digits_mark(0.002, 4)
    ('R47', '12R0', 'R002')
    >>> digits_mark(49900.0, 3) is None
    True
    """
    if ohms == 0:
        return "0" * digits
    figures = digits - 1
    for power in range(10):
        number = round(ohms / 10.0**power)
        if 10 ** (figures - 1) <= number < 10**figures:
            mark = f"{number}{power}"
            return mark if _same(float(f"{number}e{power}"), ohms) else None
    for places in range(1, digits):
        text = f"{ohms:.{places}f}"
        whole, _, rest = text.partition(".")
        mark = (whole if whole != "0" else "") + "R" + rest
        if len(mark) == digits and _same(float(text), ohms):
            return mark
    return None


def resistor_marks(ohms: float) -> tuple[str, ...]:
    """Return the marks that a chip of this resistance may bear.

    Examples
    --------
    >>> resistor_marks(10e3), resistor_marks(4700.0), resistor_marks(0.0)
    (('103', '1002', '01C'), ('472', '4701'), ('000', '0000', '0'))
    """
    if ohms == 0:
        return ("000", "0000", "0")
    three = digits_mark(ohms, 3) if is_preferred(ohms, 24) else None
    marks = (three, digits_mark(ohms, 4), eia96_mark(ohms))
    return tuple(mark for mark in marks if mark is not None)


def capacitor_mark_farads(mark: str) -> float | None:
    """Return the farads of a three-digit mark or one with R, None if it is none.

    Two figures and the number of zeros, in picofarads; 8 stands for 0.01 and 9
    for 0.1 (EIA-198).

    Examples
    --------
    >>> capacitor_mark_farads("104"), capacitor_mark_farads("479")
    (1e-07, 4.7e-12)
    >>> capacitor_mark_farads("4R7"), capacitor_mark_farads("22u")
    (4.7e-12, None)
    """
    if re.fullmatch(r"[1-9]\d\d", mark):
        power = int(mark[2])
        power = {8: -2, 9: -1}.get(power, power)
        return float(f"{mark[:2]}e{power - 12}")
    match = re.fullmatch(r"(\d*)R(\d+)", mark)
    return float(f"{match[1] or 0}.{match[2]}e-12") if match is not None else None


def rkm_text(ohms: float) -> str:
    """Return a resistance in the letter code of IEC 60062.

    Milliohm values below 10 ohm keep R (R002), as they are printed.

    Examples
    --------
    >>> rkm_text(4700.0), rkm_text(0.47), rkm_text(1e6), rkm_text(0.0), rkm_text(49.9)
    ('4k7', 'R47', '1M', '0R', '49R9')
    """
    if ohms == 0:
        return "0R"
    for letter, power in _RKM_LETTERS:
        scaled = float(f"{ohms / 10.0**power:.9g}")
        if scaled >= 1 or (letter == "R" and ohms >= 0.001):
            whole, _, rest = f"{scaled:.9f}".rstrip("0").partition(".")
            return f"{whole if whole != '0' else ''}{letter}{rest}"
    return f"{ohms:g}"


def _same(a: float, b: float) -> bool:
    return abs(a - b) <= 1e-9 * abs(b)
