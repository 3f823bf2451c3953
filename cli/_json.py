"""The stable JSON, made from the values in one place."""

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from ohmtrail.cli._value_json import value_json

if TYPE_CHECKING:
    from ohmtrail.importers._importer import Importer
    from ohmtrail.netanalysis.board import Board, Part
    from ohmtrail.netanalysis.checklist.model import Checklist, Step
    from ohmtrail.netanalysis.circuit import Circuit, Stage
    from ohmtrail.netanalysis.inject import InjectAnswer
    from ohmtrail.netanalysis.network.expectation import Expectation
    from ohmtrail.netanalysis.query import NetAnswer, NetPart
    from ohmtrail.netanalysis.short import ShortAnswer
    from ohmtrail.netanalysis.verdict import Decider, Verdict

__all__ = [
    "checklist_json",
    "dump",
    "expect_json",
    "formats_json",
    "inject_json",
    "measure_json",
    "net_json",
    "nets_json",
    "parallel_json",
    "part_json",
    "rails_json",
    "short_json",
    "stage_json",
    "stages_json",
    "summary_json",
    "warnings_json",
]

Json = dict[str, Any]


def dump(answer: Mapping[str, Any]) -> str:
    """Return the answer as text: ASCII, so that no terminal or pipe changes it."""
    return json.dumps(answer, allow_nan=False, separators=(", ", ": "))


def warnings_json(board: "Board") -> list[Json]:
    """Everything that the importer met and did not use, counted."""
    return [
        {"what": unused.what, "where": unused.where, "count": unused.count}
        for unused in board.unused
    ]


def summary_json(circuit: "Circuit") -> Json:
    """Make the answer of ``summary``."""
    from ohmtrail.netanalysis.lacking import lacking

    board = circuit.board
    told = replace(board, unused=(*board.unused, *lacking(board)))
    return {
        "name": board.name,
        "format": board.format,
        "version": board.version,
        "parts": len(board.parts),
        "nets": len(board.nets),
        "pins": board.pin_count,
        "sheets": len(board.sheets),
        "ground": list(circuit.ground),
        "warnings": warnings_json(told),
    }


def nets_json(board: "Board") -> Json:
    """Make the answer of ``nets``."""
    return {
        "nets": [
            {"name": net.name, "pins": [f"{pin.ref}.{pin.number}" for pin in net.pins]}
            for net in board.nets
        ],
        "warnings": warnings_json(board),
    }


def _net_part(part: "NetPart", *, beyond: bool) -> Json:
    made: Json = {
        "ref": part.ref,
        "value": part.value,
        "kind": part.kind,
        "pins": list(part.pins),
        "role": part.role,
        "fitted": part.fitted,
    }
    if beyond:
        made["via"] = list(part.via)
        made["net"] = part.net
    return made


def net_json(board: "Board", answer: "NetAnswer") -> Json:
    """Make the answer of ``net``."""
    return {
        "net": answer.net,
        "parts": [_net_part(part, beyond=False) for part in answer.parts],
        "beyond": [_net_part(part, beyond=True) for part in answer.beyond],
        "warnings": warnings_json(board),
    }


def part_json(
    circuit: "Circuit", part: "Part", mates: tuple[str, ...], stages: tuple[str, ...]
) -> Json:
    """Make the answer of ``part``; position only when known."""
    kind = circuit.kinds.get(part.ref)
    made: Json = {
        "ref": part.ref,
        "value": part.value,
        "kind": kind.kind if kind is not None else "other",
        "sort": kind.sort if kind is not None else "",
        "because": kind.because if kind is not None else "",
        "fitted": part.fitted,
        "sheet": part.sheet,
        "pins": [],
        "parallel_with": list(mates),
        "stages": list(stages),
    }
    for pin in part.pins:
        role = circuit.roles.get((part.ref, pin.number))
        row: Json = {"pin": pin.number, "name": pin.name, "net": pin.net}
        row["role"] = role.role if role is not None else ""
        row["inferred"] = role.inferred if role is not None else False
        if pin.x_mm is not None and pin.y_mm is not None:
            row.update(x_mm=pin.x_mm, y_mm=pin.y_mm, side=pin.side)
        made["pins"].append(row)
    if part.x_mm is not None and part.y_mm is not None:
        made.update(x_mm=part.x_mm, y_mm=part.y_mm, side=part.side)
    made.update(value_json(part, made["kind"]))
    made["warnings"] = warnings_json(circuit.board)
    return made


def rails_json(circuit: "Circuit") -> Json:
    """Make the answer of ``rails``."""
    return {
        "rails": [
            {
                "net": rail.net,
                "volts": rail.volts,
                "source": rail.source,
                "feeds": list(rail.feeds),
                "loads": list(rail.loads),
                "because": rail.because,
                "volts_because": rail.volts_because,
            }
            for rail in circuit.rails
        ],
        "warnings": warnings_json(circuit.board),
    }


def parallel_json(circuit: "Circuit") -> Json:
    """Make the answer of ``parallel``."""
    return {
        "sets": [
            {
                "kind": one.kind,
                "parts": list(one.parts),
                "gates": one.gates,
                "because": one.because,
            }
            for one in circuit.parallel_sets
        ],
        "warnings": warnings_json(circuit.board),
    }


_STAGE_LISTS = (
    "high_side low_side inductors bootstrap current_sense snubber input_caps "
    "output_caps"
).split()


