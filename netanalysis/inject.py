"""How to inject into a shorted rail: never above the lowest rail that it may reach."""

import math
from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.injection_reach import (
    InjectionIndex,
    InjectionReach,
    ReachedRail,
)
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.own_ground import own_ground

__all__ = ["AMPS_START", "Heat", "InjectAnswer", "heat_of", "inject"]

#: Current limit to begin with, in amperes.  A trace of 0.12 mm in 35 um copper warms by
#: 10 K at this (IPC-2221: 0.048 * 10**0.44 * (4.6 * 1.378)**0.725 is 0.5); that bench
#: supplies begin there is common practice, no source.
AMPS_START = 0.5
#: Heat that a finger or drying alcohol shows on a small part, in watts (CP).
_FELT_WATTS = 0.5
#: Heat below which even a thermal camera shows little, in watts (CP).
_SEEN_WATTS = 0.02
_SHOWN = 6

CAUTIONS = (
    "Adapter, battery and coin cell off; big capacitors discharged, under 1 V.",
    "Set both limits before you connect: the volts with the leads apart, the amperes "
    "with the leads together.",
    "Eye protection on; hot parts burn, and a part may burst.",
    "Raise the current in steps while you watch; never raise the volts.",
    "A four-wire meter that is not under 0.1 V with its leads open counts as "
    "injection: the same limit holds for it.",
    "Mains primary side: only if you are licensed and equipped for it, by local rules.",
)

LOOK_FOR = (
    "Heat at the short: finger with care, alcohol that dries, freeze spray, thermal "
    "camera.",
    "The voltage drop along the copper, black lead on ground: it falls toward the "
    "culprit and is lowest at its pads.",
    "The copper on the way heats too: a warm trace or coil is not the short by itself.",
)


@dataclass(frozen=True, slots=True)
class Heat:
    """What goes into a short of a measured resistance at the supply's limits."""

    #: The reading, in ohms.
    ohms: float
    #: At the start current or the volts limit, whichever gives less.
    volts: float
    amps: float
    watts: float
    #: "current" or "volts": the limit at which the supply stays.
    limited_by: str
    #: With the current limit out of the way: V / R in amperes, V * V / R in watts.
    amps_max: float | None
    watts_max: float | None
    #: Current that makes the short warm enough to feel, in amperes; None if the volts
    #: limit does not let it.
    amps_to_feel: float | None
    text: str


@dataclass(frozen=True, slots=True)
class InjectAnswer:
    """The limits of injection into one net, and what rests on what."""

    net: str
    #: Where the supply's plus and minus go.
    plus: str
    minus: str
    #: In volts; None while anything in reach is unknown.
    volts_max: float | None
    amps_start: float
    #: The rail that sets the limit, None without a limit.
    set_by: ReachedRail | None
    rails_reached: tuple[str, ...]
    unknown: tuple[str, ...]
    #: What is missing, a line for each of ``unknown``.
    missing: tuple[str, ...]
    why: str
    cautions: tuple[str, ...]
    look_for: tuple[str, ...]
    #: Where what is stated and what the board says differ: (net, text).
    warnings: tuple[tuple[str, str], ...]
    reach: InjectionReach
    heat: Heat | None = None


def heat_of(ohms: float, volts_max: float, amps: float = AMPS_START) -> Heat:
    """Return what a supply at its limits puts into a resistance.

    Parameters
    ----------
    ohms : float
        The reading, leads nulled, in ohms; 0 for a dead short, infinity for open.
    volts_max, amps : float
        The supply's limits, in volts and amperes.

    Examples
    --------
    >>> heat_of(0.5, 1.0).watts, heat_of(0.5, 1.0).watts_max
    (0.125, 2.0)
    """
    by_current = ohms * amps <= volts_max
    current = amps if by_current else volts_max / ohms
    volts = current * ohms if by_current else volts_max
    watts = volts * current
    amps_max = volts_max / ohms if ohms > 0 else None
    watts_max = volts_max * amps_max if amps_max is not None else None
    feel = math.sqrt(_FELT_WATTS / ohms) if 0 < ohms < math.inf else None
    if feel is not None and feel * ohms > volts_max:
        feel = None
    text = (
        f"At {current:.2g} A the short takes {watts:.2g} W "
        f"(the supply stays at its {'current' if by_current else 'volts'} limit)"
    )
    if watts_max is not None and watts_max < _SEEN_WATTS:
        text += f"; at most {watts_max:.2g} W: too little to see heat, follow the drop"
    elif feel is not None and feel > amps:
        text += f"; {feel:.2g} A make it {_FELT_WATTS:g} W, warm to a finger"
    elif ohms == 0:
        text += ": nothing is left to heat at 0 ohm; read it with four wires"
    return Heat(
        ohms=ohms,
        volts=volts,
        amps=current,
        watts=watts,
        limited_by="current" if by_current else "volts",
        amps_max=amps_max,
        watts_max=watts_max,
        amps_to_feel=feel,
        text=text + ".",
    )


