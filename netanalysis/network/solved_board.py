"""A board solved once, for any number of questions about it."""

from collections.abc import Iterable

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.network.awake import settled_clamps
from ohmtrail.netanalysis.network.board_state import AS_DRAWN, BoardState
from ohmtrail.netanalysis.network.build import board_scene, build_network, in_hand
from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.junction_batch import BatchSolver
from ohmtrail.netanalysis.network.likely import likely_network
from ohmtrail.netanalysis.network.meter import DEFAULT_METER, Meter
from ohmtrail.netanalysis.network.scene import Element, Scene
from ohmtrail.netanalysis.network.tolerance import Corners

__all__ = ["SolvedBoard"]


class SolvedBoard:
    """A circuit in one state under one meter, with its factorisations.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    state : BoardState, optional
        By default as drawn.
    meter : Meter, optional
        By default a common handheld.
    scene, network : optional
        Where they are there already; ``network`` also where ranges of it have been
        narrowed.

    Notes
    -----
    Nothing is factored before it is asked for.
    """

    def __init__(
        self,
        circuit: Circuit,
        state: BoardState = AS_DRAWN,
        meter: Meter = DEFAULT_METER,
        *,
        scene: Scene | None = None,
        network: Network | None = None,
    ) -> None:
        self.circuit = circuit
        self.state = state
        self.meter = meter
        self.scene = scene if scene is not None else board_scene(circuit)
        self.network = (
            network
            if network is not None
            else build_network(circuit, state, self.scene)
        )
        self._corners: Corners | None = None
        self._for_ohms: Network | None = None
        self._ohm_junctions: dict[str, BatchSolver] = {}
        self._likely: SolvedBoard | None = None
        self._junctions: dict[str, BatchSolver] = {}
        self._lifted: dict[frozenset[str], SolvedBoard] = {}
        self._elements: dict[str, list[Element]] | None = None

    @property
    def corners(self) -> Corners:
        """The network without its junctions, factored at every corner."""
        if self._corners is None:
            self._corners = Corners(self.network)
        return self._corners

    def junctions(self, corner: str) -> BatchSolver:
        """Return the solver for a corner, junctions included."""
        if corner not in self._junctions:
            linear = self.corners.solvers[corner]
            self._junctions[corner] = BatchSolver(self.network, corner, linear)
        return self._junctions[corner]

    @property
    def for_ohms(self) -> Network:
        """The network as resistance mode takes it (`awake.settled_clamps`)."""
        if self._for_ohms is None:
            self._for_ohms = settled_clamps(self.network)
        return self._for_ohms

    def ohm_junctions(self, corner: str) -> BatchSolver:
        """Return the solver of resistance mode for a corner, junctions included."""
        if corner == "high":
            return self.junctions(corner)
        if corner not in self._ohm_junctions:
            linear = self.corners.solvers[corner]
            self._ohm_junctions[corner] = BatchSolver(self.for_ohms, corner, linear)
        return self._ohm_junctions[corner]

    @property
    def likely(self) -> "SolvedBoard":
        """The board with what is assumed at its likely ends (`likely`)."""
        if self._likely is None:
            network = likely_network(self.network)
            self._likely = self
            if network is not self.network:
                self._likely = SolvedBoard(
                    self.circuit,
                    self.state,
                    self.meter,
                    scene=self.scene,
                    network=network,
                )
        return self._likely

    def elements(self, ref: str) -> list[Element]:
        """Return the elements of a part in this state."""
        if self._elements is None:
            self._elements = {}
            every: list[Element] = [*self.network.resistances, *self.network.junctions]
            for one in every:
                self._elements.setdefault(one.ref, []).append(one)
        return self._elements.get(ref, [])

    def lifted(self, refs: Iterable[str]) -> "SolvedBoard":
        """Return the board with parts taken off; the same board for the same parts."""
        gone = frozenset(refs) - self.state.lifted
        if not gone:
            return self
        if gone not in self._lifted:
            self._lifted[gone] = SolvedBoard(
                self.circuit,
                self.state.lift(gone),
                self.meter,
                scene=self.scene,
                network=self.network.changed(without=gone),
            )
        return self._lifted[gone]

    def hand(self, ref: str) -> "SolvedBoard":
        """Return one part off the board: its nodes are its pins, ``REF.PIN``."""
        return SolvedBoard(
            self.circuit,
            self.state,
            self.meter,
            scene=self.scene,
            network=in_hand(self.scene, ref),
        )
