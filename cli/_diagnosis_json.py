"""The stable JSON of `rank`, `next` and `weigh`."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from ohmtrail.cli._json import warnings_json

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.diagnosis.action import Action
    from ohmtrail.netanalysis.diagnosis.claims import Claim
    from ohmtrail.netanalysis.diagnosis.rank import Ranking
    from ohmtrail.netanalysis.diagnosis.weigh import Meaning, Weighing

__all__ = ["action_json", "ranking_json", "weighing_json", "weighings_json"]


def action_json(action: "Action") -> dict[str, Any]:
    """Return an action with the keys that its kind has."""
    made: dict[str, Any] = {"action": action.action}
    kind = action.action
    if kind == "measure":
        made |= {"mode": action.mode, "plus": action.plus, "minus": action.minus}
        if action.part is not None:
            made["part"] = action.part
    elif kind in ("look", "lift", "fit"):
        made["part"] = action.part
    elif kind in ("inject", "power"):
        made |= {
            "plus": action.plus,
            "minus": action.minus,
            "volts_max": action.volts_max,
            "amps_start": action.amps_start,
        }
    elif kind == "replace":
        made["parts"] = list(action.parts)
    made["seconds"] = action.seconds
    made["why"] = action.why
    made["expected"] = [{"if": seen, "then": then} for seen, then in action.expected]
    made["notes"] = list(action.notes)
    return made


def ranking_json(board: "Board", ranking: "Ranking") -> dict[str, Any]:
    """Return a ranking."""
    return {
        "suspects": [
            {
                "parts": list(one.parts),
                "fault": one.fault,
                "probability": one.probability,
                "because": list(one.because),
            }
            for one in ranking.suspects
        ],
        "replace": list(ranking.replace),
        "inspect": [ref for ref, _ in ranking.inspect],
        "inspect_how": dict(ranking.inspect),
        "cleared": [
            {"ref": one.ref, "of": one.of, "because": one.because}
            for one in ranking.cleared
        ],
        "contradictions": list(ranking.contradictions),
        "confident": ranking.confident,
        "healthy": ranking.healthy,
        "warnings": warnings_json(board),
    }


def weighing_json(board: "Board", answer: "Weighing") -> dict[str, Any]:
    """Return what the readings make of a suggestion."""
    return _weighing(answer) | {"warnings": warnings_json(board)}


def weighings_json(
    board: "Board",
    answers: "Iterable[tuple[int, Weighing]]",
    errors: Iterable[tuple[int, str, str]],
) -> dict[str, Any]:
    """Return a file of suggestions, best first, and what was not understood."""
    return {
        "claims": [{"line": line} | _weighing(one) for line, one in answers],
        "not_understood": [
            {"line": line, "text": text, "why": why} for line, text, why in errors
        ],
        "warnings": warnings_json(board),
    }


def _weighing(answer: "Weighing") -> dict[str, Any]:
    decider = answer.decider
    return {
        "text": answer.text,
        "claim": [item for one in answer.meanings for item in _claim(one.claim)],
        "verdict": answer.verdict,
        "by": list(answer.by),
        "decider": action_json(decider) if decider is not None else None,
        "probability": answer.probability,
        "meanings": [_meaning(one) for one in answer.meanings],
    }


def _claim(claim: "Claim") -> list[dict[str, Any]]:
    return [
        {
            "parts": list(item.parts),
            "fault": item.fault,
            "every": item.every,
            "pins": [pin.key for pin in item.pins],
            "nets": list(item.nets),
        }
        for item in claim.items
    ]


def _meaning(one: "Meaning") -> dict[str, Any]:
    return {
        "claim": _claim(one.claim),
        "notes": list(one.claim.notes),
        "verdict": one.verdict,
        "probability": one.probability,
        "by": list(one.by),
        "because": list(one.because),
        "decider": action_json(one.decider) if one.decider is not None else None,
    }
