"""Between which nets a meter may wake a junction that nobody knows."""

from functools import cached_property

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["Junctions"]

#: Kinds with junctions that a meter can wake.
_SILICON = ("mosfet", "igbt", "bipolar", "diode", "zener", "tvs", "led", "chip")

#: Of these those that are no switch.
_WOKEN = ("diode", "zener", "tvs", "led", "chip")
#: Across these it is known what a good board reads, and a low reading counts.
_TELLING = ("resistor", "mosfet", "igbt", "bipolar")


class Junctions:
    """The junctions of a board, as far as its parts tell.

    Parameters
    ----------
    circuit : Circuit
    view : CircuitView
    """

    def __init__(self, circuit: Circuit, view: CircuitView) -> None:
        self._circuit, self._view = circuit, view

    @cached_property
    def refs(self) -> frozenset[str]:
        """Parts with junctions."""
        parts = (part.ref for part in self._circuit.board.parts)
        return frozenset(ref for ref in parts if self._view.kind(ref) in _SILICON)

    @cached_property
    def _gates(self) -> frozenset[str]:
        """Gates and the outputs of their drivers."""
        nets = set()
        for stage in self._circuit.stages:
            for chain in stage.gate_chains:
                for key in (chain.gate, chain.driver_pin):
                    ref, _, number = (key or "").rpartition(".")
                    if ref:
                        nets.add(self._view.net_of(ref, number))
        return frozenset(net for net in nets if net is not None)

    @cached_property
    def _known(self) -> frozenset[str]:
        """Nets of which it is known what they carry: rails and switch nodes."""
        nodes = {node for stage in self._circuit.stages for node in stage.switch_nodes}
        return frozenset({rail.net for rail in self._circuit.rails} | nodes)

    def across(self, a: str, b: str) -> bool:
        """Whether a junction that nobody knows may lie between two nets.

        A bootstrap diode or a driver's own supply pins: an ohmmeter reads kilo-ohms
        there or nothing, by its test voltage (TRADE).  Not between nets of which it is
        known what they carry, at a gate, or where a resistor or a switch lies across:
        there a leak may be a punched gate.
        """
        view = self._view
        if all(net in self._known or view.is_ground(net) for net in (a, b)):
            return False
        if not self._gates.isdisjoint((a, b)):
            return False
        shared = set(view.refs(a)) & set(view.refs(b))
        kinds = {view.kind(ref) for ref in shared}
        return kinds.isdisjoint(_TELLING) and not kinds.isdisjoint(_WOKEN)
