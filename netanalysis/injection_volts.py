"""The lowest nominal voltage that anything on a board says of a rail.

For injection a name, a stated voltage, a regulator's part number and a USB plug are
all evidence, and the lowest counts: what is stated may be typed wrong, and a name may
lie.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.circuit import Circuit, Rail
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.rail_names import (
    last_component,
    volts_from_name,
    volts_in_text,
)
from ohmtrail.netanalysis.recognise.rails import supply_tree
from ohmtrail.netanalysis.recognise.regulators import linear_regulators

__all__ = ["Nominal", "lowest_nominals"]

#: Evidence may differ by this share before it is worth a word (3.3 for 3V3, 3.0 for
#: +3V; common practice).
_AGREE = 0.06
#: Pins by which a processor sets its own supply while it runs (common names).
_VID = re.compile(
    r"^(?:P?VID(?:SEL)?_?\d*|SVID\w*|SV[CDT]\d?|SV(?:CLK|DATA?)|V(?:CLK|DIO)|DVS\w*|"
    r"VSEL_?\d*)$"
)
_BETWEEN_WORDS = re.compile(r"[_/ ]+|(?<=\w)-")


@dataclass(frozen=True, slots=True)
class Nominal:
    """The volts to hold for a rail when injecting."""

    #: Lowest in magnitude, with its sign; None where unknown.
    volts: float | None
    because: str
    #: What is odd about it, for the reader.
    note: str = ""


def lowest_nominals(
    circuit: Circuit, view: CircuitView, supplies: Iterable[str]
) -> Mapping[str, Nominal]:
    """Return the lowest nominal voltage of every rail, stated net and other supply.

    Parameters
    ----------
    circuit, view
        The board with what is recognised on it, and its view.
    supplies : iterable of str
        Nets on which something lives.

    Notes
    -----
    O(pins).  A rail set by VID pins or by a trimmer has no known lowest voltage
    unless it is stated.
    """
    evidence: dict[str, dict[str, float]] = {net: {} for net in supplies}
    rails = {rail.net: rail for rail in circuit.rails}
    for rail in circuit.rails:
        mine = evidence.setdefault(rail.net, {})
        if rail.volts is not None and rail.net not in circuit.stated_volts:
            mine[rail.volts_because or "recognised"] = rail.volts
    for net, volts in circuit.stated_volts.items():
        evidence.setdefault(net, {})["stated"] = volts
    for rail in _unstated(circuit, view):
        if rail.volts is not None and rail.net in circuit.stated_volts:
            evidence[rail.net].setdefault(rail.volts_because, rail.volts)
    for regulator in linear_regulators(view):
        if regulator.volts is not None and regulator.output in evidence:
            evidence[regulator.output].setdefault(regulator.because, regulator.volts)
    moving = _moving(circuit, view)
    nets = circuit.board.net_by_name
    found: dict[str, Nominal] = {}
    for net, mine in evidence.items():
        told = (net, *(nets[net].aliases if net in nets else ()))
        for text in told if net not in rails else ():
            volts_told = volts_from_name(text)
            if volts_told is not None:
                mine.setdefault("name", volts_told)
        # What stands in a name lowers what is known.  It never makes an unknown voltage
        # known: 5V_VIN may be the input of what makes 5 V.
        for text in told if mine else ():
            for volts in _volts_in_name(text):
                mine.setdefault(f"name {text}, {volts:g} V", volts)
        found[net] = _weigh(net, mine, moving.get(net))
    return found


def _unstated(circuit: Circuit, view: CircuitView) -> tuple[Rail, ...]:
    """Return the rails as the board alone tells them; none where nothing is stated."""
    if not circuit.stated_volts:
        return ()
    return supply_tree(replace(view, stated_volts={}), circuit.stages)


def _volts_in_name(net: str) -> list[float]:
    """Return every voltage that a net's name spells ("5V_TO_3V3" has two)."""
    found = (volts_in_text(word) for word in _BETWEEN_WORDS.split(last_component(net)))
    whole = volts_in_text(last_component(net))
    return [volts for volts in (whole, *found) if volts is not None]


def _weigh(net: str, mine: Mapping[str, float], moving: str | None) -> Nominal:
    known = {why: volts for why, volts in mine.items() if volts}
    if moving is not None and "stated" not in known:
        note = f"{net} is set by {moving}: state the lowest it may go to"
        return Nominal(None, "", note)
    if not known:
        return Nominal(None, "")
    if len({volts > 0 for volts in known.values()}) > 1:
        return Nominal(None, "", f"{net} is positive and negative: {_listed(known)}")
    why, volts = min(known.items(), key=lambda item: abs(item[1]))
    far = max(abs(other) for other in known.values())
    note = ""
    if far > abs(volts) * (1 + _AGREE):
        note = f"evidence for {net} differs: {_listed(known)}; the lowest is taken"
    return Nominal(volts, why, note)


def _listed(known: Mapping[str, float]) -> str:
    shown: dict[float, str] = {}
    for why, volts in known.items():
        shown.setdefault(volts, why.partition(",")[0])
    return ", ".join(f"{volts:g} V ({why})" for volts, why in shown.items())


def _moving(circuit: Circuit, view: CircuitView) -> dict[str, str]:
    """Rails whose volts are not fixed, with the part that sets them."""
    makers: dict[str, set[str]] = {}
    for rail in circuit.rails:
        if rail.source is not None:
            makers.setdefault(rail.net, set()).add(rail.source)
    for stage in circuit.stages:
        for net in (stage.output, stage.output_rail):
            if net is not None and stage.controller is not None:
                makers.setdefault(net, set()).add(stage.controller)
    found: dict[str, str] = {}
    for net, refs in makers.items():
        for ref in sorted(refs):
            part = view.part(ref)
            vid = [
                pin.name for pin in part.pins if _VID.match(clean_pin_name(pin.name))
            ]
            if vid and view.kind(ref) == "chip":
                found[net] = f"{vid[0]} of {ref}"
            for pin in part.pins:
                if view.role(ref, pin.number) != "feedback" or pin.net is None:
                    continue
                for other in view.parts_on(pin.net, "resistor"):
                    if view.sort(other) == "potentiometer":
                        found[net] = f"trimmer {other}"
    return found