def stage_json(stage: "Stage") -> Json:
    """Make one entry of ``stages``."""
    made: Json = {
        "id": stage.id,
        "kind": stage.kind,
        "switch_nodes": list(stage.switch_nodes),
        "input": stage.input,
        "output": stage.output,
        "input_rail": stage.input_rail,
        "output_rail": stage.output_rail,
        "controller": stage.controller,
        "driver": stage.driver,
    }
    for name in _STAGE_LISTS:
        made[name] = list(getattr(stage, name))
    made["gate_chains"] = [
        {
            "switch": chain.switch,
            "gate": chain.gate,
            "driver_pin": chain.driver_pin,
            "series": list(chain.series),
            "turn_off": list(chain.turn_off),
            "pull_down": list(chain.pull_down),
        }
        for chain in stage.gate_chains
    ]
    made["missing"] = list(stage.missing)
    made["because"] = list(stage.because)
    return made


def stages_json(circuit: "Circuit", stages: "tuple[Stage, ...]") -> Json:
    """Make the answer of ``stages``."""
    return {
        "stages": [stage_json(stage) for stage in stages],
        "warnings": warnings_json(circuit.board),
    }


def formats_json(importers: "Iterable[Importer]") -> Json:
    """Make the answer of ``formats``."""
    return {
        "formats": [
            {
                "name": one.name,
                "title": one.title,
                "suffixes": list(one.suffixes),
                "standard": one.standard,
                "cannot_tell": list(one.cannot_tell),
            }
            for one in importers
        ]
    }


def measure_json(measure: "Decider | None", seconds: float = 10.0) -> Json | None:
    """Make the ``next`` action of a verdict; 10 s a reading (common practice)."""
    if measure is None:
        return None
    return {
        "action": "measure",
        "mode": measure.mode,
        "plus": measure.plus,
        "minus": measure.minus,
        "seconds": seconds,
        "why": measure.why,
        "expected": [{"if": read, "then": then} for read, then in measure.expected],
    }


def short_json(
    board: "Board", answer: "ShortAnswer", verdict: "Verdict | None"
) -> Json:
    """Make the answer of ``short``."""
    made: Json = {
        "net": answer.net,
        "to": answer.to,
        "parts": [
            {
                "ref": one.ref,
                "kind": one.kind,
                "role": one.role,
                "pins": list(one.pins),
                "net": one.net,
                "via": list(one.via),
                "assumes": list(one.assumes),
                "prior": one.prior,
            }
            for one in answer.parts
        ],
        "cut_points": [
            {"ref": cut.ref, "separates": [list(cut.near), list(cut.far)]}
            for cut in answer.cut_points
        ],
    }
    if verdict is not None:
        made["verdict"] = verdict.verdict
        made["because"] = list(verdict.because)
        made["measure"] = measure_json(verdict.measure)
    made["warnings"] = warnings_json(board)
    return made


def inject_json(board: "Board", answer: "InjectAnswer") -> Json:
    """Make the answer of ``inject``."""
    setter, heat = answer.set_by, answer.heat
    made: Json = {
        "net": answer.net,
        "plus": answer.plus,
        "minus": answer.minus,
        "volts_max": answer.volts_max,
        "amps_start": answer.amps_start,
        "set_by": None
        if setter is None
        else {
            "net": setter.net,
            "via": list(setter.via),
            "because": setter.because or setter.why,
        },
        "why": answer.why,
        "rails_reached": list(answer.rails_reached),
        "unknown": list(answer.unknown),
        "missing": list(answer.missing),
        "cautions": list(answer.cautions),
        "look_for": list(answer.look_for),
    }
    if heat is not None:
        made["heat"] = asdict(heat)
        if math.isinf(heat.ohms):
            made["heat"]["ohms"] = "OL"
    told = [{"what": text, "where": net, "count": 1} for net, text in answer.warnings]
    made["warnings"] = told + warnings_json(board)
    return made


def _step_json(step: "Step") -> Json:
    expect = step.expect
    return {
        "n": step.n,
        "phase": step.phase,
        "stage": step.stage,
        "mode": step.mode,
        "plus": step.plus,
        "minus": step.minus,
        "expect": None
        if expect is None
        else {
            "low": expect.low,
            "typical": expect.typical,
            "high": expect.high,
            "unit": expect.unit,
        },
        "swapped": step.swapped,
        "source": step.source,
        "why": step.why,
        "if_low": step.if_low,
        "if_high": step.if_high,
        "x_mm": step.x_mm,
        "y_mm": step.y_mm,
        "side": step.side,
        "title": step.title,
        "detail": step.detail,
        "row": step.row,
        "plus_name": step.plus_name,
        "minus_name": step.minus_name,
        "parts": list(step.parts),
        "lifted": list(step.lifted),
    }


def checklist_json(board: "Board", checklist: "Checklist") -> Json:
    """Make the answer of ``checklist``."""
    return {
        "board": checklist.board,
        "sections": [
            {
                "rail": section.rail,
                "volts": section.volts,
                "unknown": list(section.unknown),
                "path": list(section.path),
                "steps": [_step_json(step) for step in section.steps],
            }
            for section in checklist.sections
        ],
        "cautions": list(checklist.cautions),
        "warnings": warnings_json(board),
    }


def _reading(value: float | None) -> float | str | None:
    return "OL" if value is not None and math.isinf(value) else value


def expect_json(board: "Board", found: "Expectation") -> Json:
    """Make the answer of ``expect``."""
    return {
        "mode": found.mode,
        "plus": found.plus,
        "minus": found.minus,
        "low": _reading(found.low),
        "typical": _reading(found.typical),
        "high": _reading(found.high),
        "unit": found.unit,
        "because": list(found.because),
        "source": found.source,
        "notes": list(found.notes),
        "swap": found.swap,
        "swapped": _reading(found.swapped),
        "assumed": found.assumed,
        "warnings": warnings_json(board),
    }
