"""A part's value as fields of the stable JSON, and as a line for people."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Part

__all__ = ["value_json", "value_line"]

#: Key in the JSON, field of a `Value`, unit for people.
_KEYS = (
    ("ohms", "ohms", "ohm"),
    ("farads", "farads", "F"),
    ("henries", "henries", "H"),
    ("impedance_ohms", "impedance_ohms", "ohm impedance"),
    ("hertz", "at_hertz", "Hz"),
    ("tolerance", "tolerance", ""),
    ("tolerance_minus", "tolerance_minus", ""),
    ("tolerance_plus", "tolerance_plus", ""),
    ("volts_max", "volts", "V"),
    ("amps_max", "amps", "A"),
    ("watts_max", "watts", "W"),
)


def value_json(part: "Part", kind: str) -> dict[str, Any]:
    """Return what the value text says, only the keys that are known.

    ``value_unclear`` says why the quantity is missing, and ``value_readings`` what
    it could be; ``marks`` are the codes that a chip resistor of this value may bear.
    """
    from ohmtrail.netanalysis.values import read_value, resistor_marks

    reading = read_value(part.value, kind)
    value = reading.value
    made: dict[str, Any] = {}
    if value is not None:
        for key, name, _ in _KEYS:
            number = getattr(value, name)
            if number is not None:
                made[key] = number
        if value.dielectric:
            made["dielectric"] = value.dielectric
        if value.alternatives:
            made["value_readings"] = list(value.alternatives)
        if value.note:
            made["value_note"] = value.note
        if kind == "resistor" and value.ohms is not None:
            made["marks"] = list(resistor_marks(value.ohms))
    if reading.reason:
        made["value_unclear"] = reading.reason
    return made


def value_line(part: "Part", kind: str) -> str:
    """Return what a person should know of the value text, empty if nothing.

    A value that is clear needs no words: it stands on the screen already.
    """
    told = value_json(part, kind)
    words = []
    if part.value and "value_unclear" in told:
        words.append(f"value unclear: {told['value_unclear']}")
    if "value_note" in told:
        words.append(f"value: {told['value_note']}")
    if told.get("marks"):
        words.append(f"a chip of this value is marked {', '.join(told['marks'])}")
    return "; ".join(words)
