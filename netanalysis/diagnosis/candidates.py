"""Which readings are worth thinking about next, given who is suspected."""

import math
from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import GateChain, Stage
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.costs import READ_SECONDS
from ohmtrail.netanalysis.diagnosis.fed_nets import fed_nets
from ohmtrail.netanalysis.diagnosis.power_evidence import failed_before
from ohmtrail.netanalysis.diagnosis.reading_noise import Noise, noise_of
from ohmtrail.netanalysis.diagnosis.readings import Current, Reading, State
from ohmtrail.netanalysis.probe_points import ProbePoint

__all__ = [
    "Candidate",
    "chain_pairs",
    "channel_pads",
    "readings_worth",
    "usual_pairs",
]

#: How often the same two points are read in one state of the board.
_AGAIN = {"resistance": 2, "four-wire": 3, "drop": 3, "diode": 1}
#: What the last of four digits leaves open, as a share of the reading.
_DIGITS = 2e-4
#: From here on the last of four digits is coarser than the copper of a rail, in ohms.
_COARSE_OHMS = 5.0
#: From here on it counts a milliohm; once so many readings of a rail are alike by it,
#: its pads all read the same.
_MILLIOHM_DIGIT_OHMS, _ALIKE_COUNT = 1.0, 8
#: Less than two of these digits apart is alike, in ohms.
_ONE_DIGIT_OHMS = 1.5e-3
#: Suspects that get readings of their own.
_SUSPECTS_MAX = 48


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that could be taken."""

    reading: Reading
    #: What it is about, in words.
    about: str
    seconds: float = READ_SECONDS
    #: The part when it is measured off the board.
    part: str | None = None
    key: tuple[object, ...] = field(default=(), compare=False)


def chain_pairs(case: Case, chain: GateChain) -> Iterator[tuple[Pin, Pin, str]]:
    """Yield what is read along a gate chain: (red, black, about)."""
    view = case.view
    gate = _pin(case, chain.gate)
    if gate is None:
        return
    unit = view.unit(gate.ref, gate.number)
    source = next(
        iter(view.pins_with_role(gate.ref, "source", "emitter", unit=unit)), None
    )
    if source is not None:
        yield gate, source, f"gate of {gate.ref} to its source"
    driver = _pin(case, chain.driver_pin) if chain.driver_pin else None
    if driver is not None and source is not None and driver.net != source.net:
        yield driver, source, f"driver output {driver.key} of {gate.ref}'s gate"
    for ref in (*chain.series, *chain.turn_off):
        pins = view.part(ref).pins
        if len(pins) == 2 and view.kind(ref) == "resistor":
            yield pins[0], pins[1], f"gate resistor {ref}"


def _pin(case: Case, key: str) -> Pin | None:
    ref, _, number = key.rpartition(".")
    part = case.circuit.board.part_by_ref.get(ref)
    return part.pin(number) if part is not None else None


def usual_pairs(case: Case) -> Iterator[tuple[str, str]]:
    """Yield the node pairs of every reading that `readings_worth` may propose."""
    for rail in case.circuit.rails:
        if not case.view.is_ground(rail.net) and case.ground:
            yield rail.net, case.ground_of(rail.net)
    for stage in case.circuit.stages:
        for chain in stage.gate_chains:
            for red, black, _ in chain_pairs(case, chain):
                if red.net is not None and black.net is not None:
                    yield red.net, black.net
    for part in case.circuit.board.parts:
        if case.view.kind(part.ref) in ("mosfet", "igbt", "bipolar"):
            for red, black in channel_pads(case, part.ref):
                if red.net is not None and black.net is not None:
                    yield red.net, black.net


def channel_pads(case: Case, ref: str) -> Iterator[tuple[Pin, Pin]]:
    """Yield the drain and source pads of a switch, of each one in its package."""
    view = case.view
    for unit in view.units(ref):
        far = view.pins_with_role(ref, "drain", "collector", unit=unit)
        near = view.pins_with_role(ref, "source", "emitter", unit=unit)
        if far and near and far[0].net != near[0].net:
            yield far[0], near[0]


def _gate(case: Case, ref: str) -> Iterator[tuple[Pin, Pin]]:
    view = case.view
    for unit in view.units(ref):
        gate = view.pins_with_role(ref, "gate", "base", unit=unit)
        near = view.pins_with_role(ref, "source", "emitter", unit=unit)
        if gate and near and gate[0].net != near[0].net:
            yield gate[0], near[0]


class _Maker:
    """Makes candidates, and leaves out what was read or cannot be reached."""

    def __init__(self, case: Case, have: frozenset[str]) -> None:
        self.case = case
        self.have = have
        self.done: dict[tuple[object, ...], int] = {}
        self.never: set[tuple[str, frozenset[str]]] = set()
        #: The least that was read between nets, in ohms.
        self.least: dict[tuple[frozenset[str | None], State], float] = {}
        self.alike = _alike_pairs(case.readings)
        for one in case.readings:
            key = self.key(one)
            self.done[key] = self.done.get(key, 0) + 1
            if one.mode in ("resistance", "four-wire"):
                ends = frozenset((one.plus.net, one.minus.net)), one.state
                self.least[ends] = min(one.value, self.least.get(ends, math.inf))
        for event in case.log.events:
            if event.unreachable and event.plus is not None and event.minus is not None:
                points = frozenset((str(event.plus), str(event.minus)))
                self.never.add((event.mode, points))
        self.made: dict[tuple[object, ...], Candidate] = {}

    @staticmethod
    def key(one: Reading) -> tuple[object, ...]:
        # Two-wire readings of one pair of nets are one reading wherever they land.
        near = one.mode in ("four-wire", "drop") or one.state.hand is not None
        points = (
            (str(one.plus), str(one.minus)) if near else (one.plus.net, one.minus.net)
        )
        return (one.mode, frozenset(points), one.state)

    def add(
        self,
        mode: str,
        plus: Pin | str,
        minus: Pin | str,
        about: str,
        *,
        hand: tuple[str, int] | None = None,
        current: Current | None = None,
        again: bool = True,
    ) -> None:
        if mode not in self.have:
            return
        red, black = (
            ProbePoint(one) if isinstance(one, str) else ProbePoint(one.net, one)
            for one in (plus, minus)
        )
        if red.net is None or black.net is None or red.net == black.net:
            return
        state = State(hand=hand) if hand is not None else self.case.now
        reading = Reading(
            0,
            mode,
            red,
            black,
            math.nan,
            state,
            _usual(mode, current.amps if current is not None else None),
            current.ends if current is not None else None,
            current.line if current is not None else 0,
        )
        if self.case.ends(reading) not in self.case.columns:
            return
        ends = frozenset((red.net, black.net)), state
        if mode == "four-wire" and (
            ends[0] in self.alike or self.least.get(ends, 0.0) > _COARSE_OHMS
        ):
            # The last digit is coarser than the copper: all pads read the same.
            return
        key = self.key(reading)
        points = frozenset((str(red), str(black)))
        count = self.done.get(key, 0)
        if (mode, points) in self.never or count >= (_AGAIN[mode] if again else 1):
            return
        if key not in self.made:
            part = hand[0] if hand is not None else None
            self.made[key] = Candidate(reading, about, part=part, key=key)


def _alike_pairs(readings: Iterable[Reading]) -> set[frozenset[str | None]]:
    """Return the nets between which milliohm readings show no copper any more.

    Whatever was lifted meanwhile: as long as the digits stay it was nothing to them.
    """
    found: dict[frozenset[str | None], list[float]] = {}
    for one in readings:
        if one.mode == "four-wire" and one.state.hand is None:
            ends = frozenset((one.plus.net, one.minus.net))
            found.setdefault(ends, []).append(one.value)
    return {
        ends
        for ends, values in found.items()
        if values[-1] >= _MILLIOHM_DIGIT_OHMS
        and len(values) >= _ALIKE_COUNT
        and _span(values[-_ALIKE_COUNT:]) < _ONE_DIGIT_OHMS
    }


def _span(values: Sequence[float]) -> float:
    return max(values) - min(values)


def _usual(mode: str, amps: float | None) -> Noise:
    value = {"resistance": 10.0, "diode": 0.01, "four-wire": 0.1, "drop": 0.1}[mode]
    step = {"resistance": 0.1, "diode": 1e-3, "four-wire": 1e-4, "drop": 1e-4}[mode]
    found = noise_of(mode, value, step, amps or 1.0)
    assert found is not None
    if mode == "four-wire":
        return found._replace(relative=_DIGITS)
    return found


def readings_worth(
    case: Case,
    suspects: Iterable[str],
    have: Iterable[str],
    injection: Current | None = None,
) -> list[Candidate]:
    """Return the readings that could tell the suspects apart.

    Parameters
    ----------
    case : Case
    suspects : iterable of str
        Refs, likeliest first.
    have : iterable of str
        Meter modes at hand.
    injection : Current, optional
        That is being injected now, or could be.
    """
    maker = _Maker(case, frozenset(have))
    view = case.view
    refs = list(dict.fromkeys(suspects))[:_SUSPECTS_MAX]
    for rail in case.circuit.rails:
        if not view.is_ground(rail.net):
            ground = case.ground_of(rail.net)
            maker.add("resistance", rail.net, ground, f"{rail.net} to ground")
    for ref in sorted(case.now.off):
        piece = case.piece(ref)
        if view.part(ref) is not None and ref not in case.fresh:
            for red, black in (*_gate(case, ref), *channel_pads(case, ref)):
                words = f"{ref} in the hand"
                maker.add("resistance", red, black, words, hand=(ref, piece))
            for red, black in _two_ends(case, ref):
                words = f"{ref} in the hand"
                maker.add("resistance", red, black, words, hand=(ref, piece))
    wanted = set(refs)
    fed = fed_nets(case) if failed_before(case) else frozenset()
    for ref in refs:
        if ref in case.now.off:
            continue
        for red, black in channel_pads(case, ref):
            for mode in ("resistance", "four-wire"):
                maker.add(mode, red, black, f"{ref} drain to source")
        for red, black in _gate(case, ref):
            maker.add("resistance", red, black, f"{ref} gate to source")
        for red, black in _inner_channel(case, ref):
            maker.add("resistance", red, black, f"{ref} from {red.net} to {black.net}")
        for red, black in _across(case, ref, fed):
            maker.add("resistance", red, black, f"{ref} from {red.net} to {black.net}")
        for red, black in _ends_at_ground(case, ref):
            maker.add("four-wire", red, black, f"{red.net} at {ref}'s own pads")
            if injection is not None and {red.net, black.net} == set(injection.ends):
                words = f"drop across {ref}'s own pads"
                maker.add("drop", red, black, words, current=injection)
    for stage in case.circuit.stages:
        for chain in stage.gate_chains:
            driver = chain.driver_pin.rpartition(".")[0] if chain.driver_pin else ""
            if wanted & {chain.switch, driver, *chain.series, *chain.turn_off}:
                for red, black, about in chain_pairs(case, chain):
                    maker.add("resistance", red, black, about)
        if wanted & {*stage.high_side, *stage.low_side}:
            for ref, red, black in _beyond_the_coil(case, stage):
                about = f"{red.net} at {ref}'s own pads, beyond the coil"
                maker.add("four-wire", red, black, about)
    return list(maker.made.values())


def _beyond_the_coil(case: Case, stage: Stage) -> Iterator[tuple[str, Pin, Pin]]:
    """Yield the pads of what a stage feeds.

    A coil's winding between the two readings tells on which side of it the current
    ends, however low the rail is by nature.
    """
    for rail in case.circuit.rails:
        if rail.net in (stage.output_rail, stage.output):
            for ref in rail.loads:
                if ref in case.now.off or case.view.kind(ref) != "chip":
                    continue
                for red, black in _ends_at_ground(case, ref):
                    if red.net == rail.net:
                        yield ref, red, black
                        return


def _two_ends(case: Case, ref: str) -> Iterator[tuple[Pin, Pin]]:
    pins = case.view.part(ref).pins
    if len(pins) == 2:
        yield pins[0], pins[1]
    elif case.view.kind(ref) == "chip":
        yield from _ends_at_ground(case, ref)


def _inner_channel(case: Case, ref: str) -> Iterator[tuple[Pin, Pin]]:
    """Yield the pads of a chip's inner switch: input and output, or switch pin."""
    view = case.view
    if view.kind(ref) != "chip":
        return
    for fault in case.faults_of(ref):
        for way in fault.paths:
            if not view.is_ground(way.a) and not view.is_ground(way.b):
                pads = view.pins_on(ref, way.a)[:1], view.pins_on(ref, way.b)[:1]
                yield from zip(*pads, strict=False)


