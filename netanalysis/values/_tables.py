"""Tables of the value reader: prefixes, code letters, words.

IEC 60062 (the "RKM" code) uses the multiplier letter in place of the decimal
point: 4k7, 2u2, R47.  Powers of ten are kept as exponents, so that "4.7" and -6
make the float that 4.7e-6 is.
"""

import re

__all__ = [
    "ABSOLUTE_PICOFARADS",
    "ASYMMETRIC_LETTERS",
    "DIELECTRIC",
    "E24",
    "LEADING",
    "NOT_FITTED",
    "PACKAGES",
    "PREFIXES",
    "QUANTITY",
    "RKM",
    "TOLERANCE_LETTERS",
    "UNIT_WORDS",
]

#: What is read for each part kind.
QUANTITY: dict[str, str] = {
    "resistor": "ohms",
    "bead": "impedance_ohms",
    "capacitor": "farads",
    "inductor": "henries",
    "fuse": "amps",
    "crystal": "at_hertz",
}

#: Power of ten by prefix, for each quantity.  What is absent is not a value.
#: Meg is SPICE's word and has no second reading; SPICE's M for milli is read in
#: SPICE files only, by their importer.
PREFIXES: dict[str, dict[str, int]] = {
    "ohms": {
        "": 0,
        "n": -9,
        "u": -6,
        "m": -3,
        "k": 3,
        "K": 3,
        "M": 6,
        "meg": 6,
        "Meg": 6,
        "MEG": 6,
        "G": 9,
        "T": 12,
    },
    "farads": {
        "": 0,
        "f": -15,
        "p": -12,
        "P": -12,
        "n": -9,
        "N": -9,
        "u": -6,
        "U": -6,
        "m": -3,
    },
    "henries": {"": 0, "p": -12, "n": -9, "N": -9, "u": -6, "U": -6, "m": -3},
}

#: Unit words that may follow the prefix.
UNIT_WORDS: dict[str, str] = {
    "ohms": r"R|r|E|[Oo]hms?|OHMS?",
    "farads": r"F|f|fd|FD|Fd",
    "henries": r"H|h|Hy",
}

#: Letters that stand for the decimal point, with their power of ten: IEC 60062;
#: E for the ohm, L, m and u below it, and R on a coil are common practice, no
#: source; R on a capacitor is EIA-198 (picofarads).
RKM: dict[str, dict[str, int]] = {
    "ohms": {
        "R": 0,
        "r": 0,
        "E": 0,
        "k": 3,
        "K": 3,
        "M": 6,
        "G": 9,
        "T": 12,
        "m": -3,
        "L": -3,
        "u": -6,
    },
    "farads": {"p": -12, "n": -9, "u": -6, "m": -3, "F": 0, "U": -6, "R": -12},
    "henries": {"n": -9, "N": -9, "u": -6, "U": -6, "m": -3, "R": -6},
}

#: Those of them that may stand first (R47, p33); M3 is a screw.
LEADING: dict[str, str] = {"ohms": "RL", "farads": "pnuR", "henries": "nuR"}

#: IEC 60062 tolerance letters, as fractions.
TOLERANCE_LETTERS: dict[str, float] = {
    "B": 0.001,
    "C": 0.0025,
    "D": 0.005,
    "F": 0.01,
    "G": 0.02,
    "J": 0.05,
    "K": 0.1,
    "M": 0.2,
    "N": 0.3,
}

#: IEC 60062 letters of two-sided tolerances: (below, above), as fractions.
ASYMMETRIC_LETTERS: dict[str, tuple[float, float]] = {
    "Q": (0.1, 0.3),
    "S": (0.2, 0.5),
    "T": (0.1, 0.5),
    "Z": (0.2, 0.8),
}

#: The same letters on a capacitor below 10 pF, in picofarads.
ABSOLUTE_PICOFARADS: dict[str, float] = {
    "B": 0.1,
    "C": 0.25,
    "D": 0.5,
    "F": 1.0,
    "G": 2.0,
}

#: Ceramic classes of EIA-198 that people write beside the value.
DIELECTRIC = re.compile(
    r"(?:C[0O][GH]|NP[0O]|U2J|[XYZ][45678][FLPRSTUV])$", re.IGNORECASE
)

#: Words that say "do not populate" (common practice).  The two-letter ones are
#: believed in capitals only, and only when they stand alone or after a slash:
#: "100 nF" and "C NP0" are fitted, and so is "100 NF", nanofarads in capitals.
NOT_FITTED = re.compile(
    r"(?<![A-Za-z0-9])(?i:DNP|DNF|DNI|DNL|DNM|DNS|no[ _-]?fit|no[ _-]?pop|"
    r"no[ _-]?stuff|unpopulated|unstuffed|"
    r"not[ _-]?(?:fitted|populated|mounted|placed|installed|stuffed)|"
    r"do[ _-]?not[ _-]?(?:fit|populate|place|mount|stuff|install))(?![A-Za-z0-9])"
    r"|^\s*(?:NP|NF|NC|NI|NM|N/[CPFM]|n\.[cpfm]\.)\s*$"
    r"|(?:[/(_ ](?:NP|NC|NM)|(?:[/(_]|(?<!\d) )NF)\)?$"
)

#: Chip sizes that appear inside value texts (inch codes of EIA).
PACKAGES = frozenset(
    "01005 0201 0402 0603 0805 1008 1206 1210 1806 1812 2010 2020 2220 2225 2512 2816 "
    "3920 1210W 0612 0508 1225 3216 3528 6032 7343".split()
)

#: First two digits of the E24 series (IEC 60063).
E24 = frozenset(
    "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91".split()
)
