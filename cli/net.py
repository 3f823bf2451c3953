"""``ohmtrail net``: the parts on a net, and those beyond its links."""

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("net")
@board_options()
@click.argument("net", metavar="NET")
def command(request: Request, net: str) -> None:
    """List the parts on NET, and those beyond its links.

    NET may be the last part of its path, or a pad (Q12.4) on it.
    """
    from ohmtrail.netanalysis.probe_points import find_net
    from ohmtrail.netanalysis.query import NetPart, parts_on_net

    circuit = load_circuit(request)
    answer = parts_on_net(circuit, find_net(circuit.board, net))
    if request.json:
        from ohmtrail.cli._json import dump, net_json

        say(dump(net_json(circuit.board, answer)))
        return
    from ohmtrail.cli.render.tables import bold, print_table, wrap

    def row(part: NetPart) -> tuple[str, ...]:
        value = part.value if part.fitted else f"{part.value} (not fitted)".strip()
        return part.ref, value, part.kind, " ".join(part.pins), part.role

    aliases = circuit.board.net_by_name[answer.net].aliases
    also = f", also called {', '.join(aliases)}" if aliases else ""
    say(wrap(f"{answer.net}: {len(answer.parts)} parts{also}"))
    print_table(("ref", "value", "kind", "pins", "role"), map(row, answer.parts))
    if not answer.beyond:
        say("\nNo link leads further.")
        return
    say(f"\n{bold('Beyond its links')} ({len(answer.beyond)} parts):")
    print_table(
        ("ref", "value", "kind", "net", "via"),
        [
            (part.ref, part.value, part.kind, part.net, " ".join(part.via))
            for part in answer.beyond
        ],
    )
