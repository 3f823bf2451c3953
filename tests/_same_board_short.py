"""What other formats of a board give less than its schematic, and why."""

from typing import NamedTuple

__all__ = ["LACKS", "SHORT", "Reached"]

#: What a format does not hold at all.
LACKS = {
    "layout": "symbols, and before KiCad 6 pin names",
    "layout with schematic": "nothing",
    "schematic with layout": "nothing",
    "ipc2581": "symbols and pin names",
    "d356": "values, symbols, pin names and packages",
    "d356 with schematic": "nothing",
    "pads": "values, symbols, pin names and places",
}


class Reached(NamedTuple):
    """At least so many sets, stages, chains and rails; at most so many false ones."""

    sets: int
    stages: int
    chains: int
    suspects: int
    more: int
    why: str


#: Where a format gives less than the schematic, what it gives and why.
SHORT: dict[tuple[str, str], Reached] = {
    ("demo", "d356"): Reached(
        6,
        13,
        14,
        15,
        0,
        "diodes that may be anything, transistors of unknown channel",
    ),
    ("demo", "pads"): Reached(
        6,
        13,
        14,
        15,
        0,
        "diodes that may be anything, transistors of unknown channel",
    ),
    ("bitaxe-ultra", "d356"): Reached(
        0,
        4,
        2,
        0,
        0,
        "nothing shows the current sensor whose conductor joins input and 5 V",
    ),
    ("bitaxe-ultra", "pads"): Reached(
        0,
        4,
        2,
        0,
        0,
        "nothing shows the current sensor whose conductor joins input and 5 V",
    ),
    ("bms-c1", "ipc2581"): Reached(
        2,
        3,
        9,
        4,
        0,
        "R18 and R61, suspects over two parts that conduct one way, are out of "
        "reach: zeners read as diodes",
    ),
    ("bms-c1", "d356"): Reached(
        2,
        2,
        4,
        3,
        1,
        "zeners and clamps read as diodes; Q12 may be bipolar",
    ),
    ("bms-c1", "pads"): Reached(
        2,
        2,
        4,
        3,
        1,
        "zeners and clamps read as diodes; Q12 may be bipolar",
    ),
    ("cheap-focer-2", "d356"): Reached(
        6,
        5,
        6,
        1,
        0,
        "a three-pin regulator without a value; the switch inside the buck",
    ),
    ("cheap-focer-2", "pads"): Reached(
        6,
        6,
        6,
        1,
        0,
        "parts of unknown kind that conduct both ways add suspects",
    ),
    ("mjpower-ss", "d356"): Reached(
        1,
        1,
        3,
        0,
        0,
        "a regulator without a value; its output has no supply's name",
    ),
    ("mjpower-ss", "pads"): Reached(
        1,
        1,
        3,
        0,
        0,
        "a regulator without a value; its output has no supply's name",
    ),
    ("moteus-c1", "d356"): Reached(
        0,
        6,
        6,
        1,
        0,
        "connectors whose refdes says nothing, such as AUX1",
    ),
    ("moteus-c1", "pads"): Reached(
        0,
        6,
        6,
        1,
        0,
        "connectors whose refdes says nothing, such as AUX1",
    ),
    ("mppt-1210-hus", "layout"): Reached(
        0,
        6,
        5,
        3,
        0,
        "suppressor arrays with refdes U are chips without their symbols",
    ),
    ("mppt-1210-hus", "ipc2581"): Reached(
        0,
        6,
        5,
        3,
        0,
        "suppressor arrays with refdes U are chips without their symbols",
    ),
    ("mppt-1210-hus", "d356"): Reached(
        0,
        4,
        4,
        1,
        0,
        "regulator and load switch without values, arrays as chips",
    ),
    ("mppt-1210-hus", "pads"): Reached(
        0,
        5,
        5,
        1,
        0,
        "a regulator without a value, suppressor arrays as chips",
    ),
    ("mppt-2420-hc", "d356"): Reached(
        1,
        2,
        2,
        2,
        0,
        "single transistors of no known family, shunts without values",
    ),
    ("mppt-2420-hc", "pads"): Reached(
        1,
        2,
        2,
        2,
        0,
        "single transistors of no known family, shunts without values",
    ),
    ("mppt-2420-lc", "d356"): Reached(
        0,
        4,
        1,
        0,
        0,
        "single transistors of no known family, shunts without values",
    ),
    ("mppt-2420-lc", "pads"): Reached(
        0,
        4,
        1,
        1,
        0,
        "single transistors of no known family, shunts without values",
    ),
    ("mppt-2420-rc", "layout"): Reached(
        0,
        5,
        4,
        1,
        0,
        "R12 is marked as not fitted in the schematic alone",
    ),
    ("mppt-2420-rc", "ipc2581"): Reached(
        0,
        5,
        4,
        1,
        0,
        "R12 is marked as not fitted in the schematic alone",
    ),
    ("mppt-2420-rc", "d356"): Reached(
        0,
        2,
        2,
        1,
        0,
        "single transistors of no known family",
    ),
    ("mppt-2420-rc", "pads"): Reached(
        0,
        2,
        2,
        1,
        0,
        "single transistors of no known family",
    ),
    ("reform1-motherboard", "d356"): Reached(
        0,
        1,
        0,
        0,
        1,
        "regulators, power switches and single transistors without values on "
        "rails without names",
    ),
    ("reform1-motherboard", "pads"): Reached(
        0,
        1,
        0,
        0,
        1,
        "regulators, power switches and single transistors without values on "
        "rails without names",
    ),
    ("vesc4", "d356"): Reached(
        0,
        5,
        6,
        1,
        0,
        "a three-pin regulator without a value",
    ),
    ("vesc4", "pads"): Reached(
        0,
        6,
        6,
        1,
        0,
        "diodes that may be anything",
    ),
}
