"""Healthy boards drawn at random from the ranges of their networks.

Every resistance and drop is drawn within its own range (clamps of chips from their
usual drop up, see `awake.settled_clamps`), what may be absent is absent now and then,
and loads lie about the usual one of their class: the whole range, not only the likely
part of it that the expected reading counts on.
"""

import math
from dataclasses import replace

from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.load_classes import is_load, is_unknown_load


def healthy_network(network, rng):
    """Draw a healthy board from the ranges of its network."""

    def between(r):
        low, high = r.ohms_low, r.ohms_high
        if is_load(r) and not is_unknown_load(r):
            return low * (r.ohms / low) ** (2 * rng.random())
        if math.isinf(high):
            return math.inf if rng.random() < 0.2 else low * 10 ** rng.uniform(0, 4)
        return low * (high / low) ** rng.random()

    return Network(
        network.nodes,
        tuple(
            replace(r, ohms=ohms, ohms_low=ohms, ohms_high=ohms)
            for r in network.resistances
            for ohms in [between(r)]
        ),
        tuple(
            replace(j, volts=volts, volts_low=volts, volts_high=volts)
            for j in network.junctions
            for volts in [rng.uniform(j.volts_low, j.volts_high)]
        ),
    )


def probed_pairs(circuit, view):
    """Across every resistor, and gate to source of every switch."""
    for part in circuit.board.parts:
        nets = view.nets(part.ref)
        if not view.fitted(part.ref):
            continue
        if view.kind(part.ref) == "resistor" and len(nets) == 2:
            yield nets[0], nets[1]
        elif view.kind(part.ref) == "mosfet":
            gate = view.net_with_role(part.ref, "gate")
            source = view.net_with_role(part.ref, "source")
            if gate is not None and source is not None and gate != source:
                yield gate, source
