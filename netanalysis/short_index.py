"""What every question about a shorted net asks of one circuit, worked out once."""

from collections.abc import Mapping

from ohmtrail.netanalysis.circuit import Circuit, Kind
from ohmtrail.netanalysis.failure_rates import short_rate
from ohmtrail.netanalysis.graph import CircuitView, view_of
from ohmtrail.netanalysis.ground_like import ground_like
from ohmtrail.netanalysis.part_roles import RoleBook
from ohmtrail.netanalysis.polarity import is_p_type
from ohmtrail.netanalysis.switch_paths import switch_paths

__all__ = ["ShortIndex"]


class ShortIndex:
    """A circuit indexed for `find_short`; answers are remembered.

    Parameters
    ----------
    circuit : Circuit
        The board with what is recognised on it.
    view : CircuitView, optional
        The circuit's own, where the caller has it already.
    """

    def __init__(self, circuit: Circuit, view: CircuitView | None = None) -> None:
        self.circuit = circuit
        self.view = view_of(circuit) if view is None else view
        self.grounds = ground_like(self.view)
        self._book = RoleBook(circuit, self.view)
        self._beyond: dict[str, list[tuple[str, str]]] | None = None
        self._roles: dict[tuple[str, str], str] = {}
        self._weights: dict[tuple[str, str], float] = {}

    def beyond(self) -> Mapping[str, list[tuple[str, str]]]:
        """By net: (switch, net behind it) of every switch that can be shorted."""
        if self._beyond is None:
            made: dict[str, list[tuple[str, str]]] = {}
            for path in switch_paths(self.circuit, self.view):
                made.setdefault(path.net_a, []).append((path.ref, path.net_b))
                made.setdefault(path.net_b, []).append((path.ref, path.net_a))
            self._beyond = made
        return self._beyond

    def role(self, ref: str, net: str) -> str:
        """Return what the part does on this net; "" where nothing is known."""
        key = (ref, net)
        found = self._roles.get(key)
        if found is None:
            found = self._roles[key] = self._book.role(ref, net)
        return found

    def weight(self, ref: str, net: str, ends: frozenset[str] | None = None) -> float:
        """Return how likely a part is to hold this net down, relative to others.

        ``ends`` are the nets that it would have to be shorted to; by default
        ground and what is tied to it.
        """
        if ends is not None:
            return self._weigh(ref, net, ends)
        key = (ref, net)
        found = self._weights.get(key)
        if found is None:
            found = self._weights[key] = self._weigh(ref, net, self.grounds)
        return found

    def _weigh(self, ref: str, net: str, ends: frozenset[str]) -> float:
        view = self.view
        kind = view.kinds.get(ref, Kind("other", ""))
        return short_rate(view.part(ref), kind).weight * _share(view, ref, net, ends)


def _share(view: CircuitView, ref: str, net: str, ends: frozenset[str]) -> float:
    """How far a short of this part, seen from this net, can hold the net down.

    The factors are common practice; they only order the suspects.
    """
    kind = view.kind(ref)
    if any(net in (link.net_a, link.net_b) for link in view.links_of(ref)):
        # A link passes current anyway; only its case can short to something.
        return 0.01
    others = [other for other in view.nets(ref) if other != net]
    if kind in ("mosfet", "igbt", "bipolar"):
        pins = view.pins_on(ref, net)
        roles = {view.role(ref, pin.number) for pin in pins}
        if roles and roles <= {"gate", "base"}:
            return 0.3
        # Current enters an N-channel part at its drain: shorted, a switch pulls its
        # drain's net down to what hangs on its source, rarely the other way round.
        reverse = is_p_type(view, ref, view.unit(ref, pins[0].number) if pins else None)
        outlet = {"drain", "collector"} if reverse else {"source", "emitter"}
        return 0.3 if roles and roles <= outlet and not ends & set(others) else 1.0
    if kind == "chip":
        roles = {view.role(ref, pin.number) for pin in view.pins_on(ref, net)}
        return 1.0 if roles & {"supply", "input", "output", "switch"} else 0.3
    if len(others) == 1 and others[0] not in ends:
        return 0.3 if kind in ("diode", "zener", "tvs", "led") else 0.1
    return 1.0 if others else 0.0
