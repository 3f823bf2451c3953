"""``ohmtrail share``: board, log and question in one file, for a second opinion."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._errors import warn
from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._logs import load_log
from ohmtrail.cli._output import say, write_bytes

if TYPE_CHECKING:
    from ohmtrail.netanalysis.board import Board

__all__ = ["command"]


@click.command("share")
@board_options()
@click.option("--log", "log", required=True, metavar="FILE", help="The bench log.")
@click.option("--question", required=True, metavar="TEXT", help="What you ask.")
@click.option("--out", required=True, metavar="FILE", help="The file to write.")
def command(request: Request, log: str, question: str, out: str) -> None:
    r"""Write board, bench log and question into one file that opens as a BOARD.

    \b
    Who gets it:  ohmtrail summary FILE
                  ohmtrail rank FILE
                  ohmtrail weigh FILE --claim TEXT --answer ANSWERS
    You:          ohmtrail weigh BOARD --log LOG --claims ANSWERS

    The log's own columns (customer, serial) are left out; its notes are in it.
    """
    from ohmtrail.importers.shared_case._case import SharedCase
    from ohmtrail.importers.shared_case._read import read_case
    from ohmtrail.importers.shared_case._write import case_bytes
    from ohmtrail.netanalysis.diagnosis.log_csv import log_csv
    from ohmtrail.netanalysis.diagnosis.private import (
        hidden,
        private_texts,
        without_private,
    )

    question = " ".join(question.split())
    if not question:
        raise click.UsageError("found an empty question, expected what you ask")
    circuit = load_circuit(request)
    bench_log = load_log(Path(log), circuit.board)
    if bench_log.extra_columns:
        warn(f"left out of the log: {', '.join(bench_log.extra_columns)}")
    board = _without_folders(circuit.board, request)
    board = replace(board, stated_volts=tuple(circuit.stated_volts.items()))
    text = log_csv(without_private(bench_log), circuit.board, keep_lines=True)
    name = hidden(Path(log).stem, private_texts(bench_log))
    data = case_bytes(SharedCase(board, text, f"{name}.csv", question))
    write_bytes(data, out, "a shared case")
    digest = read_case(Path(out)).digest
    if request.json:
        from ohmtrail.cli._json import dump

        say(dump({"file": out, "bytes": len(data), "sha256": digest}))
        return
    kilobytes = max(1, round(len(data) / 1000))
    say(f"{out}: {kilobytes} kB, contents {digest[:12]}; it opens as a BOARD")


def _without_folders(board: "Board", request: Request) -> "Board":
    """Take the names of the owner's folders out of what was not used."""
    folders: set[str] = set()
    for path in (request.path, *request.views):
        folders |= {str(path.parent), str(path.parent.absolute())}
    folders.add(str(Path.cwd()))
    folders -= {".", "/", ""}
    ordered = sorted(folders, key=lambda folder: -len(folder))

    def bare(text: str) -> str:
        for folder in ordered:
            for mark in ("/", "\\"):
                text = text.replace(f"{folder}{mark}", "")
        return text

    unused = (
        replace(one, what=bare(one.what), where=bare(one.where)) for one in board.unused
    )
    return replace(board, unused=tuple(unused))
