"""The electrical network of a board in one state."""

import math
from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Circuit, Link, Stage
from ohmtrail.netanalysis.graph import CircuitView, view_of
from ohmtrail.netanalysis.inside_switches import chips_inside
from ohmtrail.netanalysis.network.board_state import AS_DRAWN, BoardState
from ohmtrail.netanalysis.network.elements import Junction, Network, Resistance
from ohmtrail.netanalysis.network.load_classes import rail_loads
from ohmtrail.netanalysis.network.part_models import part_elements
from ohmtrail.netanalysis.network.scene import Element, Scene
from ohmtrail.netanalysis.recognise.links import find_links

__all__ = ["board_scene", "build_network", "elements_of", "in_hand"]

#: A resistor from gate to source up to this is a pull-down (common practice).
_BLEED_OHMS = 100e3


def board_scene(circuit: Circuit, view: CircuitView | None = None) -> Scene:
    """Return what the part models look at, for a whole board.

    Notes
    -----
    O(parts + pins).
    """
    view = view if view is not None else view_of(circuit)
    links: dict[str, list[Link]] = {}
    for link in (*circuit.links, *find_links(view, fitted=False)):
        links.setdefault(link.ref, []).append(link)
    stages: dict[str, list[Stage]] = {}
    for stage in circuit.stages:
        for ref in chips_inside(view, stage):
            stages.setdefault(ref, []).append(stage)
    parts = [
        part
        for part in circuit.board.parts
        if view.fitted(part.ref) and view.kind(part.ref) in ("chip", "other")
    ]
    return Scene(
        view,
        {ref: tuple(found) for ref, found in links.items()},
        rail_loads(view, parts, circuit.links),
        {ref: tuple(found) for ref, found in stages.items()},
        _drivers(circuit, view),
        _bled(circuit, view),
    )


def _drivers(circuit: Circuit, view: CircuitView) -> dict[str, str | None]:
    """Return the source net of the switch that each driver pad drives."""
    found: dict[str, str | None] = {}
    for stage in circuit.stages:
        for chain in stage.gate_chains:
            if chain.driver_pin is None:
                continue
            pins = view.pins_with_role(chain.switch, "source", "emitter")
            gate = chain.gate.rpartition(".")[2]
            unit = view.unit(chain.switch, gate)
            mine = [p for p in pins if view.unit(p.ref, p.number) == unit] or pins
            found.setdefault(chain.driver_pin, mine[0].net if mine else None)
    return found


def _bled(circuit: Circuit, view: CircuitView) -> frozenset[str]:
    """Return the driver pads whose gates have a pull-down, 100k at most."""
    return frozenset(
        chain.driver_pin
        for stage in circuit.stages
        for chain in stage.gate_chains
        if chain.driver_pin is not None
        and any((view.ohms(ref) or math.inf) <= _BLEED_OHMS for ref in chain.pull_down)
    )


def build_network(
    circuit: Circuit,
    state: BoardState = AS_DRAWN,
    scene: Scene | None = None,
) -> Network:
    """Return all paths of a board in a state, one node a net.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    state : BoardState, optional
        By default the board as drawn.
    scene : Scene, optional
        From `board_scene`, where many states of one board are asked for.

    Returns
    -------
    Network
        A lifted part's lands stay points of their nets.

    Notes
    -----
    O(parts + pins).  To take a part out of a solved network, name its ref: every
    element carries it.
    """
    scene = scene if scene is not None else board_scene(circuit)
    view = scene.view
    elements: list[Element] = []
    for part in circuit.board.parts:
        here = view.fitted(part.ref) or part.ref in state.fitted
        if here and part.ref not in state.lifted:
            elements.extend(part_elements(scene, part))
    elements += [fault for fault in state.faults if fault.ref not in state.lifted]
    return _network([net.name for net in circuit.board.nets], elements)


def elements_of(scene: Scene, ref: str) -> tuple[Element, ...]:
    """Return the elements of one part on its board, whether lifted or not."""
    return tuple(part_elements(scene, scene.view.part(ref)))


def in_hand(scene: Scene, ref: str, faults: Iterable[Element] = ()) -> Network:
    """Return one part off the board: its elements between its own pins.

    Parameters
    ----------
    scene : Scene
        The board that it comes from (`board_scene`).
    ref : str
        The part; KeyError if there is none.
    faults : iterable of Resistance or Junction
        What is broken inside, between nodes ``REF.PIN``.

    Returns
    -------
    Network
        Nodes are named ``REF.PIN``.
    """
    part = scene.view.part(ref)
    bench = replace(scene, in_hand=True)
    nodes = [pin.key for pin in part.pins]
    return _network(nodes, [*part_elements(bench, part), *faults])


def _network(nodes: Iterable[str], elements: Iterable[Element]) -> Network:
    names = dict.fromkeys(nodes)
    resistances: list[Resistance] = []
    junctions: list[Junction] = []
    for one in elements:
        if isinstance(one, Resistance):
            resistances.append(one)
            names[one.a] = names[one.b] = None
        else:
            junctions.append(one)
            names[one.anode] = names[one.cathode] = None
    return Network(tuple(names), tuple(resistances), tuple(junctions))
