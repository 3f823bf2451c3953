"""Whether a rail's resistance to ground is a short at all.

The yardstick is physical: at its nominal voltage V a rail that reads R would draw
V * V / R, and that is compared with what such a rail could ever carry.  The limits
are common practice and wide on purpose; between them the answer is "cannot tell",
with the reading that decides.
"""

from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = [
    "LEADS_OHMS",
    "Decider",
    "RailClass",
    "Verdict",
    "cold_volts",
    "judge",
    "rail_class",
    "rail_volts",
]

#: Resistance of a common handheld's leads, in ohms (common practice, no source).
LEADS_OHMS = 0.2
#: What contact moves a reading by, in ohms (common practice, no source).
_CONTACT_OHMS = 0.02


@dataclass(frozen=True, slots=True)
class RailClass:
    """What rails of one voltage read cold, to ground, when nothing is wrong."""

    title: str
    #: Up to this nominal voltage, in volts.
    volts_max: float
    #: Drawing more than this when cold is a short, in watts.
    short_watts: float
    #: At or above this the reading is no short, in ohms.
    normal_ohms: float
    #: Lowest and usual honest reading, in ohms, for the checklist.
    low_ohms: float
    typical_ohms: float

    @property
    def article(self) -> str:
        """The title with its article."""
        return f"{'an' if self.title[0] in 'aeiou' else 'a'} {self.title}"


#: Common practice; the core row also rests on user reports of large logic chips
#: (1.0 V supplies: 2 to 15 ohms on boards that work; 1.2 ohms seen new).
CLASSES = (
    RailClass("core rail", 1.35, 30.0, 10.0, 0.3, 5.0),
    RailClass("memory or I/O rail", 2.0, 20.0, 100.0, 10.0, 100.0),
    RailClass("logic rail", 6.5, 20.0, 200.0, 50.0, 1e3),
    RailClass("intermediate rail", 9.0, 20.0, 1e3, 200.0, 5e3),
    RailClass("input rail", float("inf"), 10.0, 1e3, 1e3, 2e4),
)


