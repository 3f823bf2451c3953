"""What has to be read and fitted before power, and when there is no more to do."""

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import islice

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import GateChain, Stage
from ohmtrail.netanalysis.diagnosis.action import Action
from ohmtrail.netanalysis.diagnosis.candidates import chain_pairs, channel_pads
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.costs import (
    POWER_SECONDS,
    READ_SECONDS,
    fit_seconds,
)
from ohmtrail.netanalysis.diagnosis.injecting import ohms_between
from ohmtrail.netanalysis.diagnosis.lifts import low_net
from ohmtrail.netanalysis.diagnosis.outlook import Outlook
from ohmtrail.netanalysis.diagnosis.power_evidence import failed_as_it_is
from ohmtrail.netanalysis.diagnosis.requirement import SWITCHES
from ohmtrail.netanalysis.diagnosis.supply_entry import supply_entry
from ohmtrail.netanalysis.diagnosis.words import share_text

__all__ = ["checks", "next_check", "rails_first", "settled"]

#: Where the red and the black probe go, and why.
_Check = tuple[Pin | str, Pin | str, str]
#: Power is not offered below this chance that nothing is left to replace.
_SURE_ENOUGH = 0.3
_AMPS_START = 0.5
#: Stages whose switches lie in the way of the current.
_PASS = ("back-to-back pass", "ideal diode", "load switch")
#: Through more than this a gate does not tell whether its driver's output is dead (a
#: dead output reads up to some tens of ohms; common practice, no source).
_SMALL_GATE_OHMS = 47.0
#: A rail that reads less than this may hide a shorted switch: a dead channel is some
#: ohms at the most (common practice, no source).
_HIDES_OHMS = 10.0
#: Two readings cannot tell which of them is wrong.
_TWO = 2
#: From this chance on a part that may still be wrong is named before power.
_STILL_OPEN = 0.03


def settled(case: Case) -> Action | None:
    """Return "stop" where the log says that the board runs."""
    powers = [one.event for one in case.timeline.placed if one.event.action == "power"]
    last = case.timeline.placed[-1].event if case.timeline.placed else None
    if powers and powers[-1].word == "runs" and last is powers[-1]:
        return Action(
            "stop",
            "the board runs: warm it up under load, read the rails again, then write "
            "down what was replaced",
        )
    return None


def rails_first(case: Case) -> bool:
    """Whether no rail has read low so far and some have not been read."""
    if low_net(case) is not None or _was_low(case):
        return False
    return not all(_read_ever(case, net) for net in _rails(case))


def _rails(case: Case) -> list[str]:
    nets = (rail.net for rail in case.circuit.rails)
    return [net for net in nets if not case.view.is_ground(net)]


def next_check(
    view: Outlook, have: Iterable[str], doubtful: Collection[int] = ()
) -> Action:
    """Return the next reading before power, what to fit, or power itself.

    Parameters
    ----------
    view : Outlook
    have : iterable of str
        Meter modes at hand.
    doubtful : collection of int
        Lines of readings that are likely wrong: where two of a rail disagree a third
        tells which.
    """
    case = view.case
    have = tuple(have)
    for ref in sorted(case.timeline.now.lifted):
        if case.view.kind(ref) in SWITCHES and "resistance" in have:
            for gate, source in _in_hand_pads(case, ref):
                return Action(
                    "measure",
                    f"{ref} in the hand, before it goes back",
                    READ_SECONDS,
                    "resistance",
                    gate.key,
                    source.key,
                    part=ref,
                    expected=(
                        ("open or high, both ways", "put it back"),
                        ("low", "replace it, with its parallel mates"),
                    ),
                )
        return Action(
            "fit",
            f"{ref} is off the board and is not to be replaced: put it back",
            fit_seconds(case.view, ref),
            part=ref,
            expected=(("its readings stay as they are", "go on"),),
        )
    if "resistance" in have:
        for red, black, about in checks(case):
            apart = _disagree(case, red, black, doubtful)
            if apart or not _read(case, red, black):
                told = "two readings of it disagree, a third tells which is wrong"
                return Action(
                    "measure",
                    f"before power: {about}{f'; {told}' if apart else ''}",
                    READ_SECONDS,
                    "resistance",
                    red if isinstance(red, str) else red.key,
                    black if isinstance(black, str) else black.key,
                    expected=(
                        ("as its sister stages, or as expected", "go on to power"),
                        ("low, or open where it should not be", "no power: it is next"),
                    ),
                )
    return _power(view)


