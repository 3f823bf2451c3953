"""Which pin is on which net, and where its pads are."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX
from ohmtrail.importers._xml import ElementError, find, required
from ohmtrail.importers.ipc_2581._package import location

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Copper", "Key", "bound", "read_logical", "read_pads"]

#: (component, pin)
Key = tuple[str, str]

#: What programs write for pads on no net.
_NO_NET = frozenset(("", "no_net", "no net", "$none$", "unconnected"))


@dataclass(slots=True)
class Copper:
    """Nets of pins, and their pads."""

    nets: dict[Key, str] = field(default_factory=dict)
    #: Net names in the order of the file.
    order: dict[str, None] = field(default_factory=dict)
    #: Place of the first pad, in units of the file.
    places: dict[Key, tuple[float, float]] = field(default_factory=dict)
    #: "top", "bottom" of all pads.
    sides: dict[Key, set[str]] = field(default_factory=dict)
    notes: Counter[tuple[str, str]] = field(default_factory=Counter)

    def connect(self, key: Key, net: str) -> bool:
        """Put a pin on a net; False if it is on another."""
        if net.casefold() in _NO_NET:
            return True
        self.order.setdefault(net)
        return self.nets.setdefault(key, net) == net

    def bound(self, step: "Element") -> None:
        """Refuse more parts or pins than any board has, before they are made."""
        bound(len({ref for ref, _ in self.nets}), len(self.nets), step)
        bound(len({ref for ref, _ in self.sides}), len(self.sides), step)


def bound(parts: int, pins: int, element: "Element") -> None:
    """Refuse so many parts or pins, if no board has them.

    Raises
    ------
    ElementError
        About the element.
    """
    if parts > PARTS_MAX or pins > PINS_MAX:
        raise ElementError(
            f"found more than {PARTS_MAX} parts or {PINS_MAX} pins, expected a board",
            element,
        )


def _pin(element: "Element") -> Key | None:
    component = element.get("componentRef", "")
    return (component, required(element, "pin")) if component else None


def read_logical(copper: Copper, element: "Element") -> None:
    """Read a ``<LogicalNet>``.

    Raises
    ------
    ElementError
        If a pin is on another net already.
    """
    name = required(element, "name")
    if name.casefold() not in _NO_NET:
        copper.order.setdefault(name)
    for one in find(element, "PinRef"):
        key = _pin(one)
        if key is None:
            copper.notes["pin of a net without a component", name] += 1
        elif not copper.connect(key, name):
            raise ElementError(
                f"found pin {key[0]}.{key[1]} in net {name!r}, but it is in net "
                f"{copper.nets[key]!r}",
                one,
            )


_NO_COPPER = "drawing, hole or opening on a layer that is no copper"
#: What a ``<Set>`` draws besides pads.
_DRAWN = frozenset(("Features", "Fiducial", "Hole", "SlotCavity", "TestPad"))


def read_pads(
    copper: Copper, step: "Element", sides: Mapping[str, str], where: str
) -> None:
    """Read the pads in ``<LayerFeature>``; where no logical net does, they join.

    All else that is drawn there is counted.

    Parameters
    ----------
    copper : Copper
        With the logical nets.
    step : Element
        The board.
    sides : mapping
        Layer -> "top", "bottom" for outer copper, "inner" for other copper.
    where : str
        The file's name, for what is counted.

    Notes
    -----
    O(size).
    """
    for layer in find(step, "LayerFeature"):
        side = sides.get(layer.get("layerRef", ""), "")
        passed = 0
        for group in find(layer, "Set"):
            net = group.get("net", "")
            for item in group.iterchildren("{*}*"):
                word = item.tag.rpartition("}")[2]
                if word != "Pad":
                    passed += word in _DRAWN
                    continue
                keys = [_pin(one) for one in find(item, "PinRef")] if side else ()
                passed += not any(keys)
                for key in keys:
                    if key is not None:
                        _pad(copper, key, net, item, side)
        if passed:
            what = "track, via or plane: nets are those of the pins"
            copper.notes[what if side else _NO_COPPER, where] += passed


def _pad(copper: Copper, key: Key, net: str, pad: "Element", side: str) -> None:
    if not copper.connect(key, net):
        what = f"pad on net {net}, taken as on {copper.nets[key]}"
        copper.notes[what, f"{key[0]}.{key[1]}"] += 1
    if side == "inner":
        return
    copper.sides.setdefault(key, set()).add(side)
    if key not in copper.places:
        place = location(pad)
        if place is not None:
            copper.places[key] = place
