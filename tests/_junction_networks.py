"""Short ways to write networks with junctions, and random ones."""

from ohmtrail.netanalysis.network.elements import Junction, Network, Resistance

#: Drop at 1 mA and emission: Schottky, silicon, LED, Zener, TVS.
DROPS = [(0.2, 1.05), (0.35, 1.1), (0.5, 1.0), (0.6, 1.7), (0.65, 1.2), (1.9, 2.0)]
DROPS += [(5.1, 1.0), (24.0, 1.0)]


def r(a, b, ohms, ref="R1"):
    return Resistance(ref, a, b, ohms, ohms, ohms)


def d(anode, cathode, volts=0.6, n=1.0, ohms=0.0, ref="D1"):
    return Junction(ref, anode, cathode, volts, volts, volts, n, ohms)


def network(*elements):
    return Network(()).changed(add=elements)


def drawn(rng, nodes, resistances, junctions):
    """A network without any design: milliohms beside megohms, every sort of drop."""
    names = [f"n{k}" for k in range(nodes)]
    elements = []
    for k in range(resistances):
        a, b = rng.sample(names, 2)
        ohms = rng.choice([0.0, 10 ** rng.uniform(-3, 6), 10 ** rng.uniform(0, 4)])
        elements.append(r(a, b, ohms, f"R{k}"))
    for k in range(junctions):
        a, b = rng.sample(names, 2)
        drop, n = rng.choice(DROPS)
        elements.append(d(a, b, drop, n, rng.choice([0.0, 0.05, 2.0, 30.0]), f"D{k}"))
    return Network(tuple(names)).changed(add=elements)


def kirchhoff_error(net, answer, plus, minus):
    """Largest current that is unaccounted for at a node, over what rounding explains.

    Nodes at 0 ohms count as one.  A milliohm makes 1e-13 A out of the last digit of a
    volt: so much is allowed for each node, and 1e-9 of the test current.
    """
    root = {node: node for node in net.nodes}

    def top(node):
        while root[node] != node:
            node = root[node]
        return node

    for one in net.resistances:
        if one.ohms == 0.0:
            root[top(one.a)] = top(one.b)
    left = dict.fromkeys(net.nodes, 0.0)
    allowed = dict.fromkeys(net.nodes, 1e-9 * 1e-3)
    for one, amps in zip(net.resistances, answer.resistance_amps, strict=True):
        if one.ohms > 0.0:
            left[top(one.a)] -= amps
            left[top(one.b)] += amps
            volts = max(abs(answer.node_volts.get(x, 0.0)) for x in (one.a, one.b))
            for node in (one.a, one.b):
                allowed[top(node)] += 4e-16 * volts / one.ohms
    for one, amps in zip(net.junctions, answer.junction_amps, strict=True):
        left[top(one.anode)] -= amps
        left[top(one.cathode)] += amps
    left[top(plus)] += answer.amps
    left[top(minus)] -= answer.amps
    return max(abs(left[node]) / allowed[node] for node in left)
