"""Converters with the coil inside, and linear regulators inside a power manager.

A module shows an input, an output and perhaps a switch pin that nothing hangs on.
Modules that isolate are sources of rails, no stages.
"""

import re
from collections import Counter
from collections.abc import Iterable

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.stage_build import rails_and_sense
from ohmtrail.netanalysis.recognise.stage_legs import coils_at
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["manager_regulators", "module_stages"]

_DOWN = re.compile(r"step[- ]?down|\bbuck\b|switching regulator", re.I)
_UP = re.compile(r"step[- ]?up|\bboost\b", re.I)
_BOTH = re.compile(
    r"buck[-/ ]?boost|step[- ]?up[-/ ]+(?:and )?(?:step[- ]?)?down", re.I
)
_NO_MODULE = re.compile(
    r"isolat|charge[- ]?pump|switched[- ]?capacitor|controller|driver|charger", re.I
)
#: A linear regulator's pins on a chip that switches as well: VLDO1, LDO2OUT,
#: OUT_LDO3; VINLDO, LDO12IN, PVIN_LDO2 (common practice).
_LDO_OUT = re.compile(
    r"^(?:(?:V|V?OUT|VO)_?([A-G]?)LDO_?(\d{0,2}|[A-H])|"
    r"V?([A-G]?)LDO_?(\d{0,2}|[A-H])_?(?:V?OUT|VO)?)$"
)
_LDO_IN = re.compile(
    r"^(?:P?V?(?:IN|DD|CC)_?([A-G]?)LDO_?([\dA-H]*)|"
    r"V?([A-G]?)LDO_?([\dA-H]*)_?P?V?IN_?(\d*))$"
)


def module_stages(scene: Scene, taken: set[str]) -> list[Stage]:
    """Return the converters whose coil is in the package.

    Parameters
    ----------
    scene : Scene
        The board.
    taken : set of str
        Chips of other stages.

    Notes
    -----
    O(pins).
    """
    found = []
    for part in scene.view.board.parts:
        if part.ref in taken or not scene.view.fitted(part.ref):
            continue
        if scene.view.kind(part.ref) in ("chip", "other") and len(part.pins) >= 3:
            stage = _module(scene, part)
            if stage is not None:
                found.append(stage)
    return found


def _module(scene: Scene, part: Part) -> Stage | None:
    view, ref = scene.view, part.ref
    text = f"{part.library} {part.description} {part.keywords}"
    if _NO_MODULE.search(text):
        return None
    if view.pins_with_role(ref, "high gate", "low gate", "gate drive"):
        return None
    source = _power(scene, ref, "input") or _power(scene, ref, "supply")
    target = next(
        (net for net in _power(scene, ref, "output") if net not in source), None
    )
    if not source or target is None or not view.net_with_role(ref, "ground"):
        return None
    nodes = _idle_nodes(scene, ref)
    if nodes is None:
        return None
    said = _said(text)
    hinted = nodes and view.pins_with_role(ref, "feedback", "enable")
    if not said and not hinted:
        return None
    return _entry(
        scene, ref, f"integrated {said or 'buck'}", source[0], target, nodes,
        "input and output, the coil inside",
    )  # fmt: skip


def _said(text: str) -> str:
    if _BOTH.search(text):
        return "buck-boost"
    if _DOWN.search(text):
        return "buck"
    return "boost" if _UP.search(text) else ""


def _idle_nodes(scene: Scene, ref: str) -> tuple[str, ...] | None:
    """Switch-pin nets with no coil, rectifier or transistor; None if one has."""
    view = scene.view
    nodes: dict[str, None] = {}
    for pin in view.pins_with_role(ref, "switch"):
        if pin.net is None:
            continue
        if any(True for _ in coils_at(scene, pin.net)) or scene.at(pin.net):
            return None
        if view.is_ground(pin.net) or scene.is_power(pin.net):
            return None
        nodes[pin.net] = None
    return tuple(nodes)


def _power(scene: Scene, ref: str, role: str) -> list[str]:
    nets = [pin.net for pin in scene.view.pins_with_role(ref, role)]
    return list(dict.fromkeys(net for net in nets if net and scene.is_power(net)))


def manager_regulators(scene: Scene, stages: Iterable[Stage]) -> list[Stage]:
    """Return the linear regulators of chips that hold converters too.

    Parameters
    ----------
    scene : Scene
        The board.
    stages : iterable of Stage
        Those found so far.

    Notes
    -----
    O(pins of these chips).  A single unmarked LDO pin is the chip's own bias.
    """
    channels = Counter(
        stage.controller
        for stage in stages
        if stage.controller is not None and stage.kind.startswith("integrated")
    )
    found = []
    for ref, count in channels.items():
        outputs = list(_ldo_pins(scene, ref, _LDO_OUT))
        if count < 2 and len(outputs) < 2:
            continue
        inputs = list(_ldo_pins(scene, ref, _LDO_IN))
        supplies = _power(scene, ref, "input") or _power(scene, ref, "supply")
        for mark, net in outputs:
            if scene.own_bias(ref, net):
                continue
            source = next(
                (there for given, there in inputs if mark and mark in given),
                inputs[0][1] if inputs else next(iter(supplies), None),
            )
            if source is None or source == net:
                continue
            found.append(
                _entry(scene, ref, "linear regulator", source, net, (), "LDO pin")
            )
    return found


def _ldo_pins(
    scene: Scene, ref: str, pattern: re.Pattern[str]
) -> Iterable[tuple[str, str]]:
    """Yield channel mark and net of the pins whose names fit."""
    seen: set[tuple[str, str]] = set()
    for pin in scene.view.part(ref).pins:
        match = pattern.match(clean_pin_name(pin.name))
        if match is None or pin.net is None:
            continue
        found = next((mark for mark in match.groups() if mark), ""), pin.net
        if found in seen or scene.view.is_ground(pin.net):
            continue
        if scene.is_power(pin.net):
            seen.add(found)
            yield found


def _entry(
    scene: Scene,
    ref: str,
    kind: str,
    source: str,
    target: str,
    nodes: tuple[str, ...],
    why: str,
) -> Stage:
    input_rail, output_rail, sense = rails_and_sense(scene, source, target)
    return Stage(
        id="",
        kind=kind,
        switch_nodes=nodes,
        input=source,
        output=target,
        input_rail=input_rail,
        output_rail=output_rail,
        controller=ref,
        driver=ref,
        current_sense=sense,
        because=(f"{ref} from {source} to {target}", why),
    )
