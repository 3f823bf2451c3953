"""``ohmtrail rank``: who is suspected, and what follows for the repair."""

from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import Request, board_options
from ohmtrail.cli._output import say
from ohmtrail.cli._progress import progress

if TYPE_CHECKING:
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.diagnosis.case import Case
    from ohmtrail.netanalysis.diagnosis.rank import Ranking

__all__ = ["command"]

_SHOWN = 8


@click.command("rank")
@board_options()
@click.option("--log", "log", metavar="FILE", help="The bench log; a case has its own.")
@click.option("--all", "everything", is_flag=True, help="Print every suspect.")
def command(request: Request, log: str | None, everything: bool) -> None:
    """Rank what can explain the readings of a bench log, with the reasons.

    A part that is cleared is cleared of what is said and of no more.
    """
    from ohmtrail.cli._checklists import weighed_log
    from ohmtrail.netanalysis.diagnosis.rank import rank

    with progress(3) as begin:
        weighed = weighed_log(request, log, begin)
        begin("ranking")
        ranking = rank(weighed)
    if request.json:
        from ohmtrail.cli._diagnosis_json import ranking_json
        from ohmtrail.cli._json import dump

        say(dump(ranking_json(weighed.case.circuit.board, ranking)))
        return
    if not weighed.case.readings:
        say("No reading is in the log: this is how often such parts fail, no more.")
    _print(ranking, None if everything else _SHOWN)
    _print_sisters(weighed.case)
    if ranking.replace:
        _print_substitutes(weighed.case.circuit, ranking.replace)


def _print(ranking: "Ranking", limit: int | None) -> None:
    from ohmtrail.cli.render.strips import bar
    from ohmtrail.cli.render.tables import bold, wrap

    if not ranking.suspects:
        say("nobody is suspected")
    before: tuple[str, ...] = ()
    for one in ranking.suspects[:limit]:
        share = 100 * one.probability
        shown = ">99 %" if share > 99 else f"{share:.0f} %" if share >= 1 else "<1 %"
        row = bar(one.probability)
        say(bold(f"{shown:>5}  {row}  {' '.join(one.parts)}  {_in_words(one.fault)}"))
        reasons = tuple(one.because[1:])
        for text in ("as above",) if reasons and reasons == before else reasons:
            say(wrap(text, indent="         ", first="       - "))
        before = reasons
    rest = ranking.suspects[limit:] if limit is not None else ()
    if rest:
        share = 100 * sum(one.probability for one in rest)
        say(f"and {len(rest)} more, {share:.0f} % together (--all lists them)")
    say()
    if ranking.replace:
        sure = "" if ranking.confident else ", if the next readings bear it out"
        say(bold(f"Replace together{sure}: {' '.join(ranking.replace)}"))
    elif ranking.healthy >= 0.5:
        say(bold("Nothing to replace as the board reads now"))
    if ranking.inspect:
        say(bold("Inspect before power"))
        for ref, words in ranking.inspect:
            say(wrap(f"{ref}: {words}", indent="      ", first="    - "))
    if ranking.contradictions:
        lines = " ".join(map(str, ranking.contradictions))
        say(wrap(f"Lines that nothing explains, read them again: {lines}"))
    if ranking.cleared:
        count = len(ranking.cleared)
        parts = "1 part" if count == 1 else f"{count} parts"
        say(f"Cleared of a short, and of no more ({parts}):")
        say(wrap(" ".join(one.ref for one in ranking.cleared), indent="    "))
    say()
    say(wrap("What was not measured stays unknown: no list proves a board safe."))


def _in_words(fault: str) -> str:
    """Say of a pin that is shorted that it is a pin, no ohms."""
    return fault.replace("pin short ", "short at pin ")


def _print_sisters(case: "Case") -> None:
    """Show readings of sister stages on strips."""
    from ohmtrail.cli.render.plain import shown
    from ohmtrail.cli.render.strips import strip_lines
    from ohmtrail.cli.render.tables import bold, wrap
    from ohmtrail.netanalysis.diagnosis.sister_readings import sister_readings

    found = sister_readings(case.circuit, case.timeline)
    if not found:
        return
    say()
    say(bold("Sister stages beside each other"))
    for one in found:
        for line in strip_lines(one):
            text = line.replace("Ω", "ohm")
            # A strip is not wrapped: its places are what it says.
            say(shown(text) if "|" in text else wrap(text, indent="    ", first="  "))


def _print_substitutes(circuit: "Circuit", refs: tuple[str, ...]) -> None:
    from ohmtrail.cli.render.tables import bold, wrap
    from ohmtrail.netanalysis.graph import view_of
    from ohmtrail.netanalysis.substitutes import substitute_lines

    say()
    say(bold("What the new parts must meet or beat"))
    for line in substitute_lines(circuit, view_of(circuit), refs):
        say(wrap(line, indent="      ", first="    - "))