def inject(
    circuit: Circuit,
    net: str,
    ohms: float | None = None,
    index: InjectionIndex | None = None,
    off: frozenset[str] = frozenset(),
    apart: frozenset[str] = frozenset(),
) -> InjectAnswer:
    """Return the limits for injecting into a net.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    net : str
        The net that reads short.
    ohms : float, optional
        What it reads, in ohms: then the answer says what heats how much.
    index : InjectionIndex, optional
        The circuit's own, for many questions about one circuit.
    off : frozenset of str, optional
        Parts that are off the board while current flows: nothing leads through them.
    apart : frozenset of str, optional
        Nets that readings have shown to stand apart from this one.

    Raises
    ------
    NotOnBoardError
        If the net is ground, or no ground is known: then nothing ends the reach.

    Notes
    -----
    The reach is the widest that a fault can make it: through links, discrete
    switches and body diodes, switches inside chips, contacts and bridges, from a rail
    to what is made from it, from any pin of a chip to its own supplies, from drain
    to gate.  Of several voltages told of a rail the lowest counts.
    """
    if net in circuit.ground:
        raise NotOnBoardError(f"{net} is ground; give the net that reads short", net)
    if not circuit.ground:
        raise NotOnBoardError("no ground net found: no limit can be given", net)
    index = InjectionIndex(circuit, view_of(circuit)) if index is None else index
    reach = index.reach(net, off, apart)
    by_net = {one.net: one for one in reach.details}
    setter = by_net.get(reach.set_by or "")
    own = by_net[net].volts
    ground = own_ground(index.view, net)
    plus, minus = (ground, net) if own is not None and own < 0 else (net, ground)
    heat = None
    if ohms is not None and reach.volts_max is not None:
        heat = heat_of(ohms, reach.volts_max)
    return InjectAnswer(
        net=net,
        plus=plus,
        minus=minus,
        volts_max=reach.volts_max,
        amps_start=AMPS_START,
        set_by=setter,
        rails_reached=reach.rails,
        unknown=reach.unknown,
        missing=tuple(_missing(by_net[one]) for one in reach.unknown),
        why=_why(net, reach, setter),
        cautions=(*_of_this_net(index, net, reach), *_while_off(off), *CAUTIONS),
        look_for=LOOK_FOR,
        warnings=tuple((one.net, one.note) for one in reach.details if one.note),
        reach=reach,
        heat=heat,
    )


def _while_off(off: frozenset[str]) -> tuple[str, ...]:
    if not off:
        return ()
    stay = "stays" if len(off) == 1 else "stay"
    return (f"This holds only while {_some(tuple(sorted(off)))} {stay} off the board.",)


def _missing(one: ReachedRail) -> str:
    way = f" (through {' '.join(one.via)})" if one.via else ""
    if one.reversed:
        return f"{one.net}{way} is {one.why}; lift what joins them first"
    if one.note:
        return f"{one.net}{way}: {one.note}"
    return f"{one.net}{way}: voltage not known; state it with --nominal"


def _why(net: str, reach: InjectionReach, setter: ReachedRail | None) -> str:
    if setter is None:
        return (
            "No limit can be given: the short may lead to rails of which no safe "
            "voltage is known."
        )
    if setter.net == net:
        return f"{net} itself is the lowest of the {len(reach.rails)} rails in reach."
    way = " ".join(setter.via) or "the board's supply tree"
    text = (
        f"The short may lead from {net} through {way} to {setter.net}, the lowest of "
        f"the {len(reach.rails)} rails in reach: what lives on {setter.net} must not "
        "see more."
    )
    if setter.volts is None:
        text += f" Its voltage is not known, but no lower than this ({setter.why})."
    return text


def _of_this_net(
    index: InjectionIndex, net: str, reach: InjectionReach
) -> tuple[str, ...]:
    """Cautions that follow from this board."""
    made = []
    first = reach.details[0]
    if first.volts is not None and first.volts < 0:
        made.append(f"{net} is negative: the supply's plus goes to ground.")
    if reach.outside:
        made.append(
            f"Unplug everything at {_some(reach.outside)}: what hangs there is not on "
            "this board's drawing."
        )
    made += [
        one.note[0].upper() + one.note[1:] + "." for one in reach.details if one.note
    ]
    made += [
        f"{one.net} is not known, but at least {one.at_least:g} V ({one.why})."
        for one in reach.details
        if one.at_least is not None and one.volts is None
    ]
    made += _not_fitted(index, reach)
    return tuple(made)


def _not_fitted(index: InjectionIndex, reach: InjectionReach) -> list[str]:
    """Say which links marked "not fitted" would lead further, to less or unknown."""
    inside = frozenset(reach.rails)
    found: dict[str, None] = {}
    for link in index.not_fitted:
        for near, far in ((link.net_a, link.net_b), (link.net_b, link.net_a)):
            if near not in inside or far in inside or far not in index.supplies:
                continue
            nominal = index.nominals.get(far)
            volts = nominal.volts if nominal is not None else None
            limit = reach.volts_max
            if volts is None or limit is None or abs(volts) < limit:
                found[
                    f"{link.ref} is marked not fitted; on a board that has it {far} is "
                    "in reach too."
                ] = None
    return list(found)


def _some(names: tuple[str, ...]) -> str:
    shown = ", ".join(names[:_SHOWN])
    more = len(names) - _SHOWN
    return shown if more <= 0 else f"{shown} and {more} more"
