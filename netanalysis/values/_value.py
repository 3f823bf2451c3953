"""What a value text says."""

from dataclasses import dataclass

__all__ = ["Reading", "Value"]


@dataclass(frozen=True, slots=True)
class Value:
    """What a value text says, in SI units.  Missing is None, never 0."""

    text: str
    #: Resistance.  On a coil or bead its direct-current resistance; 0 on any
    #: kind says that a wire is fitted in its place ("0R").
    ohms: float | None = None
    #: Capacitance; on a crystal the load that it wants.
    farads: float | None = None
    henries: float | None = None
    #: Impedance of a bead at `at_hertz`: no direct-current resistance.
    impedance_ohms: float | None = None
    #: Frequency at which a bead's impedance is stated, or that of a crystal.
    at_hertz: float | None = None
    #: Tolerance as a fraction (0.01 is 1 %), the wider side if the two differ.
    tolerance: float | None = None
    #: The same below and above the value, both without sign.
    tolerance_minus: float | None = None
    tolerance_plus: float | None = None
    #: Ratings beside the value: volts, amperes, watts.
    volts: float | None = None
    amps: float | None = None
    watts: float | None = None
    #: Ceramic class of a capacitor in capitals ("X7R", "C0G", "NP0").
    dielectric: str = ""
    #: The text says that the part is not populated.
    not_fitted: bool = False
    #: Why the quantity is left open; empty where the text is clear.
    ambiguous: str = ""
    #: The readings it could have, in the SI unit of the kind's quantity.
    alternatives: tuple[float, ...] = ()
    #: What a reader should know although one reading was taken.
    note: str = ""
    #: Words of the text that were not used, with a space between.
    unread: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value, and why its quantity is missing if it is."""

    value: Value | None
    #: In words; empty exactly where the quantity of the part's kind was read, the
    #: part is not fitted, or the kind has no quantity.
    reason: str = ""