@dataclass(frozen=True, slots=True)
class Decider:
    """The reading that settles a doubt."""

    mode: str
    plus: str
    minus: str
    why: str
    #: (what is read, what follows).
    expected: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a reading is a short, and what would settle it."""

    #: "short", "normal" or "cannot tell".
    verdict: str
    because: tuple[str, ...]
    #: The reading that decides, None when settled.
    measure: Decider | None = None


def rail_volts(circuit: Circuit, net: str) -> float | None:
    """Return the nominal voltage of a net, in volts; None where unknown."""
    if net in circuit.stated_volts:
        return circuit.stated_volts[net]
    for rail in circuit.rails:
        if rail.net == net:
            return rail.volts
    return None


def cold_volts(circuit: Circuit, net: str) -> float | None:
    """Return the nominal volts of the rail whose load a net reads when cold.

    That is the net's own rail; for a switch node the output beyond its coil.  None
    where unknown.
    """
    if net in circuit.stated_volts or any(rail.net == net for rail in circuit.rails):
        return rail_volts(circuit, net)
    for stage in circuit.stages:
        if net in stage.switch_nodes and stage.inductors:
            load = stage.output_rail or stage.output
            return rail_volts(circuit, load) if load is not None else None
    return None


def rail_class(volts: float) -> RailClass:
    """Return the class of a rail by its nominal voltage (either sign), in volts."""
    return next(row for row in CLASSES if abs(volts) <= row.volts_max)


def _number(value: float) -> str:
    return f"{value:.3g}"


def _stage_of(circuit: Circuit, net: str) -> Stage | None:
    for stage in circuit.stages:
        if net in (stage.output, stage.output_rail) and stage.low_side:
            return stage
    return None


def _decider(circuit: Circuit, net: str, other: str, have: tuple[str, ...]) -> Decider:
    """Return the reading that says most: where the low path is, or its polarity."""
    stage = _stage_of(circuit, net)
    if "four-wire" not in have:
        diode = "diode" in have
        some = "the same both ways, some millivolts" if diode else "the same both ways"
        return Decider(
            "diode" if diode else "resistance",
            other,
            net,
            "red on the lower net, then swap: silicon reads differently both ways, a "
            "short the same; compare with a good board",
            (
                (some, "a short, or a large load"),
                ("it differs both ways", "silicon conducts: a load, not a dead short"),
            ),
        )
    if stage is not None and stage.switch_nodes:
        return Decider(
            "four-wire",
            stage.switch_nodes[0],
            other,
            f"compare with {net} itself and with the sister switch nodes",
            (
                ("lower at this node than at the load", "a switch of this phase"),
                ("lowest at the load", "the load, or what stands beside it"),
                ("alike everywhere", "a load spread over the rail: likely no short"),
            ),
        )
    return Decider(
        "four-wire",
        net,
        other,
        "at the load's own pads and at the far end of the rail; compare with a good "
        "board",
        (
            ("lower at one place", "a short near there"),
            ("alike everywhere", "a load spread over the rail: likely no short"),
        ),
    )


def judge(
    circuit: Circuit,
    net: str,
    ohms: float,
    to: str | None = None,
    have: tuple[str, ...] = ("resistance", "diode", "four-wire", "drop"),
) -> Verdict:
    """Judge a cold resistance reading between a rail and ground (or another rail).

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    net : str
        The rail.
    ohms : float
        The reading, in ohms; infinity for an open circuit.
    to : str, optional
        The other net, by default ground.
    have : tuple of str
        Meter modes at hand.

    Returns
    -------
    Verdict
        "short" and "normal" only where the limits leave no doubt.
    """
    other = to if to is not None else (circuit.ground[0] if circuit.ground else "GND")
    volts = cold_volts(circuit, net)
    if to is not None and to not in circuit.ground:
        far = rail_volts(circuit, to)
        volts = abs(volts - far) if volts is not None and far is not None else None
        if volts is not None and volts < 0.1:
            volts = None
    lead_note = (
        f"the leads alone read some {LEADS_OHMS:g} ohms: null them or use four wires"
    )
    if volts is None or volts == 0:
        if ohms >= 10e3:
            return Verdict(
                "normal", (f"{_number(ohms)} ohms is no short on any supply rail",)
            )
        because = (f"the voltage of {net} is not known; state it with --nominal",)
        return Verdict("cannot tell", because, _decider(circuit, net, other, have))
    row = rail_class(volts)
    watts = volts * volts / ohms if ohms > 0 else float("inf")
    size = f"{_number(watts)} W" if ohms > 0 else "without limit"
    yardstick = f"at {volts:g} V it would draw {size} cold"
    if rail_volts(circuit, net) is None and to is None:
        yardstick = f"{net} reads its output rail through the coil; {yardstick}"
    if ohms >= row.normal_ohms:
        return Verdict(
            "normal",
            (
                f"{yardstick}; {row.article} honestly reads {row.normal_ohms:g} ohms "
                "and more (common practice)",
            ),
        )
    # Judged at its most harmless.
    kindest = volts * volts / (ohms + _CONTACT_OHMS)
    reasons = [
        f"{yardstick}; {row.article} reads from {row.low_ohms:g} ohms up "
        "(common practice), less with a large load"
    ]
    if to is not None and to not in circuit.ground:
        reasons = [f"{yardstick}, between the two rails"]
    elif kindest > row.short_watts:
        return Verdict(
            "short",
            (
                f"{yardstick}, more than {row.article} could carry "
                f"({row.short_watts:g} W, common practice)",
            ),
        )
    if ohms < 2 * LEADS_OHMS:
        reasons.append(lead_note)
    if row.volts_max <= 2.0:
        reasons.append("a continuity beep proves nothing on such a rail")
    return Verdict("cannot tell", tuple(reasons), _decider(circuit, net, other, have))
