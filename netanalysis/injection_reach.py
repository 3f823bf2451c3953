"""Which rails an injected current may reach, and the volts that follow from it."""

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.injection_paths import (
    LINK,
    MADE,
    WIDE,
    Way,
    injection_ways,
    is_small,
    supply_nets,
)
from ohmtrail.netanalysis.injection_volts import lowest_nominals
from ohmtrail.netanalysis.recognise.links import find_links

__all__ = ["InjectionIndex", "InjectionReach", "ReachedRail", "injection_reach"]

#: What a diode in the way takes off at most, in volts (common practice: 0.35 to 0.7
#: in diode mode, more at full current).
_DIODE_VOLTS = 1.0
#: Parts that are no load: nothing in them is hurt by a rail's own voltage.
_PASSIVE = frozenset(("capacitor", "inductor", "bead", "fuse", "testpoint", "resistor"))


@dataclass(frozen=True, slots=True)
class ReachedRail:
    """One rail in reach, and what is known of it."""

    net: str
    #: Parts on the way to it, from the net injected into.
    via: tuple[str, ...]
    #: Lowest nominal volts by any evidence; None where unknown.
    volts: float | None
    because: str
    note: str = ""
    #: Where the voltage is unknown: no lower than this, in volts, for ``why``.
    at_least: float | None = None
    #: Why it needs no voltage, or why none can be given.
    why: str = ""
    #: Of the other sign than the net injected into.
    reversed: bool = False


@dataclass(frozen=True, slots=True)
class InjectionReach:
    """How far the short may lead."""

    #: Rails reached, nearest first, the injected net among them.
    rails: tuple[str, ...]
    #: Reached rails whose nominal voltage is not known, or is of the other sign.
    unknown: tuple[str, ...]
    #: Never above the lowest nominal voltage of all rails reached, in volts; None
    #: while any is unknown.
    volts_max: float | None
    #: The rail that sets it.
    set_by: str | None
    #: Parts on the way to that rail.
    via: tuple[str, ...] = ()
    #: Every rail reached, in the order of ``rails``, and what needs no voltage.
    details: tuple[ReachedRail, ...] = ()
    #: Connectors and batteries on the nets reached.
    outside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Place:
    #: Worse faults, rails made from others, faults, and parts on the way.
    cost: tuple[int, int, int, int]
    via: tuple[str, ...]


