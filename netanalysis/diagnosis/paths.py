"""Which paths every hypothesis has in common and nobody knows exactly.

The loads of the rails, the links between them (their winding's resistance bounds a
reading through them), and every part that was ever lifted.  All else stays as it is.
"""

import math
from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.least_volts import volts_at_least
from ohmtrail.netanalysis.network.elements import Network, Resistance
from ohmtrail.netanalysis.network.load_classes import UNKNOWN_LOAD, is_load
from ohmtrail.netanalysis.network.scene import Scene
from ohmtrail.netanalysis.own_ground import own_ground
from ohmtrail.netanalysis.switch_paths import switch_paths
from ohmtrail.netanalysis.verdict import rail_class

__all__ = [
    "CommonPath",
    "common_paths",
    "openings",
    "raised",
    "usual_paths",
    "usual_siemens",
]

#: More links than this are left at their usual value, the farthest ones.
_LINKS_MAX = 60
_LOADS_MAX = 40
#: A load may be this much higher than usual where no upper end is known.
_OPEN_FACTOR = 30.0
_LEAST_OHMS = 1e-4
#: What is left of a rail's load once a chip is off may be next to nothing, in ohms.
_NO_LOAD = 1e6
#: An idle driver output to its return, in ohms: usual, lowest, highest (TRADE).
_IDLE = (5e4, 1e3, 3e6)
#: Honest loads are now and then below their class.
_LOAD_SLACK = 0.8


@dataclass(frozen=True, slots=True)
class CommonPath:
    """One path with a range that the readings may narrow."""

    #: The part; of a rail's load the empty string: it stands for many.
    ref: str
    a: str
    b: str
    ohms: float
    ohms_low: float
    ohms_high: float
    #: The part in the hand that it belongs to; empty on the board.
    hand: str = ""

    def there(self, off: frozenset[str], hand: tuple[str, int] | None) -> bool:
        """Whether it is there with some parts off, or with one in the hand."""
        if self.hand:
            return hand is not None and hand[0] == self.hand
        return hand is None and self.ref not in off

    @property
    def is_load(self) -> bool:
        """Whether it lies beside a fault as a rail's load on the board does."""
        return not self.ref and not self.hand

    @property
    def logs(self) -> tuple[float, float, float]:
        """Logarithms of lowest, usual and highest resistance."""
        low = max(self.ohms_low, _LEAST_OHMS)
        usual = max(self.ohms, low)
        high = self.ohms_high
        if not math.isfinite(high):
            high = usual * _OPEN_FACTOR
        return math.log(low), math.log(usual), math.log(max(high, low * 1.01))


def common_paths(
    scene: Scene,
    circuit: Circuit,
    network: Network,
    asked: Iterable[str],
    moved: Iterable[str],
) -> tuple[tuple[CommonPath, ...], list[Resistance]]:
    """Divide a network into paths with a range of their own and fixed ones.

    Parameters
    ----------
    scene, circuit, network
        The board.
    asked : iterable of str
        Nets that have been read.
    moved : iterable of str
        Parts that were lifted or fitted.

    Returns
    -------
    common : tuple of CommonPath
    fixed : list of Resistance
    """
    moved = set(moved)
    asked = tuple(asked)
    near = _near(circuit, scene, asked)
    loads: dict[tuple[str, str], list[Resistance]] = {}
    links: list[Resistance] = []
    own: list[Resistance] = []
    fixed: list[Resistance] = []
    bounds = volts_at_least(circuit)
    for one in network.resistances:
        if not math.isfinite(one.ohms):
            continue
        if one.ref in moved:
            own.append(raised(one, scene, bounds) if is_load(one) else one)
        elif is_load(one):
            loads.setdefault((one.a, one.b), []).append(one)
        elif one.ref in scene.links and (one.a in near or one.b in near):
            links.append(one)
        else:
            fixed.append(one)
    _add_missing_loads(circuit, scene, loads)
    far = len(near) + 1
    links.sort(key=lambda one: min(near.get(one.a, far), near.get(one.b, far)))
    fixed += links[_LINKS_MAX:]
    groups = sorted(loads, key=lambda ends: min(near.get(end, far) for end in ends))
    for ends in groups[_LOADS_MAX:]:
        fixed += loads[ends]
    volts = {rail.net: rail.volts for rail in circuit.rails if rail.volts}
    common = [_one_load(ends, loads[ends], volts) for ends in groups[:_LOADS_MAX]]
    lightened = {one.a for one in own if is_load(one)} - set(circuit.ground)
    common = [
        replace(one, ohms_high=_NO_LOAD) if one.a in lightened else one
        for one in common
    ]
    common += [
        CommonPath(one.ref, one.a, one.b, one.ohms, one.ohms_low, one.ohms_high)
        for one in (*links[:_LINKS_MAX], *own)
    ]
    common += _driver_outputs(circuit, scene, frozenset(asked))
    return tuple(common), fixed


def _driver_outputs(
    circuit: Circuit, scene: Scene, asked: frozenset[str]
) -> list[CommonPath]:
    """Return what idle driver outputs carry, each one unknown for all its readings.

    TRADE: kilo-ohms and more, equal in sister stages; nobody knows beforehand.
    """
    view = scene.view
    found: dict[tuple[str, str], None] = {}
    for stage in circuit.stages:
        for chain in stage.gate_chains:
            gate_ref, _, number = chain.gate.rpartition(".")
            gate = view.net_of(gate_ref, number)
            unit = view.unit(gate_ref, number)
            source = view.net_with_role(gate_ref, "source", unit)
            drive = gate
            if chain.driver_pin is not None:
                ref, _, pin = chain.driver_pin.rpartition(".")
                drive = view.net_of(ref, pin)
            if drive is None or source is None or drive == source:
                continue
            if drive in asked or gate in asked:
                found[drive, source] = None
    return [CommonPath("", *ends, *_IDLE) for ends in found]


