"""``ohmtrail summary``: what a file holds, and what of it was not used."""

import click

from ohmtrail.cli._load import Request, board_options, load_circuit

__all__ = ["command"]


@click.command("summary")
@board_options()
def command(request: Request) -> None:
    """Say what a file holds, and what of it was not used."""
    circuit = load_circuit(request)
    if request.json:
        from ohmtrail.cli._json import dump, summary_json

        click.echo(dump(summary_json(circuit)))
        return
    from ohmtrail.cli.render.tables import listing, print_table, wrap

    board = circuit.board
    unfitted = sum(not part.fitted for part in board.parts)
    version = f" {board.version}" if board.version else ""
    click.echo(wrap(f"{board.name}   ({board.format}{version})"))
    absent = f" ({unfitted} not fitted)" if unfitted else ""
    click.echo(
        f"{len(board.parts)} parts{absent}, {len(board.nets)} nets, "
        f"{board.pin_count} pins, {len(board.sheets)} sheets"
    )
    click.echo(listing("ground:", circuit.ground))
    click.echo(
        f"{len(circuit.rails)} rails, {len(circuit.stages)} stages, "
        f"{len(circuit.parallel_sets)} parallel sets"
    )
    if not board.unused:
        click.echo("everything in the file was used")
        return
    click.echo("\nMet and not used:")
    print_table(
        ("count>", "what", "where"),
        [(str(one.count), one.what, one.where) for one in board.unused],
    )
