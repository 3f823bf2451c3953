"""Where each rail comes from and what it feeds."""

import re
from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass, field

from ohmtrail.netanalysis.circuit import Link, Stage
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise._natural import natural
from ohmtrail.netanalysis.recognise.rail_names import feeds_a_board
from ohmtrail.netanalysis.recognise.regulators import linear_regulators

__all__ = ["Source", "build_tree", "conduct"]

#: A rail may come through a series resistor up to this (supply filters, CP).
_FILTER_MAX_OHMS = 100.0
#: Connectors made for power, by what they are called.
_POWER_CONNECTOR = re.compile(
    r"barrel|jack|power|XT\d0|terminal|batt|USB|screw|DC[ _-]?in|\bsupply\b|faston|"
    r"anderson|solder_?wire_?pad|MKDS|MSTB",
    re.I,
)


#: At which terminal a pass transistor gives its output, by polarity ("n", "p").
_OUTPUT_ROLES = {"n": ("source",), "p": ("drain",)}


@dataclass(slots=True)
class Source:
    """The part that makes a rail, and the rails made from it."""

    ref: str | None = None
    upstream: str | None = None
    made: list[str] = field(default_factory=list)

    @property
    def feeds(self) -> tuple[str, ...]:
        """Rails made from this one, each once."""
        return tuple(dict.fromkeys(self.made))


def conduct(view: CircuitView, net: str, avoid: Set[str]) -> Iterator[tuple[Link, str]]:
    """Yield the certain links on a net whose other end is at the same volts.

    Kelvin taps of shunts are measuring wires and carry no rail; inductors on a
    switch node are no links at direct-current level for a running converter.
    """
    if net in avoid:
        return
    for link in view.links_at(net):
        other = link.net_b if link.net_a == net else link.net_a
        if not link.always or other in avoid or link.because.startswith("Kelvin"):
            continue
        if link.kind == "transformer" or view.is_ground(other):
            continue
        yield link, other


def build_tree(
    view: CircuitView,
    stages: Iterable[Stage],
    rails: tuple[str, ...],
    avoid: set[str],
) -> dict[str, Source]:
    """Return source and feeds of every rail.

    Order of belief: the converter or regulator whose output the net is; the
    link by which it hangs on such a rail; the connector or battery through
    which the board is fed, and the links behind that; a diode's cathode, a pass
    transistor, a filter resistor from a rail that has a source.

    Notes
    -----
    O(pins).
    """
    tree = {net: Source() for net in rails}
    stages = tuple(stages)
    both_ways = {
        net
        for stage in stages
        if stage.kind == "back-to-back pass"
        for net in (stage.input, stage.input_rail, stage.output, stage.output_rail)
    }
    later = [s for s in stages if (s.output_rail or s.output) in both_ways]
    made = _made_by_stages(tree, [s for s in stages if s not in later])
    for regulator in linear_regulators(view):
        if regulator.output in tree and regulator.output not in made:
            tree[regulator.output].ref = regulator.ref
            tree[regulator.output].upstream = regulator.input
            made.append(regulator.output)
    made.extend(_made_by_coils(view, tree, avoid))
    for net in rails:
        for pin in view.pins(net):
            # A chip's own supply output ("REG18"), as the file's pin type says.
            if pin.electrical == "power_out" and view.kind(pin.ref) == "chip":
                if tree[net].ref is None:
                    tree[net].ref = pin.ref
                    made.append(net)
    _spread(view, tree, list(made), avoid)
    for strong in (True, False):
        roots = [(_inlet(view, net, strong), net) for net in rails]
        for inlet, net in sorted((i, n) for i, n in roots if i is not None):
            if tree[net].ref is None:
                tree[net].ref = inlet[1]
                _spread(view, tree, [net], avoid)
        if strong:
            # What passes both ways makes a rail only where nothing feeds it.
            _spread(view, tree, _made_by_stages(tree, later), avoid)
            _by_semiconductors(view, tree, rails, avoid, stages)
        _by_filters(view, tree, rails, avoid)
    _by_filters(view, tree, rails, avoid, unknown=True)
    for net, source in tree.items():
        if source.upstream is not None and source.upstream in tree:
            tree[source.upstream].made.append(net)
    return tree


def _made_by_stages(tree: dict[str, Source], stages: Iterable[Stage]) -> list[str]:
    made: list[str] = []
    for stage in stages:
        result = stage.output_rail or stage.output
        if result is None or result not in tree or tree[result].ref is not None:
            continue
        tree[result].ref = _maker(stage)
        tree[result].upstream = stage.input_rail or stage.input
        made.append(result)
        near = stage.output
        if near is not None and near != result and near in tree:
            tree[near].ref = tree[near].ref or tree[result].ref
            tree[near].upstream = tree[near].upstream or tree[result].upstream
            made.append(near)
    return made


def _maker(stage: Stage) -> str | None:
    """Return the part to point at as the maker of a stage's output."""
    switches = sorted((*stage.high_side, *stage.low_side), key=natural)
    if stage.kind in ("load switch", "back-to-back pass", "ideal diode"):
        order = (*switches[:1], stage.controller, stage.driver)
    elif stage.kind in ("boost", "flyback"):
        order = (stage.controller, *stage.high_side, *stage.inductors)
    else:
        order = (stage.controller, *stage.inductors, *switches)
    return next((ref for ref in order if ref is not None), None)


