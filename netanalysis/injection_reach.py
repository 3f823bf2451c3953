"""Which rails an injected current may reach, and the volts that follow from it."""

from dataclasses import dataclass

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.switch_paths import switch_paths

__all__ = ["InjectionReach", "injection_reach"]


@dataclass(frozen=True, slots=True)
class InjectionReach:
    """How far the short may lead."""

    #: Rails reached, nearest first, the injected net among them.
    rails: tuple[str, ...]
    #: Reached rails whose nominal voltage is not known.
    unknown: tuple[str, ...]
    #: Lowest nominal voltage of all rails reached, in volts; None while any is
    #: unknown.
    volts_max: float | None
    #: The rail that sets it.
    set_by: str | None


def _feeds_a_chip(view: CircuitView, net: str) -> bool:
    """Whether a chip is supplied from a net, though nothing calls it a rail."""
    return any(
        view.kind(pin.ref) == "chip" and view.role(pin.ref, pin.number) == "supply"
        for pin in view.pins(net)
    )


def injection_reach(circuit: Circuit, view: CircuitView, net: str) -> InjectionReach:
    """Return the rails that a short on a net may lead to, and the volts limit.

    Goes through links, discrete transistors and diodes, switches inside chips, and
    from a rail to what is made from it: any of them may be shorted.  A wrong high
    answer destroys loads, so an unknown voltage anywhere gives no limit at all.

    Notes
    -----
    O(pins + links + stages).
    """
    steps: dict[str, list[str]] = {}
    for link in circuit.links:
        steps.setdefault(link.net_a, []).append(link.net_b)
        steps.setdefault(link.net_b, []).append(link.net_a)
    for path in switch_paths(circuit, view):
        steps.setdefault(path.net_a, []).append(path.net_b)
        steps.setdefault(path.net_b, []).append(path.net_a)
    for rail in circuit.rails:
        for fed in rail.feeds:
            steps.setdefault(rail.net, []).append(fed)
            steps.setdefault(fed, []).append(rail.net)
    reached = {net: None}
    queue = [net]
    for here in queue:
        for other in steps.get(here, ()):
            if other not in reached and not view.is_ground(other):
                reached[other] = None
                queue.append(other)
    known = {rail.net: rail.volts for rail in circuit.rails}
    known.update(circuit.stated_volts)
    rails = tuple(
        one for one in reached if one in known or one == net or _feeds_a_chip(view, one)
    )
    unknown = tuple(one for one in rails if not known.get(one))
    limit: float | None = None
    set_by: str | None = None
    if not unknown:
        for one in rails:
            volts = known[one]
            assert volts is not None
            if limit is None or abs(volts) < limit:
                limit, set_by = abs(volts), one
    return InjectionReach(rails, unknown, limit, set_by)
