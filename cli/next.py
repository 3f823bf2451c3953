"""``ohmtrail next``: the one thing to do now."""

from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import Request, board_options
from ohmtrail.cli._output import say
from ohmtrail.cli._progress import progress

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.action import Action

__all__ = ["command", "headline"]


@click.command("next")
@board_options()
@click.option("--log", "log", metavar="FILE", help="The bench log; a case has its own.")
def command(request: Request, log: str | None) -> None:
    """Say what to do next: the action that saves most bench time for its own.

    Do it, write it down in the log, and ask again.
    """
    from ohmtrail.cli._checklists import weighed_log
    from ohmtrail.netanalysis.diagnosis.next_action import next_action

    with progress(3) as begin:
        weighed = weighed_log(request, log, begin)
        begin("looking for the next action")
        action = next_action(weighed, request.have)
    if request.json:
        from ohmtrail.cli._diagnosis_json import action_json
        from ohmtrail.cli._json import dump, warnings_json

        told = warnings_json(weighed.case.circuit.board)
        say(dump(action_json(action) | {"warnings": told}))
        return
    _print(action)


def _print(action: "Action") -> None:
    from ohmtrail.cli.render.tables import bold, wrap

    say(bold(headline(action)))
    say(wrap(action.why, indent="  ", first="  "))
    for seen, then in action.expected:
        say(wrap(f"{seen}: {then}", indent="      ", first="    - "))
    for note in action.notes:
        say(wrap(f"! {note}", indent="    ", first="  "))
    if action.seconds:
        say(f"  about {_time(action.seconds)}")


def headline(action: "Action") -> str:
    """Write an action in one line."""
    if action.action == "measure":
        hand = f" of {action.part}, in the hand" if action.part else ""
        return f"measure {action.mode}{hand}: red {action.plus}, black {action.minus}"
    if action.action in ("power", "inject"):
        volts = f"{action.volts_max:g} V at most" if action.volts_max else ""
        amps = f"limit {action.amps_start:g} A" if action.amps_start else ""
        limits = ", ".join(text for text in (volts, amps) if text)
        ends = f"plus {action.plus}, minus {action.minus}"
        return f"{action.action}: {ends}, {limits}"
    if action.action == "replace":
        return f"replace together: {' '.join(action.parts)}"
    return f"{action.action} {action.part or ''}".strip()


def _time(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
