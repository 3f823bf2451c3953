"""Ground: which nets are 0 V, the main one first."""

import re
from collections.abc import Iterable

from ohmtrail.netanalysis.circuit import Link
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["ground_nets", "is_ground_name", "join_grounds"]

#: Names of ground nets, taken on the last path component without decoration.
#: Chassis and earth are other conductors and are left out on purpose.
_NAME = re.compile(
    r"^(?:GND|VSS|0V0?|0|COM(?:MON)?|GROUND|MASSE)$"
    r"|^(?:[ADPSCELX]|SIG|PWR|POWER|ANALOG|DIGITAL|MAIN|SYS|HV|LV|USB|PS|BAT|BATT|MOT)?"
    r"_?GND(?:_?(?:[A-Z]|\d{1,2}|PWR|POWER|ANALOG|DIGITAL|REF|SIG|MAIN|IO|PLL|RF|ISO))?$"
    r"|^[ADP]?VSS[A-Z]?$|^[ADP]_?GROUND$"
)
#: Names that mean ground only where no better name is on the board: beside GND,
#: VSS may be a negative supply and COM a relay's or a port's.
_WEAK = re.compile(r"^(?:[ADP]?VSS[A-Z]?|COM(?:MON)?|0)$")
#: Names that hold "ground" letters but mean shield, earth or a sensed wire.
_NOT = re.compile(r"CHASSIS|EARTH|SHIELD|MOUNT|SENSE|DETECT|FRAME|^EGND$|CHGND|^CGND$")
#: Names of the negative end of a board without a net called ground.
_NEGATIVE = re.compile(
    r"^(?:V|VIN|BAT|BATT|B|PACK|P|DC|PWR|SUPPLY|IN|RAW|BUS)_?(?:-|NEG|MINUS|_N)$"
)


def is_ground_name(net: str) -> bool:
    """Whether a net's name means ground.

    >>> is_ground_name("/Power/PGND"), is_ground_name("CHASSIS_GND")
    (True, False)
    """
    name = _bare(net)
    return bool(_NAME.match(name)) and not _NOT.search(name)


def ground_nets(view: CircuitView) -> tuple[str, ...]:
    """Return the ground nets by name, the one with most pins first.

    A board on which no net is called ground falls back to the negative supply
    by name, else to the net with most pins that chips call ground, else to the
    net with most pins if a capacitor or more sits on it.

    Notes
    -----
    O(pins).
    """
    named = [net.name for net in view.board.nets if is_ground_name(net.name)]
    named = [net for net in named if view.degree(net) > 0]
    strong = [net for net in named if not _WEAK.match(_bare(net))]
    named = strong or named
    if named:
        named.sort(key=lambda net: (-view.degree(net), len(net)))
        # A name with one or two pins may be a left-over label; keep it only
        # beside the real ground, never as the main one (it sorts last anyway).
        return tuple(named)
    counts: dict[str, int] = {}
    for net, pins in view.index.pins_by_net.items():
        score = sum(1 for pin in pins if is_ground_name(pin.name or ""))
        if score:
            counts[net] = score
    negative = [
        net.name
        for net in view.board.nets
        if _NEGATIVE.match(_bare(net.name)) and view.degree(net.name) > 2
    ]
    pool = counts or {net: view.degree(net) for net in negative}
    pool = pool or {net.name: view.degree(net.name) for net in view.board.nets}
    if not pool:
        return ()
    best = max(pool, key=lambda net: (pool[net], view.degree(net)))
    return (best,) if view.degree(best) > 2 else ()


def join_grounds(
    view: CircuitView, ground: tuple[str, ...], links: Iterable[Link]
) -> tuple[str, ...]:
    """Add nets that are one with the main ground through links.

    Taken are nets named ground behind a net tie, 0 ohm resistor or bead, and
    nets behind ties of copper that most pins on them call ground.  The sense
    point at the top of a shunt is near 0 V, but current flows there: it is none.
    """
    ties: dict[str, list[Link]] = {}
    for link in links:
        if not link.always or link.kind not in ("jumper", "resistor", "bead"):
            continue
        if link.kind == "resistor" and link.ohms != 0.0:
            continue
        ties.setdefault(link.net_a, []).append(link)
        ties.setdefault(link.net_b, []).append(link)
    joined = dict.fromkeys(ground)
    queue = list(joined)
    for here in queue:
        for link in ties.get(here, ()):
            there = link.net_b if link.net_a == here else link.net_a
            tie = link.kind == "jumper"
            if there not in joined and (
                is_ground_name(there) or (tie and _called_ground(view, there))
            ):
                joined[there] = None
                queue.append(there)
    return tuple(joined)


def _called_ground(view: CircuitView, net: str) -> bool:
    pins = view.pins(net)
    named = [pin for pin in pins if pin.name and pin.name not in ("1", "2")]
    negative = bool(_NEGATIVE.match(_bare(net)))
    grounds = sum(1 for pin in named if is_ground_name(pin.name))
    return negative or (len(named) > 0 and 2 * grounds > len(named))


def _bare(net: str) -> str:
    """Last path component in capitals, without KiCad's braces and signs."""
    name = net.rsplit("/", 1)[-1].upper()
    name = re.sub(r"[~{}$!*'\" ]", "", name)
    return name.lstrip("+")