def checks(case: Case) -> Iterator[_Check]:
    """Yield what must have been read in this state of the board: (red, black, why).

    Rails that read low come first, then those that nobody read, then all others.
    """
    rails = _rails(case)
    low = _was_low(case)
    for stage in case.circuit.stages:
        if not _touched(case, stage):
            continue
        for chain in stage.gate_chains:
            if chain.switch in case.now.off:
                continue
            for red, black, about in chain_pairs(case, chain):
                if red.key != chain.driver_pin or not _gate_tells(case, chain):
                    yield red, black, f"{about}, with the new parts in place"
    # Read before or not: one slip must not make them good either.
    yield from _pass_switches(case)
    if not case.ground:
        return
    # What was low first, then what nobody read, then all others: a slip of the first
    # reading, or of the iron, must not go unnoticed.
    read = {net for net in rails if _read_ever(case, net)}
    for net in sorted(rails, key=lambda net: (net not in low, net in read)):
        told = ", as the board is now" if net in low else ": no second short"
        again = ", read once more" if net in read - low else ""
        yield net, case.ground_of(net), f"{net} to ground{told}{again}"
    yield from _unmet(case, _hidden_switches(case, rails))


def _hidden_switches(case: Case, rails: Iterable[str]) -> Iterator[_Check]:
    """Yield gates of switches whose short a rail, low by nature, does not tell."""
    blind: dict[str | None, str] = {}
    for net in rails:
        ohms = ohms_between(case, (net, case.ground_of(net)))
        if ohms is None or ohms < _HIDES_OHMS:
            blind.update(dict.fromkeys(case.joined(net), net))
    for stage in case.circuit.stages:
        if stage.kind in _PASS:
            continue
        for chain in stage.gate_chains:
            ends = {
                pad.net for pads in channel_pads(case, chain.switch) for pad in pads
            }
            low = next((blind[net] for net in ends if net in blind), None)
            if low is None or not any(case.view.is_ground(net) for net in ends):
                continue
            for red, black, about in _gate_pair(case, chain):
                yield red, black, f"{about}, since {low} hides a short of a few ohms"


def _gate_pair(case: Case, chain: GateChain) -> Iterator[_Check]:
    if chain.switch not in case.now.off:
        yield from islice(chain_pairs(case, chain), 1)


def _gate_tells(case: Case, chain: GateChain) -> bool:
    """Whether a gate, and its small resistor, tell what the driver's output holds."""
    ohms = [case.view.ohms(ref) for ref in chain.series]
    return (
        bool(ohms)
        and sum(math.inf if one is None else one for one in ohms) <= _SMALL_GATE_OHMS
    )


def _pass_switches(case: Case) -> Iterator[_Check]:
    """Yield what tells of a shorted switch in the way of the current: no rail does."""
    for stage in case.circuit.stages:
        if stage.kind not in _PASS:
            continue
        for ref in dict.fromkeys((*stage.high_side, *stage.low_side)):
            if ref not in case.now.off and case.view.kind(ref) in SWITCHES:
                told = f"{ref} drain to source: no rail tells of a short in it"
                for red, black in channel_pads(case, ref):
                    yield red, black, told
        for chain in stage.gate_chains:
            yield from _gate_pair(case, chain)


def _unmet(case: Case, pairs: Iterable[_Check]) -> Iterator[_Check]:
    """Yield those that were not read on the board since the last power-up."""
    since = case.log.last_power_line
    met = {
        frozenset((one.plus.net, one.minus.net))
        for one in case.readings
        if one.line > since and one.state.hand is None
    }
    for red, black, about in pairs:
        if frozenset(_ends(red, black)) not in met:
            yield red, black, about


def _in_hand_pads(case: Case, ref: str) -> Iterator[tuple[Pin, Pin]]:
    """Yield the gate and source pads of a lifted switch not yet read in the hand."""
    mine = (ref, case.piece(ref))
    tried = {
        frozenset((str(event.plus), str(event.minus)))
        for event in case.log.events
        if event.action == "measure" and event.off_the_board and event.part == ref
    }
    if any(one.state.hand == mine for one in case.readings):
        return
    for unit in case.view.units(ref):
        gate = case.view.pins_with_role(ref, "gate", "base", unit=unit)
        near = case.view.pins_with_role(ref, "source", "emitter", unit=unit)
        if gate and near and frozenset((gate[0].key, near[0].key)) not in tried:
            yield gate[0], near[0]


