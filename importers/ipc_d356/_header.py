"""Parameters of a file: units, and aliases for long net names."""

import re
from dataclasses import dataclass, field

__all__ = ["UNITS_MM", "Aliases", "alias", "units"]

#: Millimetres per unit, by the words after UNITS.
UNITS_MM = {
    "CUST": 0.00254,
    "CUST 0": 0.00254,
    "CUST 1": 0.001,
    "CUST 2": 0.00254,
    "SI": 0.001,
}

_ALIAS = re.compile(r"[CP] +NNAME *(\S+) +(\S.*)")
_UNITS = re.compile(r"P +UNITS +(\S.*)", re.I)


def units(line: str) -> str | None:
    """Return what a line states as units, None if it states none.

    Examples
    --------
    >>> units("P  UNITS CUST 0")
    'CUST 0'
    """
    match = _UNITS.fullmatch(line.rstrip())
    return " ".join(match[1].upper().split()) if match else None


def alias(line: str) -> tuple[str, str] | None:
    """Return an alias and the name it stands for, None if a line gives none.

    Some programs write aliases as comments.

    Examples
    --------
    >>> alias("P  NNAME1 A_REALLY_LONG_NET_NAME")
    ('1', 'A_REALLY_LONG_NET_NAME')
    >>> alias("C  NNAMEm0003 UNNAMED_3_RES_N1"), alias("C  anything else")
    (('m0003', 'UNNAMED_3_RES_N1'), None)
    """
    match = _ALIAS.fullmatch(line.rstrip())
    return (match[1], match[2]) if match else None


@dataclass(slots=True)
class Aliases:
    """Net names by what records call them."""

    #: What stands in records -> name.
    names: dict[str, str] = field(default_factory=dict)
    #: Aliases whose names, cut short, had become one: kept apart.
    clashes: list[str] = field(default_factory=list)
    _taken: set[str] = field(default_factory=set)

    def add(self, key: str, name: str) -> None:
        """Remember an alias.

        Records name it ``NNAMEm0003`` or ``m0003``; one that is a bare number
        ``NNAME1`` only, for a net may be called 1.
        """
        if self.names.get("NNAME" + key) == name:
            return
        if name in self._taken:
            self.clashes.append(name)
            name = f"{name}#{key}"
        self._taken.add(name)
        self.names["NNAME" + key] = name
        if not key.isdigit():
            self.names[key] = name
