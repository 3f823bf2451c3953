"""``ohmtrail summary``: what a file holds, and what of it was not used."""

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("summary")
@board_options()
def command(request: Request) -> None:
    """Say what a file holds, and what of it was not used."""
    circuit = load_circuit(request)
    question = None
    if circuit.board.format == "shared_case":
        from ohmtrail.importers.shared_case._read import read_case

        question = read_case(request.path).question
    if request.json:
        from ohmtrail.cli._json import dump, summary_json

        asked = {} if question is None else {"question": question}
        say(dump(summary_json(circuit) | asked))
        return
    from ohmtrail.cli.render.tables import listing, print_table, wrap

    board = circuit.board
    unfitted = sum(not part.fitted for part in board.parts)
    version = f" {board.version}" if board.version else ""
    say(wrap(f"{board.name}   ({board.format}{version})"))
    absent = f" ({unfitted} not fitted)" if unfitted else ""
    say(
        f"{len(board.parts)} parts{absent}, {len(board.nets)} nets, "
        f"{board.pin_count} pins, {len(board.sheets)} sheets"
    )
    say(listing("ground:", circuit.ground))
    say(
        f"{len(circuit.rails)} rails, {len(circuit.stages)} stages, "
        f"{len(circuit.parallel_sets)} parallel sets"
    )
    if question is not None:
        say(wrap(f"question: {question}", indent="  ", first=""))
        say("  'rank', 'next', 'report' and 'weigh' take its log without --log")
    from ohmtrail.netanalysis.lacking import lacking

    for one in lacking(board):
        say(wrap(one.what))
    if not board.unused:
        say("everything in the file was used")
        return
    say("\nMet and not used:")
    print_table(
        ("count>", "what", "where"),
        [(str(one.count), one.what, one.where) for one in board.unused],
    )
