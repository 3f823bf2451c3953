"""``ohmtrail rails``: supply rails with volts, source and loads."""

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("rails")
@board_options()
def command(request: Request) -> None:
    """List supply rails with volts, source, what they feed, and their loads."""
    circuit = load_circuit(request)
    if request.json:
        from ohmtrail.cli._json import dump, rails_json

        say(dump(rails_json(circuit)))
        return
    from ohmtrail.cli.render.tables import print_table, wrap

    if not circuit.rails:
        say("no supply rail recognised")
        return
    print_table(
        ("rail", "volts>", "why", "source", "feeds", "loads"),
        [
            (
                rail.net,
                "?" if rail.volts is None else f"{rail.volts:g}",
                rail.volts_because,
                rail.source or "?",
                _some(rail.feeds),
                _some(rail.loads),
            )
            for rail in circuit.rails
        ],
    )
    if any(rail.volts is None for rail in circuit.rails):
        say()
        say(wrap("? is not known; state a voltage with --nominal NET=VOLTS"))


def _some(names: tuple[str, ...]) -> str:
    shown = " ".join(names[:8])
    return shown if len(names) <= 8 else f"{shown} and {len(names) - 8} more"
