"""The values of the electrical view: resistive paths and junctions between nodes.

A node is a net, by its name, or a point inside a part ("U3#core").  Everything here
is for direct current: a capacitor is no path, a coil is a small resistance.  What no
file tells (a load, a driver's inner path) is a path too, with a wide range and
``assumed`` set, so that an answer can say what it rests on.
"""

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["CORNERS", "Junction", "Network", "Resistance"]

#: Which end of every range to take.  "low" is the board that reads lowest.
CORNERS = ("low", "typical", "high")


@dataclass(frozen=True, slots=True)
class Resistance:
    """A path that obeys Ohm's law."""

    #: Part that it belongs to.
    ref: str
    #: The two nodes.
    a: str
    b: str
    #: Usual resistance in ohms, and the range it may honestly have; 0 is allowed,
    #: ``inf`` means no path.  ``ohms_low <= ohms <= ohms_high``.
    ohms: float
    ohms_low: float
    ohms_high: float
    #: What the range rests on ("marked 10k, 1 %", "common practice: core rail load").
    because: str = ""
    #: True for what no file states.
    assumed: bool = False
    #: Narrower ends that an expected reading counts on (`likely`), None: the range's.
    likely: tuple[float, float] | None = None

    def at(self, corner: str) -> float:
        """Return the resistance in ohms at a corner of `CORNERS`."""
        if corner == "typical":
            return self.ohms
        return self.ohms_low if corner == "low" else self.ohms_high


@dataclass(frozen=True, slots=True)
class Junction:
    """A junction that conducts from anode to cathode.

    The law is Shockley's, fixed by the drop at 1 mA: ``i = Is (exp(v / (n Vt)) - 1)``
    with ``Is = 1 mA / (exp(drop / (n Vt)) - 1)``, and ``ohms_series`` in series.
    What conducts backwards from a voltage on (a Zener, a TVS) is a second `Junction`,
    cathode to anode, whose drop is that voltage.
    """

    ref: str
    anode: str
    cathode: str
    #: Drop at 1 mA in volts, and its honest range.
    volts: float
    volts_low: float
    volts_high: float
    #: Ideality factor n.
    emission: float = 1.0
    ohms_series: float = 0.0
    #: "body" "clamp" "silicon" "schottky" "led" "zener" "breakdown" "base".
    sort: str = "silicon"
    because: str = ""
    assumed: bool = False

    def at(self, corner: str) -> float:
        """Return the drop at 1 mA in volts at a corner of `CORNERS`."""
        if corner == "typical":
            return self.volts
        return self.volts_low if corner == "low" else self.volts_high


@dataclass(frozen=True, slots=True)
class Network:
    """All paths of one board in one state.

    ``nodes`` holds every node that an element names, and every net of the board, in
    a fixed order; answers never depend on that order.
    """

    nodes: tuple[str, ...]
    resistances: tuple[Resistance, ...] = ()
    junctions: tuple[Junction, ...] = ()

    def changed(
        self,
        *,
        without: Iterable[str] = (),
        add: Iterable[Resistance | Junction] = (),
    ) -> "Network":
        """Return the network with parts taken out and elements put in.

        Parameters
        ----------
        without : iterable of str
            Refs whose elements all go (a lifted part).
        add : iterable of Resistance or Junction
            What is put in (a fault, a fitted part); new nodes are appended.
        """
        gone = frozenset(without)
        added = tuple(add)
        nodes = dict.fromkeys(self.nodes)
        for one in added:
            ends = (
                (one.a, one.b)
                if isinstance(one, Resistance)
                else (one.anode, one.cathode)
            )
            nodes.update(dict.fromkeys(ends))
        return Network(
            tuple(nodes),
            (
                *(one for one in self.resistances if one.ref not in gone),
                *(one for one in added if isinstance(one, Resistance)),
            ),
            (
                *(one for one in self.junctions if one.ref not in gone),
                *(one for one in added if isinstance(one, Junction)),
            ),
        )
