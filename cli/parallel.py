"""``ohmtrail parallel``: devices that sit in parallel."""

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("parallel")
@board_options()
def command(request: Request) -> None:
    """List the devices that a meter cannot tell apart in circuit."""
    circuit = load_circuit(request)
    if request.json:
        from ohmtrail.cli._json import dump, parallel_json

        say(dump(parallel_json(circuit)))
        return
    from ohmtrail.cli.render.tables import print_table, wrap

    if not circuit.parallel_sets:
        say("no parallel devices recognised")
        return
    print_table(
        ("kind", "parts", "gates", "because"),
        [
            (one.kind, " ".join(one.parts), one.gates or "", one.because)
            for one in circuit.parallel_sets
        ],
    )
    say()
    say(
        wrap(
            "When one of a set shorts, all of it reads shorted. Removing one that "
            "clears the short proves nothing of its mates: replace the whole set."
        )
    )