class InjectionIndex:
    """A circuit indexed once for questions about injection.

    Parameters
    ----------
    circuit, view
        The board with what is recognised on it, and its view.
    """

    def __init__(self, circuit: Circuit, view: CircuitView) -> None:
        self.circuit = circuit
        self.view = view
        self.supplies = supply_nets(circuit, view)
        self.nominals = lowest_nominals(circuit, view, self.supplies)
        self._swinging = {
            node for stage in circuit.stages for node in stage.switch_nodes
        }
        self._ways: dict[str, list[Way]] = {}
        for way in injection_ways(circuit, view, self.supplies):
            for net in way.entries:
                self._ways.setdefault(net, []).append(way)
        self._bounds = self._lower_bounds()
        #: Links that parts marked "not fitted" would make.
        self.not_fitted = find_links(view, fitted=False)

    def reach(
        self,
        net: str,
        off: frozenset[str] = frozenset(),
        apart: frozenset[str] = frozenset(),
    ) -> InjectionReach:
        """Return the rails that a short on a net may lead to, and the volts limit.

        Parameters
        ----------
        net : str
        off : frozenset of str, optional
            Parts that are off the board: nothing leads through them.
        apart : frozenset of str, optional
            Nets that no current gets to, as readings have shown.

        Notes
        -----
        O((pins + links) log nets) over the nets reached.
        """
        places = self._spread(net, off, apart)
        details = tuple(
            self._detail(one, place)
            for one, place in places.items()
            if one in self.supplies or one in self.nominals or one == net
        )
        details = tuple(self._other_sign(one, details[0]) for one in details)
        unknown = tuple(
            one.net
            for one in details
            if one.reversed
            or (one.volts is None and one.at_least is None and not one.why)
        )
        limit, setter = None, None
        if not unknown:
            for one in details:
                volts = one.at_least if one.volts is None else abs(one.volts)
                if volts is not None and (limit is None or volts < limit):
                    limit, setter = volts, one
        outside = dict.fromkeys(
            ref
            for one in places
            for ref in self.view.parts_on(one, "connector", "battery")
        )
        return InjectionReach(
            rails=tuple(
                one.net
                for one in details
                if not one.why or one.reversed or one.at_least or one is details[0]
            ),
            unknown=unknown,
            volts_max=limit,
            set_by=setter.net if setter is not None else None,
            via=setter.via if setter is not None else (),
            details=details,
            outside=tuple(outside),
        )

    def _spread(
        self, start: str, off: frozenset[str], apart: frozenset[str]
    ) -> dict[str, _Place]:
        """Reach nets by the least fault, then the fewest parts; a part only once."""
        best: dict[str, _Place] = {}
        used: set[Way] = set()
        heap = [((0, 0, 0, 0), 0, start, _Place((0, 0, 0, 0), ()))]
        pushed = 1
        while heap:
            _, _, here, place = heapq.heappop(heap)
            if here in best:
                continue
            best[here] = place
            wide, made, faults, steps = place.cost
            for way in self._ways.get(here, ()):
                if way in used or way.cut_by(off):
                    continue
                used.add(way)
                cost = (
                    wide + (way.level == WIDE),
                    made + (way.level == MADE),
                    faults + (way.level != LINK),
                    steps + 1,
                )
                via = (*place.via, way.ref) if way.ref else place.via
                for other in way.exits:
                    if other not in best and other not in apart:
                        heapq.heappush(heap, (cost, pushed, other, _Place(cost, via)))
                        pushed += 1
        return best

    def _detail(self, net: str, place: _Place) -> ReachedRail:
        nominal = self.nominals.get(net)
        if not place.via and net not in self.supplies and net in self._swinging:
            why = "a switch node: it swings as far as the rails reached"
            return ReachedRail(net, (), None, "", why=why)
        if nominal is not None and nominal.volts is not None:
            because, note = nominal.because, nominal.note
            return ReachedRail(net, place.via, nominal.volts, because, note)
        note = nominal.note if nominal is not None else ""
        at_least, why = self._bounds.get(net, (None, ""))
        if note:
            at_least, why = None, ""
        elif at_least is None and place.via and self._serves_only(net, place.via[-1]):
            why = f"nothing lives on it but {place.via[-1]}, dead if current gets there"
        return ReachedRail(net, place.via, None, "", note, at_least, why)

    def _other_sign(self, one: ReachedRail, first: ReachedRail) -> ReachedRail:
        """Mark a rail of the other sign: injection would reverse it.

        A net of unknown sign is injected into with plus.
        """
        if not one.volts or (one.volts > 0) == ((first.volts or 1.0) > 0):
            return one
        why = f"of the other sign than {first.net}: injection would reverse it"
        return replace(one, why=why, reversed=True)

    def _serves_only(self, net: str, ref: str) -> bool:
        """Whether nothing but one part, that is dead, could be hurt on a net."""
        rail = self.view.rails.get(net)
        if rail is not None and rail.feeds:
            return False
        island, seen = [net], {net}
        for here in island:
            for other, there in self._passed(here):
                if other != ref and there not in seen:
                    seen.add(there)
                    island.append(there)
        for here in island:
            for other in self.view.refs(here):
                if other != ref and self.view.kind(other) not in _PASSIVE:
                    return False
            if here != net and here in self.supplies:
                return False
        return True

    def _passed(self, net: str) -> Iterator[tuple[str, str]]:
        """Yield what small passives lead to, ground left out."""
        for link in self.view.links_at(net):
            yield link.ref, link.net_b if link.net_a == net else link.net_a
        for ref, other in self.view.neighbours(net, "resistor"):
            if is_small(self.view, ref) and not self.view.is_ground(other):
                yield ref, other

    def _lower_bounds(self) -> dict[str, tuple[float, str]]:
        """Volts below which a rail of unknown voltage cannot be, where that is sure.

        What hangs on a known positive rail through coils, beads, fuses and diodes in
        their forward direction alone is within the diodes' drops of it or above: a
        boost converter's output, for one.  A shunt, a zener or a resistor to anywhere
        would not change that; a switch or a resistor in the way would, and is not
        followed.
        """
        view = self.view
        heap = [
            (-one.volts, net, "")
            for net, one in self.nominals.items()
            if one.volts is not None and one.volts > 0
        ]
        heapq.heapify(heap)
        best: dict[str, tuple[float, str]] = {}
        while heap:
            below, net, why = heapq.heappop(heap)
            if net in best:
                continue
            best[net] = (-below, why)
            for link in view.links_at(net):
                other = link.net_b if link.net_a == net else link.net_a
                sure = link.always and link.kind in ("inductor", "bead", "fuse")
                if sure and view.fitted(link.ref) and not view.is_ground(other):
                    heapq.heappush(heap, (below, other, f"{link.ref} from {net}"))
            for ref in view.parts_on(net, "diode"):
                cathode = self._forward(ref, net)
                if cathode is not None and not view.is_ground(cathode):
                    drop = below + _DIODE_VOLTS
                    heapq.heappush(heap, (drop, cathode, f"{ref} from {net}"))
        return {net: one for net, one in best.items() if one[0] > 0 and one[1]}

    def _forward(self, ref: str, net: str) -> str | None:
        """Return the cathode of a single diode whose anode is this net.

        Only where pin names tell: a guess at a diode's direction bounds nothing.
        """
        ends = {}
        pins = [pin for pin in self.view.part(ref).pins if pin.net is not None]
        for pin in pins:
            role = self.circuit.roles.get((ref, pin.number))
            if role is None or role.inferred:
                return None
            ends[role.role] = pin.net
        if len(pins) != 2 or ends.get("anode") != net:
            return None
        return ends.get("cathode")


def injection_reach(circuit: Circuit, view: CircuitView, net: str) -> InjectionReach:
    """Return the rails that a short on a net may lead to, and the volts limit.

    For one question; `InjectionIndex` serves many.  A wrong high answer destroys
    loads, so an unknown voltage anywhere gives no limit at all.

    Notes
    -----
    O(pins + links + stages).
    """
    return InjectionIndex(circuit, view).reach(net)
