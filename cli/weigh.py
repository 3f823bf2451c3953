"""``ohmtrail weigh``: what the readings make of somebody's suggestion."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._files import read_file
from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._logs import load_log_beside, log_path
from ohmtrail.cli._output import say
from ohmtrail.cli._progress import progress

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.weigh import Weigher, Weighing

__all__ = ["command"]

#: A file of suggestions is no book.
_BYTES_MAX = 1_000_000
_CLAIMS_MAX = 500
_ORDER = {"fits": 0, "open": 1, "contradicted": 2}


@click.command("weigh")
@board_options()
@click.option("--log", "log", metavar="FILE", help="The bench log; a case has its own.")
@click.option("--claim", metavar="TEXT", help="The suggestion, in plain words.")
@click.option("--claims", metavar="FILE", help="Suggestions, one a line: a table.")
@click.option(
    "--answer",
    metavar="FILE",
    help="Add the suggestion to FILE, for whoever asked: it goes into --claims there.",
)
def command(
    request: Request,
    log: str | None,
    claim: str | None,
    claims: str | None,
    answer: str | None,
) -> None:
    """Weigh a suggestion against the readings of a bench log.

    \b
    Refs, lists and ranges:   "Q501", "Q12/Q13 shorted", "C5-C9 leaky"
    What parts are, or where: "the gate resistors of Q501", "the high sides of
    phase 2", "both switches of the pair", "the load on VCORE"

    It fits, is contradicted (by which lines), or is open: then the reading that
    would decide is named.
    """  # noqa: D301
    if (claim is None) == (claims is None):
        raise click.UsageError("expected one of --claim TEXT and --claims FILE")
    if answer is not None and claim is None:
        raise click.UsageError("--answer goes with --claim TEXT")
    from ohmtrail.netanalysis.diagnosis.claim_words import ClaimError
    from ohmtrail.netanalysis.diagnosis.weigh import Weigher

    circuit, bench_log = load_log_beside(log_path(request, log), load_circuit(request))
    weigher = Weigher(circuit, bench_log, request.have)
    if claims is not None:
        _table(request, weigher, Path(claims))
        return
    try:
        weighed = weigher.weigh(claim or "")
    except ClaimError as error:
        raise click.ClickException(str(error)) from error
    if answer is not None:
        _add(Path(answer), claim or "")
    if request.json:
        from ohmtrail.cli._diagnosis_json import weighing_json
        from ohmtrail.cli._json import dump

        say(dump(weighing_json(circuit.board, weighed)))
        return
    _print(weighed)


def _add(path: Path, claim: str) -> None:
    """Add a suggestion to a file of them, a line each."""
    try:
        with path.open("a", encoding="utf-8", newline="") as file:
            if not file.tell():
                file.write("# suggestions: ohmtrail weigh BOARD --log LOG --claims\n")
            file.write(" ".join(claim.split()) + "\n")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise click.ClickException(f"{path}: {reason} (--answer)") from error


def _print(answer: "Weighing") -> None:
    from ohmtrail.cli.next import headline
    from ohmtrail.cli.render.tables import bold, wrap
    from ohmtrail.netanalysis.diagnosis.words import share_text

    several = len(answer.meanings) > 1
    for one in answer.meanings:
        what = "; ".join(_item(parts, fault) for parts, fault in _items(one.claim))
        say(bold(f"{one.verdict}: {what}"))
        for note in one.claim.notes:
            say(wrap(f"({note})", indent="   ", first="  "))
        if one.verdict == "fits":
            say(f"  probability {share_text(one.probability)}, given this log")
        by = "contradicted by " if one.verdict == "contradicted" else ""
        for text in one.because:
            say(wrap(f"{by}{text}", indent="      ", first="    - "))
        if one.decider is not None:
            say(wrap(f"would decide: {headline(one.decider)}", first="  "))
            for seen, then in one.decider.expected:
                say(wrap(f"{seen}: {then}", indent="      ", first="    - "))
    if several:
        say(wrap(f"The suggestion has {len(answer.meanings)} meanings; say which."))


def _items(claim: object) -> list[tuple[tuple[str, ...], str | None]]:
    items = getattr(claim, "items", ())
    return [(one.parts or one.nets, one.fault) for one in items]


def _item(parts: tuple[str, ...], fault: str | None) -> str:
    shown = " ".join(parts[:8]) + (f" and {len(parts) - 8} more" * (len(parts) > 8))
    return f"{shown} {fault or 'bad'}"


def _read(path: Path) -> list[tuple[int, str]]:
    """Return (line, suggestion); empty lines and those that begin with # are none."""
    data = read_file(path, _BYTES_MAX + 1)
    if len(data) > _BYTES_MAX:
        raise click.ClickException(f"{path}: found more than {_BYTES_MAX} bytes")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise click.ClickException(f"{path}: found bytes that are no UTF-8") from error
    rows = [(i, line.strip()) for i, line in enumerate(text.splitlines(), 1)]
    found = [(i, line) for i, line in rows if line and not line.startswith("#")]
    if not found:
        raise click.ClickException(f"{path}: found no suggestion, expected one a line")
    if len(found) > _CLAIMS_MAX:
        raise click.ClickException(
            f"{path}: found {len(found)} suggestions, expected {_CLAIMS_MAX} at most"
        )
    return found


def _table(request: Request, weigher: "Weigher", path: Path) -> None:
    from ohmtrail.netanalysis.diagnosis.claim_words import ClaimError

    answers: list[tuple[int, Weighing]] = []
    errors: list[tuple[int, str, str]] = []
    rows = _read(path)
    with progress(len(rows)) as begin:
        for line, text in rows:
            begin(f"suggestion of line {line}")
            try:
                answers.append((line, weigher.weigh(text)))
            except ClaimError as error:
                errors.append((line, text, str(error)))
    answers.sort(key=lambda row: (_ORDER[row[1].verdict], -row[1].probability))
    if request.json:
        from ohmtrail.cli._diagnosis_json import weighings_json
        from ohmtrail.cli._json import dump

        say(dump(weighings_json(weigher.circuit.board, answers, errors)))
        return
    from ohmtrail.cli.next import headline
    from ohmtrail.cli.render.tables import print_table

    table = []
    for line, one in answers:
        lines = (
            f"line{'s' * (len(one.by) > 1)} {' '.join(map(str, one.by))}"
            if one.by
            else ""
        )
        told = headline(one.decider) if one.decider is not None else lines
        table.append((one.verdict, str(line), one.text, told))
    table += [("not understood", str(line), text, why) for line, text, why in errors]
    print_table(("verdict", "line>", "suggestion", "by which, or what decides"), table)
