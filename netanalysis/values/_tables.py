"""Tables of the value reader: prefixes, code letters, words.

IEC 60062 (the "RKM" code) uses the multiplier letter in place of the decimal
point: 4k7, 2u2, R47.  The letter L for milliohm is common practice, no source.
"""

import re

__all__ = [
    "DIELECTRIC",
    "E24",
    "NOT_FITTED",
    "PACKAGES",
    "PREFIXES",
    "RKM",
    "TOLERANCE_LETTERS",
    "UNIT_WORDS",
]

#: Multiplier by prefix, for each quantity.  What is absent is not a value.
PREFIXES: dict[str, dict[str, float]] = {
    "ohms": {
        "": 1.0,
        "n": 1e-9,
        "u": 1e-6,
        "m": 1e-3,
        "k": 1e3,
        "K": 1e3,
        "M": 1e6,
        "meg": 1e6,
        "Meg": 1e6,
        "MEG": 1e6,
        "G": 1e9,
    },
    "farads": {
        "": 1.0,
        "f": 1e-15,
        "p": 1e-12,
        "P": 1e-12,
        "n": 1e-9,
        "N": 1e-9,
        "u": 1e-6,
        "U": 1e-6,
        "m": 1e-3,
    },
    "henries": {
        "": 1.0,
        "p": 1e-12,
        "n": 1e-9,
        "N": 1e-9,
        "u": 1e-6,
        "U": 1e-6,
        "m": 1e-3,
    },
}

#: Unit words that may follow the prefix.
UNIT_WORDS: dict[str, str] = {
    "ohms": r"R|r|E|Z|[Oo]hms?|OHMS?",
    "farads": r"F|f|fd|FD|Fd",
    "henries": r"H|h|Hy",
}

#: Letters that stand for the decimal point (IEC 60062), with their multiplier.
RKM: dict[str, dict[str, float]] = {
    "ohms": {
        "R": 1.0,
        "r": 1.0,
        "E": 1.0,
        "k": 1e3,
        "K": 1e3,
        "M": 1e6,
        "G": 1e9,
        "m": 1e-3,
        "L": 1e-3,
        "u": 1e-6,
    },
    "farads": {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "F": 1.0, "U": 1e-6},
    # R stands for the decimal point of microhenries (EIA marking of coils).
    "henries": {"n": 1e-9, "N": 1e-9, "u": 1e-6, "U": 1e-6, "m": 1e-3, "R": 1e-6},
}

#: IEC 60062 tolerance letters, as fractions (only those that cannot be read as
#: a multiplier).
TOLERANCE_LETTERS: dict[str, float] = {
    "B": 0.001,
    "C": 0.0025,
    "D": 0.005,
    "F": 0.01,
    "G": 0.02,
    "J": 0.05,
}

#: Ceramic classes of EIA-198 that people write beside the value.
DIELECTRIC = re.compile(r"(?:C0G|COG|NP0|NPO|X[5678][RSTV]|Y5[VU]|Z5U|U2J)$", re.I)

#: Words that say "do not populate" (common practice).  The two-letter ones are
#: believed in capitals only, and only when they stand alone or after a slash:
#: "100 nF" and "C NP0" are fitted.
NOT_FITTED = re.compile(
    r"(?<![A-Za-z0-9])(?i:DNP|DNF|DNI|DNM|DNS|no[ _-]?fit|no[ _-]?pop|unpopulated|"
    r"not[ _-]?(?:fitted|populated|mounted|placed)|"
    r"do[ _-]?not[ _-]?(?:fit|populate|place|mount|stuff|install))(?![A-Za-z0-9])"
    r"|^\s*(?:NP|NF|NC|NM|N/[CPFM]|n\.[cpfm]\.)\s*$"
    r"|[/(_ ](?:NP|NF|NC|NM)\)?$"
)

#: Chip sizes that appear inside value texts (inch codes of EIA).
PACKAGES = frozenset(
    "01005 0201 0402 0603 0805 1008 1206 1210 1806 1812 2010 2220 2225 2512 2816 "
    "3920 1210W 0612 0508 1225 3216 3528 6032 7343".split()
)

#: First two digits of the E24 series (IEC 60063).
E24 = frozenset(
    "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91".split()
)
