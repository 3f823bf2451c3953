"""The stable JSON of `rank` and `next`."""

from typing import TYPE_CHECKING, Any

from ohmtrail.cli._json import warnings_json

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.diagnosis.action import Action
    from ohmtrail.netanalysis.diagnosis.rank import Ranking

__all__ = ["action_json", "ranking_json"]


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
