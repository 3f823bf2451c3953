"""``ohmtrail nets``: every net with its pins."""

import click

from ohmtrail.cli._load import Request, board_options, load_board
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("nets")
@board_options()
def command(request: Request) -> None:
    """List every net with its pins, one-pin nets included."""
    board = load_board(request)
    if request.json:
        from ohmtrail.cli._json import dump, nets_json

        say(dump(nets_json(board)))
        return
    from ohmtrail.cli.render.tables import print_table

    print_table(
        ("net", "pins>", ""),
        [
            (net.name, str(len(net.pins)), " ".join(pin.key for pin in net.pins))
            for net in board.nets
        ],
    )
