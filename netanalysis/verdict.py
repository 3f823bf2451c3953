"""Whether a rail's resistance to ground is a short at all.

The yardstick is physical: at its nominal voltage V a rail that reads R would draw
V * V / R, and that is compared with what such a rail could ever carry.  The limits
are common practice and wide on purpose; between them the answer is "cannot tell",
with the reading that decides.
"""

from dataclasses import dataclass, replace

from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.sister_rails import sister_rail

__all__ = [
    "LEADS_OHMS",
    "Decider",
    "RailClass",
    "Verdict",
    "cold_volts",
    "is_short",
    "judge",
    "rail_class",
    "rail_volts",
]

#: Resistance of a common handheld's leads, in ohms (common practice, no source).
LEADS_OHMS = 0.2
#: What contact moves a reading by, in ohms (common practice, no source).
_CONTACT_OHMS = 0.02
#: Rails nearer to one another are at one voltage, in volts (common practice).
_SAME_VOLTS = 0.1
_LEAD_NOTE = (
    f"the leads alone read some {LEADS_OHMS:g} ohms: null them or use four wires"
)


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
#: (1.0 V supplies: 2 to 15 ohms on boards that work; 1.2 ohms seen new).  Memory
#: rails go up to the 2.5 V of DDR SDRAM (JESD79).
CLASSES = (
    RailClass("core rail", 1.35, 30.0, 10.0, 0.3, 5.0),
    RailClass("memory or I/O rail", 2.6, 20.0, 100.0, 10.0, 100.0),
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
    """Return the reading that says most.

    A sister rail's, the cheapest; else where the low path is, or its polarity.
    """
    volts = rail_volts(circuit, net)
    sister = sister_rail(circuit, net)
    if sister is not None and other in circuit.ground and "resistance" in have:
        return Decider(
            "resistance",
            sister,
            other,
            f"{sister} has the same volts, maker and loads as {net}: it should read "
            "alike, leads nulled",
            (
                ("as low", "their load: likely no short"),
                (f"three times {net} or more", f"{net} is shorted"),
            ),
        )
    stage = _stage_of(circuit, net)
    if "four-wire" not in have:
        diode = "diode" in have
        some = "the same both ways, some millivolts" if diode else "the same both ways"
        # Clamps conduct from ground into a positive rail, out of a negative one.
        red, black = (net, other) if volts is not None and volts < 0 else (other, net)
        return Decider(
            "diode" if diode else "resistance",
            red,
            black,
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


def _to_ground(circuit: Circuit, net: str, to: str, ohms: float) -> Decider:
    """Between two rails: each one's own reading to ground decides."""
    first = max((net, to), key=lambda one: abs(cold_volts(circuit, one) or 0.0))
    second = to if first == net else net
    return Decider(
        "resistance",
        first,
        circuit.ground[0] if circuit.ground else "GND",
        f"then {second} to ground: through both loads the two rails read their sum",
        (
            (
                f"both together about {_number(ohms)} ohms",
                "no path between them: judge each rail by itself",
            ),
            ("far more", "a path between the two: what touches both is suspect"),
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
    # With the leads nulled a dead short may read a little under 0.
    ohms = max(ohms, 0.0)
    other = to if to is not None else (circuit.ground[0] if circuit.ground else "GND")
    if other in circuit.ground:
        to = None
    plain = _judge(circuit, net, ohms, to, other, have)
    if plain.verdict == "normal" or ohms <= 0.0:
        return plain
    from ohmtrail.netanalysis.marked_paths import marked_path

    marked = marked_path(circuit, net, other)
    if marked is None or marked.low > 100 * ohms + LEADS_OHMS:
        return plain
    shown = f"{_number(marked.low)} to {_number(marked.high)} ohms"
    because = (
        f"{' '.join(marked.refs[:4]) or 'what joins them'} alone read {shown} here"
    )
    if ohms + _CONTACT_OHMS >= marked.low:
        if ohms <= marked.high + LEADS_OHMS + _CONTACT_OHMS:
            return Verdict("normal", (because,))
        return Verdict("normal", (because, "it reads more: a path may be open"))
    # What is left when the marked parts are taken off, at its most and least harmless.
    kind, harsh = (1 / (1 / ohms - 1 / end) for end in (marked.low, marked.high))
    rest = f"what lies beside reads about {_number(kind)} ohms"
    judged = _judge(circuit, net, kind, to, other, have)
    if judged.verdict == "normal":
        harsh_one = _judge(circuit, net, harsh, to, other, have)
        if harsh_one.verdict != "normal":
            decider = harsh_one.measure or _decider(circuit, net, other, have)
            judged = replace(harsh_one, verdict="cannot tell", measure=decider)
    return replace(judged, because=(because, rest, *judged.because))


def is_short(circuit: Circuit, net: str, ohms: float) -> bool:
    """Whether `judge` calls a reading to ground a short.

    The board is solved only where its rail's class alone says so: marked parts can
    excuse a reading, never make it worse.
    """
    plain = _judge(circuit, net, max(ohms, 0.0), None, "", ())
    return plain.verdict == "short" and judge(circuit, net, ohms).verdict == "short"


def _judge(
    circuit: Circuit,
    net: str,
    ohms: float,
    to: str | None,
    other: str,
    have: tuple[str, ...],
) -> Verdict:
    """Judge a resistance by the class of its rail alone; ``to`` None is ground."""
    volts = cold_volts(circuit, net)
    far = cold_volts(circuit, to) if to is not None else None
    if to is not None:
        both = volts is not None and far is not None
        apart = abs(volts - far) if volts is not None and far is not None else 0.0
        if not both or apart < _SAME_VOLTS:
            return _unknown_pair(circuit, net, to, ohms, both=both)
        return _judge_pair(circuit, (net, volts or 0.0), (to, far or 0.0), ohms)
    if volts is None or volts == 0:
        if ohms >= 10e3:
            return Verdict(
                "normal", (f"{_number(ohms)} ohms is no short on any supply rail",)
            )
        because = (f"the voltage of {net} is not known; state it with --nominal",)
        return Verdict("cannot tell", because, _decider(circuit, net, other, have))
    row = rail_class(volts)
    yardstick = _yardstick(volts, ohms)
    if rail_volts(circuit, net) is None:
        yardstick = f"{net} reads its output rail through the coil; {yardstick}"
    if ohms >= row.normal_ohms:
        return Verdict(
            "normal",
            (
                f"{yardstick}; {row.article} honestly reads {row.normal_ohms:g} ohms "
                "and more (common practice)",
            ),
        )
    if _kindest_watts(volts, ohms) > row.short_watts:
        return Verdict(
            "short",
            (
                f"{yardstick}, more than {row.article} could carry "
                f"({row.short_watts:g} W, common practice)",
            ),
        )
    reasons = [
        f"{yardstick}; {row.article} reads from {row.low_ohms:g} ohms up "
        "(common practice), less with a large load"
    ]
    if ohms < 2 * LEADS_OHMS:
        reasons.append(_LEAD_NOTE)
    if row.volts_max <= 2.0:
        reasons.append("a continuity beep proves nothing on such a rail")
    return Verdict("cannot tell", tuple(reasons), _decider(circuit, net, other, have))


def _yardstick(volts: float, ohms: float) -> str:
    size = f"{_number(volts * volts / ohms)} W" if ohms > 0 else "without limit"
    return f"at {volts:g} V it would draw {size} cold"


def _kindest_watts(volts: float, ohms: float) -> float:
    """Return the power of a reading at its most harmless, in watts."""
    return volts * volts / (ohms + _CONTACT_OHMS)


def _judge_pair(
    circuit: Circuit, one: tuple[str, float], two: tuple[str, float], ohms: float
) -> Verdict:
    """Judge a path between two rails of different volts by both loads in series."""
    (net, volts), (to, far) = one, two
    apart = abs(volts - far)
    rows = rail_class(volts), rail_class(far)
    yardstick = f"{_yardstick(apart, ohms)}, between {net} and {to}"
    normal = sum(row.normal_ohms for row in rows)
    if ohms >= normal:
        return Verdict(
            "normal",
            (
                f"{yardstick}; through both loads such rails honestly read "
                f"{normal:g} ohms and more (common practice)",
            ),
        )
    limit = max(row.short_watts for row in rows)
    if _kindest_watts(apart, ohms) > limit:
        return Verdict(
            "short",
            (
                f"{yardstick}, more than either could carry ({limit:g} W, common "
                "practice): a path between the two, or both are down; read each to "
                "ground",
            ),
        )
    reasons = [
        f"{yardstick}; through both loads such rails read from "
        f"{sum(row.low_ohms for row in rows):g} ohms up (common practice)"
    ]
    if ohms < 2 * LEADS_OHMS:
        reasons.append(_LEAD_NOTE)
    return Verdict("cannot tell", tuple(reasons), _to_ground(circuit, net, to, ohms))


def _unknown_pair(
    circuit: Circuit, net: str, to: str, ohms: float, *, both: bool
) -> Verdict:
    """Judge between rails of one voltage, or where a voltage is unknown."""
    if ohms >= 20e3:
        return Verdict(
            "normal", (f"{_number(ohms)} ohms is no short between supply rails",)
        )
    because = (
        f"{net} and {to} have the same volts: no power tells a path between them"
        if both
        else "the voltage of one is not known; state it with --nominal"
    )
    return Verdict("cannot tell", (because,), _to_ground(circuit, net, to, ohms))