def _add_missing_loads(
    circuit: Circuit,
    scene: Scene,
    loads: dict[tuple[str, str], list[Resistance]],
) -> None:
    """Give every rail that nothing known loads a load of its class.

    What hangs behind a connector or in a chip whose pins say nothing loads it too.
    Adds to ``loads``.
    """
    loaded = {net for ends in loads for net in ends}
    _at_least(circuit, scene, loads)
    for rail in circuit.rails:
        if rail.net in loaded or scene.view.is_ground(rail.net) or not circuit.ground:
            continue
        low, usual, high = UNKNOWN_LOAD
        volts = rail.volts or volts_at_least(circuit).get(rail.net)
        if volts:
            row = rail_class(volts)
            low, usual, high = row.low_ohms, 3 * row.typical_ohms, math.inf
        ends = (rail.net, own_ground(scene.view, rail.net))
        one = Resistance("", *ends, usual, low, high, "load of the rail", True)
        loads[ends] = [one]


def _at_least(
    circuit: Circuit,
    scene: Scene,
    loads: dict[tuple[str, str], list[Resistance]],
) -> None:
    """Raise loads of rails of unknown volts to the class that they have at least."""
    bounds = volts_at_least(circuit)
    for ends in loads:
        together = _one_load(ends, loads[ends])
        factor = _floor_of(ends, scene, bounds) / max(together.ohms_low, _LEAST_OHMS)
        if factor > 1.0:
            loads[ends] = [
                _not_below(one, factor * one.ohms_low) for one in loads[ends]
            ]


def raised(one: Resistance, scene: Scene, bounds: Mapping[str, float]) -> Resistance:
    """Return a chip's own load, not below what its whole rail has at least."""
    return _not_below(one, _floor_of((one.a, one.b), scene, bounds))


def _floor_of(
    ends: tuple[str, str], scene: Scene, bounds: Mapping[str, float]
) -> float:
    """Return the least that a load may have by what its rail feeds, in ohms."""
    net = next((one for one in ends if one in bounds), None)
    if net is None or scene.view.is_ground(net):
        return 0.0
    return rail_class(bounds[net]).low_ohms * _LOAD_SLACK


def _not_below(one: Resistance, low: float) -> Resistance:
    if low <= one.ohms_low:
        return one
    return replace(one, ohms=max(one.ohms, low), ohms_low=low)


def _one_load(
    ends: tuple[str, str],
    paths: Iterable[Resistance],
    volts: Mapping[str, float] = MappingProxyType({}),
) -> CommonPath:
    """Take the loads of one rail together: a meter cannot tell them apart.

    A rail behind a bead may take all that its class may take, not its part by pins.
    """
    found = tuple(paths)
    least = min(
        (rail_class(volts[net]).low_ohms for net in ends if net in volts),
        default=math.inf,
    )

    def together(values: Iterable[float]) -> float:
        total = sum(1.0 / max(ohms, _LEAST_OHMS) for ohms in values)
        return 1.0 / total if total > 0 else math.inf

    return CommonPath(
        "",
        *ends,
        together(one.ohms for one in found),
        _LOAD_SLACK * min(least, together(one.ohms_low for one in found)),
        together(one.ohms_high for one in found),
    )


def _near(circuit: Circuit, scene: Scene, asked: Iterable[str]) -> dict[str, int]:
    """Return nets by their distance from what was read, over links and switches."""
    beside: dict[str, list[str]] = {}
    for link in circuit.links:
        beside.setdefault(link.net_a, []).append(link.net_b)
        beside.setdefault(link.net_b, []).append(link.net_a)
    for path in switch_paths(circuit, scene.view):
        beside.setdefault(path.net_a, []).append(path.net_b)
        beside.setdefault(path.net_b, []).append(path.net_a)
    start = [*asked, *(rail.net for rail in circuit.rails)]
    distance = dict.fromkeys(start, 0)
    queue = deque(start)
    while queue:
        here = queue.popleft()
        for other in beside.get(here, ()):
            if other not in distance and not scene.view.is_ground(other):
                distance[other] = distance[here] + 1
                queue.append(other)
    return distance


def usual_siemens(common: Sequence[CommonPath]) -> tuple[float, ...]:
    """Return what each path has on the board that is solved once, in siemens.

    Its usual value: what a reading says is then a small change of what was solved.
    Nothing for parts in the hand, and where no load is left when the links are off.
    """
    if all(path.ref or path.hand for path in common):
        return tuple(0.0 for _ in common)
    return tuple(0.0 if path.hand else math.exp(-path.logs[1]) for path in common)


def usual_paths(common: Sequence[CommonPath]) -> list[Resistance]:
    """Return the paths of `usual_siemens`."""
    return [
        Resistance(path.ref, path.a, path.b, 1 / g, 1 / g, 1 / g, "its usual value")
        for path, g in zip(common, usual_siemens(common), strict=True)
        if g
    ]


def openings(
    fixed: Iterable[Resistance], faults: Iterable[Fault]
) -> dict[str, tuple[tuple[tuple[str, str], float], ...]]:
    """Return what goes when a part goes open: by ref, node pairs and their siemens."""
    refs = {fault.ref for fault in faults if fault.open}
    made: dict[str, list[tuple[tuple[str, str], float]]] = {}
    for one in fixed:
        if one.ref in refs and one.a != one.b:
            siemens = 1.0 / max(one.ohms, 1e-4)
            made.setdefault(one.ref, []).append(((one.a, one.b), siemens))
    return {ref: tuple(found) for ref, found in made.items()}
