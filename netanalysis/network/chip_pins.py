"""A chip's pins by what they are to a meter, and which belong together."""

from collections.abc import Iterable
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.network.load_classes import is_ground_pin, is_supply_pin
from ohmtrail.netanalysis.network.scene import Scene

__all__ = ["ChipPins", "chip_pins"]

#: Up to this many pins a signal belongs to the supply nearest to it (level shifters
#: and isolators have a supply on each side); larger chips have one main supply.
_SMALL = 24


@dataclass(frozen=True, slots=True)
class ChipPins:
    """Pins of one chip, in the order of their numbers."""

    grounds: tuple[Pin, ...]
    supplies: tuple[Pin, ...]
    #: Pins of a high-side driver: boot, high gate, switch node.
    floating: tuple[Pin, ...]
    signals: tuple[Pin, ...]
    #: Place of each pin in the package, by number.
    places: dict[str, int]
    main_supply: Pin | None

    def _nearest(self, pin: Pin, among: Iterable[Pin]) -> Pin | None:
        here = self.places[pin.number]
        return min(among, key=lambda p: abs(self.places[p.number] - here), default=None)

    def ground_of(self, pin: Pin) -> Pin:
        """Return the ground pin that a pin belongs to: the nearest."""
        found = self._nearest(pin, self.grounds)
        assert found is not None, "asked only of chips with a ground"
        return found

    def supply_of(self, pin: Pin) -> Pin | None:
        """Return the supply pin that a signal is clamped to, or None."""
        if len(self.places) > _SMALL:
            return self.main_supply
        return self._nearest(pin, self.supplies)

    def mate(self, scene: Scene, pin: Pin, role: str) -> Pin | None:
        """Return the pin of a role in the same channel, else the only one."""
        view = scene.view
        found = [p for p in self.floating if view.role(p.ref, p.number) == role]
        unit = view.unit(pin.ref, pin.number)
        mine = [p for p in found if view.unit(p.ref, p.number) == unit]
        if mine:
            return mine[0]
        return found[0] if len({p.net for p in found}) == 1 else None


def _natural(pin: Pin) -> tuple[int, int, str]:
    number = pin.number
    return (0, int(number), "") if number.isdecimal() else (1, len(number), number)


def chip_pins(scene: Scene, part: Part) -> ChipPins:
    """Sort a chip's pins.

    Notes
    -----
    O(pins log pins).  Pins that the file marks as not connected are left out.
    """
    view = scene.view
    loads = {
        pin.net: set(view.rails[pin.net].loads)
        for pin in part.pins
        if pin.net is not None and pin.net in view.rails
    }
    nodes = {n for stage in scene.stages.get(part.ref, ()) for n in stage.switch_nodes}
    ordered = sorted(part.pins, key=_natural)
    roles = {pin.number: view.role(part.ref, pin.number) for pin in ordered}
    named = {"boot", "high gate", "switch"} & set(roles.values())
    grounds, supplies, floating, signals = [], [], [], []
    for pin in ordered:
        role = roles[pin.number]
        if is_ground_pin(view, pin):
            grounds.append(pin)
        elif pin.electrical == "no_connect":
            continue
        elif is_supply_pin(view, pin, loads) or (
            role in ("supply", "input") and scene.in_hand
        ):
            supplies.append(pin)
        elif pin.net in nodes or (
            role in ("boot", "high gate", "switch") and len(named) > 1
        ):
            floating.append(pin)
        else:
            signals.append(pin)
    counts: dict[str | None, int] = {}
    for pin in supplies:
        counts[pin.net] = counts.get(pin.net, 0) + 1
    main = max(supplies, key=lambda pin: counts[pin.net], default=None)
    return ChipPins(
        tuple(grounds),
        tuple(supplies),
        tuple(floating),
        tuple(signals),
        {pin.number: place for place, pin in enumerate(ordered)},
        main,
    )