def _made_by_coils(
    view: CircuitView, tree: dict[str, Source], avoid: set[str]
) -> list[str]:
    """Rails behind a coil on a switch node that no recognised stage claims.

    The maker is the chip with its switch pin there, or the only chip there;
    beside discrete transistors it is the coil that can be pointed at.
    """
    made: list[str] = []
    for node in sorted(avoid):
        for coil, rail in view.neighbours(node, "inductor"):
            if rail not in tree or tree[rail].ref is not None or rail in avoid:
                continue
            chips = [
                pin.ref
                for pin in view.pins(node)
                if view.kind(pin.ref) == "chip"
                and view.role(pin.ref, pin.number) in ("switch", "")
            ]
            discrete = view.parts_on(node, "mosfet")
            tree[rail].ref = chips[0] if chips and not discrete else coil
            made.append(rail)
    return made


def _spread(
    view: CircuitView, tree: dict[str, Source], queue: list[str], avoid: set[str]
) -> None:
    """Give rails behind links the link as source, walking outward."""
    for here in queue:
        for link, there in conduct(view, here, avoid):
            if there in tree and tree[there].ref is None:
                tree[there].ref = link.ref
                tree[there].upstream = here
                queue.append(there)


def _by_semiconductors(
    view: CircuitView,
    tree: dict[str, Source],
    rails: tuple[str, ...],
    avoid: set[str],
    stages: Iterable[Stage],
) -> None:
    inputs = {
        (ref, net)
        for stage in stages
        for ref in (*stage.high_side, *stage.low_side)
        for net in (stage.input, stage.input_rail)
    }
    for net in rails:
        if tree[net].ref is None:
            _by_semiconductor(view, tree, net, inputs)
            if tree[net].ref is not None:
                _spread(view, tree, [net], avoid)


def _inlet(
    view: CircuitView, net: str, strong: bool
) -> tuple[tuple[int, int, int], str] | None:
    """Return the connector or battery by which power enters a net, with a rank.

    Strong inlets are batteries and what is made for power: barrel jacks,
    terminals, USB, connectors of one to three pins.  Signal headers carry a rail
    too, but more often as a load; the one on a net named as an input comes first.
    """
    best: tuple[tuple[int, int, int], str] | None = None
    for pin in view.pins(net):
        kind = view.kind(pin.ref)
        if kind == "battery":
            return (0, 0, 0), pin.ref
        if kind != "connector":
            continue
        part = view.part(pin.ref)
        made_for_it = _POWER_CONNECTOR.search(
            f"{part.value} {part.library} {part.footprint} {part.description}"
        )
        if strong and not made_for_it and len(part.pins) > 3:
            continue
        # Two pins are a supply's connector; one is a pad, many are a header.
        rank = (
            0 if made_for_it else 1,
            0 if feeds_a_board(net) else 1,
            abs(len(part.pins) - 2),
        )
        if best is None or rank < best[0]:
            best = (rank, pin.ref)
    return best


def _by_semiconductor(
    view: CircuitView,
    tree: dict[str, Source],
    net: str,
    inputs: set[tuple[str, str | None]],
) -> None:
    """Find a diode or pass transistor that brings a rail in."""
    for pin in view.pins(net):
        if (
            view.kind(pin.ref) == "diode"
            and view.role(pin.ref, pin.number) == "cathode"
        ):
            other = view.net_with_role(pin.ref, "anode")
            if other is not None and not view.is_ground(other):
                tree[net].ref, tree[net].upstream = pin.ref, other
                return
    for pin in view.pins(net):
        kind, role = view.kind(pin.ref), view.role(pin.ref, pin.number)
        if (pin.ref, net) in inputs:
            continue
        if kind == "mosfet" and role in _OUTPUT_ROLES.get(
            view.sort(pin.ref)[:1], ("source", "drain")
        ):
            other_role = "drain" if role == "source" else "source"
        elif kind == "bipolar" and role in ("emitter", "collector"):
            other_role = "collector" if role == "emitter" else "emitter"
        else:
            continue
        other = view.net_with_role(pin.ref, other_role, view.unit(pin.ref, pin.number))
        if other is not None and other in tree and other != net:
            tree[net].ref, tree[net].upstream = pin.ref, other
            return


def _by_filters(
    view: CircuitView,
    tree: dict[str, Source],
    rails: tuple[str, ...],
    avoid: set[str],
    unknown: bool = False,
) -> None:
    """Bring rails in through a small resistor from a rail that has a source.

    The resistor does not say which side feeds the other: of two rails whose source
    nothing tells (`unknown`), the one with more parts on it feeds.
    """
    queue = list(rails)
    while queue:
        net = queue.pop(0)
        if tree[net].ref is not None:
            continue
        for ref, other in view.neighbours(net, "resistor"):
            ohms = view.ohms(ref)
            if ohms is None or ohms > _FILTER_MAX_OHMS or other not in tree:
                continue
            if tree[other].ref is None and not (
                unknown and len(view.refs(other)) > len(view.refs(net))
            ):
                continue
            if net in _upstream(tree, other):
                continue
            tree[net].ref, tree[net].upstream = ref, other
            _spread(view, tree, [net], avoid)
            queue = list(rails)
            break


def _upstream(tree: dict[str, Source], net: str) -> set[str]:
    seen: set[str] = set()
    here: str | None = net
    while here is not None and here not in seen:
        seen.add(here)
        here = tree[here].upstream if here in tree else None
    return seen
