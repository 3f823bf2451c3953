"""The board as ngspice sees it, in one state; voltages under injected currents."""

import random
from collections.abc import Iterable

from bench.copper import Copper, lay
from bench.model import Board
from bench.spice import Spice
from bench.truth import Truth

__all__ = ["MODELS", "Circuit"]

#: Junctions: volts at 1 mA are about 0.50 (body), 0.63 (clamp), 0.6 (diode),
#: 0.2 (Schottky), 1.75 (LED); bulk resistance included.  Common practice.
MODELS = (
    ".model body d is=2e-11 n=1.1 rs=0.01",
    ".model clamp d is=4e-14 n=1.02 rs=8",
    ".model diode d is=2e-13 n=1.05 rs=0.5",
    ".model schottky d is=5e-7 n=1.03 rs=0.1",
    ".model tvs d is=1e-12 n=1.08 rs=0.1",
    ".model led d is=1e-18 n=1.95 rs=2",
)
#: An element below this keeps its two pads as nodes of their own.
_LOW_OHMS = 100.0

Pad = tuple[str, str]


class Circuit:
    """Voltages of a board; the deck is made anew when the board changes.

    Parameters
    ----------
    board, truth : Board, Truth
        The board and its inside.
    seed : int
        Draws the copper.
    """

    def __init__(self, board: Board, truth: Truth, seed: int) -> None:
        self.board, self.truth = board, truth
        self.copper: Copper = lay(board, seed)
        self._rng = random.Random(f"touch/{board.name}/{seed}")
        self._nets = board.nets()
        self.lifted: set[str] = set()
        self._spice: Spice | None = None
        self._own: dict[Pad, str] = {}
        self.elements: list[tuple[str, str, str, float, str]] = []
        self.solves = 0

    def changed(self) -> None:
        """Say that a part was lifted, fitted or died."""
        self._spice = None

    def touch(self, net: str) -> Pad:
        """Return a pad of a net, wherever it is convenient."""
        pads = self._nets[net]
        fitted = [pad for pad in pads if pad[0] not in self.lifted]
        return self._rng.choice(fitted or pads)

    def net_of(self, pad: Pad) -> str:
        """Return the net of a pad."""
        return self.board.parts[pad[0]].net(pad[1])

    def volts(
        self, amps: float, plus: Pad, minus: Pad, read: Iterable[Pad] = ()
    ) -> list[float]:
        """Return volts at pads, the two probes first, while current goes through.

        The reference is ground's copper; what is wanted are differences.
        """
        spice = self._get()
        ends = [(plus, amps), (minus, -amps)]
        nodes = {pad: self._own.get(pad) or self.copper.node[pad] for pad, _ in ends}
        others = list(read)
        for pad in others:
            nodes[pad] = self._own.get(pad) or self.copper.node[pad]
        flow: dict[str, float] = {}
        for pad, value in ends:
            flow[nodes[pad]] = flow.get(nodes[pad], 0.0) + value
        flow.pop("0", None)
        found = spice.volts(flow, nodes.values())
        self.solves += 1
        # a pad at the end of the copper adds its own way in
        out = []
        for pad, value in ends:
            drop = 0.0 if pad in self._own else value * self.copper.hang[pad]
            out.append(found[nodes[pad]] + drop)
        return out + [found[nodes[pad]] for pad in others]

    def heat(self, amps: float, plus: Pad, minus: Pad) -> dict[str, float]:
        """Return the watts in each part while current goes through."""
        spice = self._get()
        at = [self._own.get(pad) or self.copper.node[pad] for pad in (plus, minus)]
        flow = {at[0]: amps}
        flow[at[1]] = flow.get(at[1], 0.0) - amps
        flow.pop("0", None)
        rows = [row for row in self.elements if row[0] == "R"]
        found = spice.volts(flow, {node for row in rows for node in row[1:3]})
        watts: dict[str, float] = {}
        for _, one, other, ohms, ref in rows:
            watts[ref] = watts.get(ref, 0.0) + (found[one] - found[other]) ** 2 / ohms
        return watts

    def _get(self) -> Spice:
        if self._spice is None or Spice.current is not self._spice:
            self._spice = self._build()
        return self._spice

    def _build(self) -> Spice:
        cards = [*MODELS, *self.copper.cards]
        self._own, self.elements = {}, []
        for ref in self.board.parts:
            if ref in self.lifted:
                continue
            for count, edge in enumerate(self.truth.edges(ref)):
                ends = []
                low = edge.kind == "R" and edge.value < _LOW_OHMS
                for pin in (edge.one, edge.other):
                    pad = (ref, pin)
                    if low and pad not in self._own:
                        own = f"p{ref}_{pin}".lower()
                        self._own[pad] = own
                        node, hang = self.copper.node[pad], self.copper.hang[pad]
                        cards.append(f"rp_{ref}_{pin} {node} {own} {hang:.6g}")
                    ends.append(self._own.get(pad) or self.copper.node[pad])
                name = f"{ref}_{count}"
                if edge.kind == "R":
                    ohms = max(edge.value, 1e-5)
                    cards.append(f"r_{name} {ends[0]} {ends[1]} {ohms:.9g}")
                    self.elements.append(("R", ends[0], ends[1], ohms, ref))
                else:
                    # "off": ngspice starts from 0 V, which saves most of the steps
                    tail = f"{edge.model} area={edge.value:.6g} off"
                    cards.append(f"d_{name} {ends[0]} {ends[1]} {tail}")
        probes = {*self.copper.node.values(), *self._own.values()} - {"0"}
        return Spice(cards, sorted(probes))
