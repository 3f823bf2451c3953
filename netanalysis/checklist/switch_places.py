"""Where each switch of a stage sits: its pins, its side, its mates."""

from dataclasses import dataclass, replace

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.points import Probe
from ohmtrail.netanalysis.circuit import GateChain, Stage
from ohmtrail.netanalysis.polarity import is_p_type

__all__ = ["Switch", "switches_of"]

_CONTROL = ("gate", "base")
_SOURCE = ("source", "emitter")
_DRAIN = ("drain", "collector")


@dataclass(frozen=True, slots=True)
class Switch:
    """One transistor of a stage."""

    ref: str
    #: "high side", "low side" or "pass".
    side: str
    #: Number among its side's switches, from 1.
    number: int
    gate: Probe | None
    source: Probe | None
    drain: Probe | None
    p_channel: bool
    #: A MOSFET has a body diode; bipolars and IGBTs need none.
    has_body_diode: bool
    chain: GateChain | None
    #: The whole parallel set that it is in, itself included.
    mates: tuple[str, ...]

    @property
    def row(self) -> str:
        """Name of its place, the same in sister stages."""
        return f"{self.side} {self.number}"


def _side(stage: Stage, ref: str, drain: str | None, source: str | None) -> str:
    high, low = ref in stage.high_side, ref in stage.low_side
    if not stage.switch_nodes:
        return "pass"
    if high and low:
        # Both switches in one package: told apart by what they hang on.
        on_input = {drain, source} & {stage.input, stage.input_rail} - {None}
        return "high side" if on_input else "low side"
    return "high side" if high else "low side"


def _unit_of(bench: Bench, ref: str, gate: Probe | None) -> int | None:
    if gate is None or gate.pin is None:
        return None
    return bench.view.unit(ref, gate.pin.number)


def _first(
    bench: Bench, ref: str, roles: tuple[str, ...], unit: int | None
) -> Probe | None:
    for pin in bench.view.pins_with_role(ref, *roles, unit=unit):
        if pin.net is not None:
            return bench.points.of(pin)
    return None


def _make(
    bench: Bench, stage: Stage, ref: str, chain: GateChain | None, unit: int | None
) -> Switch:
    view = bench.view
    gate = bench.points.key(chain.gate) if chain is not None else None
    if gate is None:
        gate = _first(bench, ref, _CONTROL, unit)
    source = _first(bench, ref, _SOURCE, unit)
    drain = _first(bench, ref, _DRAIN, unit)
    mates: tuple[str, ...] = (ref,)
    for one in bench.circuit.parallel_sets:
        if ref in one.parts:
            mates = one.parts
            break
    return Switch(
        ref=ref,
        side=_side(
            stage,
            ref,
            drain.net if drain is not None else None,
            source.net if source is not None else None,
        ),
        number=0,
        gate=gate,
        source=source,
        drain=drain,
        p_channel=is_p_type(view, ref, unit),
        has_body_diode=view.kind(ref) == "mosfet",
        chain=chain,
        mates=mates,
    )


def switches_of(bench: Bench, stage: Stage) -> tuple[Switch, ...]:
    """Return the discrete switches of a stage, high side first.

    Diodes that act as a switch, and chips with the switches inside, are left out.
    """
    kinds = ("mosfet", "igbt", "bipolar")
    found: list[Switch] = []
    seen: set[tuple[str, int | None]] = set()
    for chain in stage.gate_chains:
        if bench.view.kind(chain.switch) not in kinds:
            continue
        unit = _unit_of(bench, chain.switch, bench.points.key(chain.gate))
        found.append(_make(bench, stage, chain.switch, chain, unit))
        seen.add((chain.switch, unit))
    known = {ref for ref, _ in seen}
    for ref in dict.fromkeys((*stage.high_side, *stage.low_side)):
        if bench.view.kind(ref) in kinds and ref not in known:
            found.append(_make(bench, stage, ref, None, None))
    order = {"high side": 0, "pass": 1, "low side": 2}
    found.sort(key=lambda one: order[one.side])
    count: dict[str, int] = {}
    numbered = []
    for one in found:
        count[one.side] = count.get(one.side, 0) + 1
        numbered.append(replace(one, number=count[one.side]))
    return tuple(numbered)
