"""What the first letter of a device says: pins, kind, value.

After the ngspice manual, chapters 3 to 12: the order of a letter's nodes.
"""

from dataclasses import dataclass

__all__ = ["LETTERS", "MODEL_TYPES", "Letter"]


@dataclass(frozen=True, slots=True)
class Letter:
    """How lines of one letter are read."""

    words: str
    #: Pin names in the order of the line.
    pins: tuple[str, ...]
    #: The kind that a part of this letter is, whatever its name.
    kind: str
    #: Fewest nodes; between this and ``len(pins)`` the model's name decides.
    least: int
    #: A model's name follows the nodes.
    model: bool = False
    #: Unit of the value that follows the nodes, "" if it has none.
    unit: str = ""


_SOURCE = ("+", "-")
_CONTROLLED = ("+", "-", "C+", "C-")

LETTERS: dict[str, Letter] = {
    "R": Letter("resistor", ("1", "2"), "resistor", 2, unit="R"),
    "C": Letter("capacitor", ("1", "2"), "capacitor", 2, unit="F"),
    "L": Letter("inductor", ("1", "2"), "inductor", 2, unit="H"),
    "D": Letter("diode", ("A", "K"), "diode", 2, True),
    "Q": Letter("bipolar transistor", ("C", "B", "E", "SUB", "TJ"), "bipolar", 3, True),
    "M": Letter(
        "MOSFET", ("D", "G", "S", "B", "N5", "N6", "N7", "N8"), "mosfet", 3, True
    ),
    "J": Letter("junction FET", ("D", "G", "S"), "other", 3, True),
    "Z": Letter("MESFET", ("D", "G", "S"), "other", 3, True),
    "V": Letter("voltage source", _SOURCE, "other", 2),
    "I": Letter("current source", _SOURCE, "other", 2),
    "B": Letter("behavioural source", _SOURCE, "other", 2),
    "E": Letter("voltage-controlled voltage source", _CONTROLLED, "other", 2),
    "G": Letter("voltage-controlled current source", _CONTROLLED, "other", 2),
    "F": Letter("current-controlled current source", _SOURCE, "other", 2),
    "H": Letter("current-controlled voltage source", _SOURCE, "other", 2),
    "S": Letter("voltage-controlled switch", ("1", "2", "C+", "C-"), "other", 4, True),
    "W": Letter("current-controlled switch", ("1", "2"), "other", 2),
    "T": Letter("transmission line", ("A+", "A-", "B+", "B-"), "other", 4),
    "O": Letter("lossy line", ("A+", "A-", "B+", "B-"), "other", 4, True),
    "Y": Letter("lossy line", ("A", "A-", "B", "B-"), "other", 4, True),
}

#: Kind and words by the type of a ``.model``.
MODEL_TYPES: dict[str, tuple[str, str]] = {
    "nmos": ("nmos", "NMOS transistor"),
    "pmos": ("pmos", "PMOS transistor"),
    "npn": ("npn", "NPN transistor"),
    "pnp": ("pnp", "PNP transistor"),
    "njf": ("other", "n-channel junction FET"),
    "pjf": ("other", "p-channel junction FET"),
    "nmf": ("other", "n-channel MESFET"),
    "pmf": ("other", "p-channel MESFET"),
    "d": ("diode", "diode"),
}