def _touched(case: Case, stage: Stage) -> bool:
    refs = {*stage.high_side, *stage.low_side, stage.driver, stage.controller}
    for chain in stage.gate_chains:
        refs.update((*chain.series, *chain.turn_off, *chain.pull_down))
    return bool(refs & case.fresh)


def _was_low(case: Case) -> set[str]:
    """Return nets that read far below what they should, at any time in this life."""
    problem = case.problem
    found: set[str] = set()
    for i, one in enumerate(case.readings):
        low = problem.log_value[i] < 0.0 or problem.healthy[i] > 3.0 * one.value
        if low and not problem.at_least[i]:
            found.update(net for net in (one.plus.net, one.minus.net) if net)
    return found


def _ends(red: Pin | str, black: Pin | str) -> set[str | None]:
    return {
        red if isinstance(red, str) else red.net,
        black if isinstance(black, str) else black.net,
    }


def _read(case: Case, red: Pin | str, black: Pin | str) -> bool:
    ends = _ends(red, black)
    since = case.log.last_power_line
    return case.log.unreachable(*ends) or any(
        {one.plus.net, one.minus.net} == ends
        and one.state == case.now
        and one.line > since
        for one in case.readings
    )


def _disagree(
    case: Case, red: Pin | str, black: Pin | str, doubtful: Collection[int]
) -> bool:
    """Whether two readings of a pair disagree, and no third was taken."""
    ends = _ends(red, black)
    lines = [
        one.line
        for one in case.readings
        if {one.plus.net, one.minus.net} == ends
        and one.mode == "resistance"
        and one.state.hand is None
    ]
    return len(lines) == _TWO and bool(set(lines) & set(doubtful))


def _read_ever(case: Case, net: str) -> bool:
    ends: set[str | None] = {net, case.ground_of(net)}
    since = case.log.last_power_line
    return case.log.unreachable(*ends) or any(
        {one.plus.net, one.minus.net} == ends
        and one.state.hand is None
        and one.line > since
        for one in case.readings
    )


def _power(view: Outlook) -> Action:
    case = view.case
    sure = float(view.chance[view.ends.index(frozenset())])
    words = [
        one.event.word for one in case.timeline.placed if one.event.action == "power"
    ]
    stuck = failed_as_it_is(case)
    if sure < _SURE_ENOUGH or stuck:
        return Action(
            "stop",
            "this bench cannot settle it: nothing that it can measure tells more, and "
            f"something is still wrong with a chance of {share_text(1 - sure)}",
        )
    entry = supply_entry(case.circuit, case.view)
    if entry is None:
        return Action(
            "stop",
            "no supply input is known on this board: state one with --nominal "
            "NET=VOLTS, or power it up by hand with a current limit",
        )
    net, volts = entry
    watch = _watch(case)
    told = "" if volts else f"Nobody told the volts of {net}: find them first. "
    return Action(
        "power",
        "nothing that was measured speaks against it; what was not measured stays "
        f"unknown. {_still_open(view)}{told}Current limit first; watch "
        f"{', '.join(watch) or net}; off at once if the limit holds or anything heats",
        POWER_SECONDS,
        plus=net,
        minus=case.ground_of(net),
        volts_max=volts,
        amps_start=_AMPS_START,
        expected=(
            ("it runs", "done: load it, feel for heat, read the rails again"),
            ("the supply stays at its limit", "off: a rail is still held down"),
            ("it runs and dies", "off: the cause is still there; read all again"),
        ),
        notes=tuple(words),
    )


def _still_open(view: Outlook) -> str:
    """Say what may still be wrong, and that only the current limit can tell."""
    total: dict[str, float] = {}
    for one, share in zip(view.hypotheses, view.belief, strict=True):
        for ref in {f.ref for f, n in one.faults if view.case.piece(f.ref) == n}:
            total[ref] = total.get(ref, 0.0) + float(share)
    shown = [
        f"{ref} ({share_text(share)})"
        for ref, share in sorted(total.items(), key=lambda row: -row[1])
        if share >= _STILL_OPEN and ref not in view.case.fresh
    ][:3]
    if not shown:
        return ""
    return f"Not ruled out by any reading: {', '.join(shown)}; the limit will tell. "


def _watch(case: Case) -> Sequence[str]:
    found: dict[str, None] = {}
    for stage in case.circuit.stages:
        if _touched(case, stage):
            for net in (
                stage.input_rail or stage.input,
                stage.output_rail or stage.output,
            ):
                if net:
                    found[net] = None
    return tuple(found)[:4]
