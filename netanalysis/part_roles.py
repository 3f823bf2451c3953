"""What a part does on a net, in a few words of the trade."""

from collections.abc import Iterable

from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["RoleBook"]

#: Field of a stage -> what its parts are called.
_POSITIONS = (
    ("high_side", "high side"),
    ("low_side", "low side"),
    ("inductors", "inductor"),
    ("current_sense", "current sense"),
    ("bootstrap", "bootstrap"),
    ("snubber", "snubber"),
    ("input_caps", "input capacitor"),
    ("output_caps", "output capacitor"),
)

_CLAMPS = ("tvs", "zener")


def _stage_roles(stage: Stage) -> Iterable[tuple[str, str]]:
    for chain in stage.gate_chains:
        for ref in chain.series:
            yield ref, "gate resistor"
        for ref in chain.turn_off:
            yield ref, "turn-off path"
        for ref in chain.pull_down:
            yield ref, "gate pull-down"
    for attribute, words in _POSITIONS:
        for ref in getattr(stage, attribute):
            yield ref, words
    if stage.driver is not None and stage.driver == stage.controller:
        yield stage.driver, "controller and driver"
    else:
        if stage.driver is not None:
            yield stage.driver, "driver"
        if stage.controller is not None:
            yield stage.controller, "controller"


class RoleBook:
    """Looks up what a part does on a net.

    Built once for a circuit, in time linear in its stages; a look-up costs the
    part's pins.
    """

    def __init__(self, circuit: Circuit, view: CircuitView) -> None:
        self._view = view
        self._places: dict[str, list[str]] = {}
        self._rails = {rail.net for rail in circuit.rails}
        for stage in circuit.stages:
            for ref, words in _stage_roles(stage):
                known = self._places.setdefault(ref, [])
                if words not in known:
                    known.append(words)

    def place(self, ref: str) -> str:
        """Return the part's position in its stages ("high side"), or ""."""
        return ", ".join(self._places.get(ref, ()))

    def role(self, ref: str, net: str) -> str:
        """Return what the part does on this net; "" where nothing is known."""
        view = self._view
        pins = dict.fromkeys(
            view.role(ref, pin.number) for pin in view.pins_on(ref, net)
        )
        words = [self.place(ref), " and ".join(word for word in pins if word)]
        found = ": ".join(word for word in words if word)
        return found or self._plain(ref, net)

    def _plain(self, ref: str, net: str) -> str:
        view = self._view
        kind = view.kind(ref)
        links = [link for link in view.links_of(ref) if net in (link.net_a, link.net_b)]
        if links:
            ends = dict.fromkeys(
                link.net_b if link.net_a == net else link.net_a for link in links
            )
            return "link to " + ", ".join(ends)
        others = [other for other in view.nets(ref) if other != net]
        if kind == "testpoint":
            return "test point"
        if kind == "capacitor" and len(others) == 1:
            pair = {net, others[0]}
            if any(view.is_ground(one) for one in pair):
                return "decoupling" if pair & self._rails else "to ground"
            return f"to {others[0]}"
        if kind in ("resistor", *_CLAMPS, "diode") and len(others) == 1:
            clamp = "clamp " if kind in _CLAMPS else ""
            return clamp + (
                "to ground" if view.is_ground(others[0]) else f"to {others[0]}"
            )
        return ""
