"""Steps of a rail: look, rail to ground, injection, before power."""

from ohmtrail.netanalysis.checklist.bench import Bench
from ohmtrail.netanalysis.checklist.expectations import (
    PRACTICE,
    rail_expect,
    volts_expect,
)
from ohmtrail.netanalysis.checklist.holder_steps import real_holders
from ohmtrail.netanalysis.checklist.model import (
    LIMITED,
    LOOK,
    POWER,
    Expect,
    Step,
)
from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.short import ShortAnswer

__all__ = [
    "before_power_steps",
    "injection_steps",
    "look_step",
    "rail_steps",
]

_LOOK_MAX = 8


def look_step(bench: Bench, net: str, answer: ShortAnswer | None) -> Step:
    """Look around the rail first: it costs a minute and often ends the hunt."""
    parts = [one.ref for one in real_holders(answer)[:_LOOK_MAX]]
    if not parts:
        parts = list(bench.view.refs(net)[:_LOOK_MAX])
    return bench.note(
        f"Look, under the microscope, around {net}",
        LOOK,
        "Burnt, cracked, wet, reworked, missing, bridged with solder? First around "
        "these parts; then ask what was tried before.",
        parts=parts,
        row="look",
    )


def _cold_expect(bench: Bench, net: str) -> tuple[Expect | None, str]:
    if bench.is_rail(net):
        return rail_expect(bench.volts(net))
    volts = bench.cold_volts(net)
    if volts is None:
        return None, "unknown: no supply rail; compare with a sister or a good board"
    expect, source = rail_expect(volts)
    return expect, f"{source}, through the inductor"


def rail_steps(bench: Bench, net: str, *, compact: bool = False) -> list[Step]:
    """Read the rail to ground: resistance both ways, then diode mode."""
    rail = bench.points.net(net)
    ground = bench.points.ground(rail)
    expect, source = _cold_expect(bench, net)
    steps = bench.reading(
        "Rail to ground",
        "resistance",
        rail,
        ground,
        expect=expect,
        source=source,
        why="The first reading: is it held down at all? Write it down; it is "
        "compared with every later one.",
        row="rail",
        if_low="Held down, unless that is its load: 'short NET --ohms X' judges it. "
        "A continuity beep proves nothing.",
        if_high="No load is connected, or the path to it is open.",
    )
    if compact:
        return steps
    steps += bench.reading(
        "Rail to ground, leads swapped",
        "resistance",
        ground,
        rail,
        expect=None,
        source="beside the reading before",
        why="Silicon reads differently both ways; a short reads the same.",
        if_low="Same both ways: copper, capacitor or a shorted part.",
        if_high="Differs: a junction conducts; that is a chip, not a dead short.",
        row="rail swapped",
    )
    steps += bench.reading(
        "Rail, diode mode (red on ground)",
        "diode",
        ground,
        rail,
        expect=None,
        source=f"{PRACTICE}: 0.3 to 0.7 V over a chip's clamp diodes; a large load "
        "reads lower; compare with a good board",
        why="Surveys all chips on the rail at once.",
        if_low="0.00x: shorted, or a load of a few ohms.",
        if_high="OL: nothing on the rail conducts; is it connected?",
        row="rail diode",
    )
    return steps


def injection_steps(bench: Bench, net: str) -> list[Step]:
    """Inject below the lowest rail that the short may reach; not at all if unknown."""
    if "drop" not in bench.have or bench.view.is_ground(net):
        return []
    if not bench.circuit.ground:
        return []
    answer = inject(bench.circuit, net, index=bench.injection)
    reach = answer.reach
    if reach.volts_max is None:
        shown = ", ".join(reach.unknown[:6])
        more = f" and {len(reach.unknown) - 6} more" if len(reach.unknown) > 6 else ""
        return [
            bench.note(
                "No injection yet",
                LIMITED,
                f"The short may lead to rails of no known safe voltage: {shown}{more}."
                " State them with --nominal NET=VOLTS first; 'inject' says more.",
                row="injection",
            )
        ]
    rail = bench.points.net(net)
    ends = (rail, bench.points.ground(rail))
    red, black = ends if answer.plus == net else ends[::-1]
    others = [one for one in reach.rails if one != net]
    why = "Finds the culprit among many capacitors: feel or see what heats, and follow "
    why += "the voltage drop; it is lowest at the culprit."
    why += f" Start at {answer.amps_start:g} A."
    if others:
        why += f" May reach {', '.join(others[:4])}"
        why += f" and {len(others) - 4} more." if len(others) > 4 else "."
    return bench.reading(
        f"Only while it reads short: inject, never above {reach.volts_max:g} V",
        "drop",
        red,
        black,
        expect=None,
        source=f"limit: the lowest nominal voltage reached, {reach.set_by}"
        + (f", through {' '.join(reach.via)}" if reach.via else ""),
        why=why,
        if_low="The drop is lowest nearest the culprit.",
        if_high="At the limit and no current: it is no short.",
        phase=LIMITED,
        row="injection",
    )


def before_power_steps(bench: Bench, net: str, *, compact: bool) -> list[Step]:
    """Repeat the cold checks, then power under a limit, then full power."""
    rail = bench.points.net(net)
    ground = bench.points.ground(rail)
    expect, source = _cold_expect(bench, net)
    volts, volts_source = volts_expect(bench.volts(net))
    again = bench.reading(
        "After the repair, before power: rail to ground again",
        "resistance",
        rail,
        ground,
        expect=expect,
        source=source,
        why="Repeat every cold step of this section with the new parts in; sister "
        "stages must read alike.",
        if_low="Not ready: something still holds it down.",
        if_high="Path or load open.",
        row="again",
    )
    if not bench.is_rail(net):
        # What is no rail has no voltage that a meter could judge.
        return again
    limited = bench.reading(
        "Powered with the current limit set low",
        "voltage",
        rail,
        ground,
        expect=volts,
        source=volts_source,
        why="Feed the board at its own input; limit set before connecting. Off at "
        "once if the supply stays at its limit or anything heats.",
        if_low="Limit reached, or the rail's source does not start.",
        if_high="Off at once: regulation lost, the load is at risk.",
        phase=LIMITED,
        row="limited",
    )
    full = bench.reading(
        "Full power, with load",
        "voltage",
        rail,
        ground,
        expect=volts,
        source=volts_source,
        why="Only when all before it was as expected; watch heat for some minutes.",
        if_low="Source overloaded or limited.",
        if_high="Off at once.",
        phase=POWER,
        row="power",
    )
    return [*again, *limited, *(full if not compact else [])]
