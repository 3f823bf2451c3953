"""``ohmtrail inject``: how far a bench supply may go into a shorted rail."""

from typing import TYPE_CHECKING

import click

from ohmtrail.cli._errors import warn
from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._ohms import read_ohms
from ohmtrail.cli._output import say

if TYPE_CHECKING:
    from ohmtrail.netanalysis.inject import InjectAnswer

__all__ = ["command"]

_SHOWN = 12


@click.command("inject")
@board_options()
@click.argument("net", metavar="NET")
@click.option(
    "--ohms", metavar="X", callback=read_ohms, help="The reading: what heats how much?"
)
@click.option(
    "--lifted", metavar="REFS", default="", help="Parts taken off, by commas."
)
def command(request: Request, net: str, ohms: float | None, lifted: str) -> None:
    """Give the limits for injecting into NET, and what they rest on.

    Never above the lowest nominal voltage of all rails that the short may reach;
    no limit at all while one of them is unknown. Nothing leads through a part that
    is off the board: name it with --lifted.
    """
    from ohmtrail.netanalysis.inject import inject
    from ohmtrail.netanalysis.probe_points import find_net, find_part

    circuit = load_circuit(request)
    refs = [ref for ref in lifted.replace(",", " ").split() if ref]
    off = frozenset(find_part(circuit.board, ref).ref for ref in refs)
    answer = inject(circuit, find_net(circuit.board, net), ohms, off=off)
    for _, text in answer.warnings:
        warn(text)
    if request.json:
        from ohmtrail.cli._json import dump, inject_json

        say(dump(inject_json(circuit.board, answer)))
        return
    _print(answer)


def _print(answer: "InjectAnswer") -> None:
    from ohmtrail.cli.render.tables import bold, wrap

    if answer.volts_max is None:
        say(bold(f"no injection into {answer.net} yet"))
    else:
        say(
            bold(
                f"inject into {answer.net}: never above {answer.volts_max:g} V; "
                f"start at {answer.amps_start:g} A"
            )
        )
        say(wrap(f"plus to {answer.plus}, minus to {answer.minus}", "  "))
    say(wrap(answer.why, "  "))
    for text in answer.missing[:_SHOWN]:
        say(wrap(text, "      ", first="    - "))
    if len(answer.missing) > _SHOWN:
        say(f"    and {len(answer.missing) - _SHOWN} more (--json lists them)")
    if answer.heat is not None:
        say(wrap(answer.heat.text, "  "))
    say()
    names = " ".join(answer.rails_reached)
    say(wrap(f"in reach: {names}", "  ", first=""))
    for title, texts in (
        ("Look for", answer.look_for if answer.volts_max is not None else ()),
        ("Cautions", answer.cautions),
    ):
        if texts:
            say(f"\n{bold(title)}")
            for text in texts:
                say(wrap(text, "  ", first="- "))