def _across(case: Case, ref: str, fed: AbstractSet[str]) -> Iterator[tuple[Pin, Pin]]:
    """Yield the pads that a short in a part would tie to ground, rails or not.

    A driver's own supply and a bootstrap node are no rails, and hold the supply at its
    limit all the same; a sense line does not.  What they read when healthy nobody
    knows: no reading for them while nothing has failed.
    """
    view = case.view
    if view.kind(ref) not in ("chip", "capacitor", "tvs", "zener"):
        return
    for fault in case.faults_of(ref):
        for way in fault.paths:
            grounded = view.is_ground(way.a) != view.is_ground(way.b)
            if grounded and (way.a in fed or way.b in fed):
                red, black = (view.pins_on(ref, net)[:1] for net in (way.a, way.b))
                yield from zip(red, black, strict=False)


def _ends_at_ground(case: Case, ref: str) -> Iterator[tuple[Pin, Pin]]:
    """Yield a part's own pads between each rail that it holds and ground."""
    view = case.view
    if view.kind(ref) in ("mosfet", "igbt", "bipolar", "resistor", "inductor"):
        return
    black = next((pin for pin in view.part(ref).pins if view.is_ground(pin.net)), None)
    if black is None:
        return
    seen: set[str] = set()
    for pin in view.part(ref).pins:
        if pin.net is None or view.is_ground(pin.net) or pin.net in seen:
            continue
        if pin.net in view.rails or len(view.part(ref).pins) == 2:
            seen.add(pin.net)
            yield pin, black
