"""``ohmtrail short``: all that can hold a net down."""

from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._ohms import read_ohms
from ohmtrail.cli._output import say

if TYPE_CHECKING:
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.short import ShortAnswer
    from ohmtrail.netanalysis.verdict import Verdict

__all__ = ["command"]

_SHOWN = 25


@click.command("short")
@board_options()
@click.argument("net", metavar="NET")
@click.option("--to", metavar="NET", help="The net it is shorted to (default ground).")
@click.option(
    "--ohms", metavar="X", callback=read_ohms, help="The reading: is it a short at all?"
)
@click.option("--all", "everything", is_flag=True, help="Print every suspect.")
def command(
    request: Request, net: str, to: str | None, ohms: float | None, everything: bool
) -> None:
    """List all that can hold NET down, links followed, likeliest first.

    A shorted switch is a link itself: parts beyond one are listed with it.
    """
    from ohmtrail.netanalysis.probe_points import find_net
    from ohmtrail.netanalysis.short import find_short

    uses = ("--good",) if ohms is not None else ()
    circuit = load_circuit(request, uses)
    here = find_net(circuit.board, net)
    there = find_net(circuit.board, to) if to is not None else None
    answer = find_short(circuit, here, there)
    verdict = None
    if ohms is not None:
        from ohmtrail.netanalysis.verdict import judge

        verdict = judge(circuit, here, ohms, there, request.have)
        circuit, verdict = _beside_good_board(
            request, circuit, here, there, ohms, verdict
        )
    if request.json:
        from ohmtrail.cli._json import dump, short_json

        say(dump(short_json(circuit.board, answer, verdict)))
        return
    if verdict is not None:
        _print_verdict(verdict)
    _print(answer, None if everything else _SHOWN)


def _beside_good_board(
    request: Request,
    circuit: "Circuit",
    net: str,
    to: str | None,
    ohms: float,
    verdict: "Verdict",
) -> "tuple[Circuit, Verdict]":
    """Take into account what a good board reads, if ``--good`` was given and tells.

    The circuit comes back with warnings about the log counted in its board.
    """
    from ohmtrail.cli._logs import load_evidence, warn_and_note

    circuit, evidence = load_evidence(request, circuit)
    if evidence is None or request.good is None:
        return circuit, verdict
    for other in (to,) if to is not None else circuit.ground:
        for mode in ("resistance", "four-wire"):
            known = evidence.known(mode, net, other)
            if known is not None:
                from ohmtrail.netanalysis.good_verdict import with_good_board

                return circuit, with_good_board(verdict, known, ohms, net, other)
    nothing = f"no reading of {net} to {to or 'ground'}"
    return warn_and_note(circuit, request.good, (nothing,)), verdict


def _print_verdict(verdict: "Verdict") -> None:
    from ohmtrail.cli.render.tables import bold, wrap

    say(bold(f"verdict: {verdict.verdict}"))
    for text in verdict.because:
        say(wrap(text, indent="  "))
    if verdict.measure is not None:
        one = verdict.measure
        words = f"measure {one.mode}: red {one.plus}, black {one.minus}: {one.why}"
        say(wrap(words, "  "))
        for read, then in one.expected:
            say(wrap(f"{read}: {then}", "      ", first="    - "))
    say()


def _print(answer: "ShortAnswer", limit: int | None) -> None:
    from ohmtrail.cli.render.tables import bold, print_table, wrap

    to = f" to {answer.to}" if answer.to is not None else " down"
    if not answer.parts:
        say(wrap(f"nothing that is known can hold {answer.net}{to}"))
        return
    title = f"{len(answer.parts)} parts can hold {answer.net}{to}"
    for line in wrap(title).splitlines():
        say(bold(line))
    shown = answer.parts[:limit]
    print_table(
        ("prior>", "ref", "kind", "pins", "role", "via (* must be shorted too)"),
        [
            (
                f"{100 * one.prior:.1f} %" if one.prior >= 0.0005 else "<0.1 %",
                one.ref,
                one.kind,
                " ".join(one.pins),
                one.role,
                " ".join(f"{ref}*" if ref in one.assumes else ref for ref in one.via),
            )
            for one in shown
        ],
    )
    rest = answer.parts[len(shown) :]
    if rest:
        share = 100 * sum(one.prior for one in rest)
        more = f"and {len(rest)} more, {share:.0f} % together (--all lists them)"
        say(wrap(more))
    if answer.cut_points:
        say(f"\n{bold('Cut points')}: lift one, measure both sides")
        prior = {one.ref: one.prior for one in answer.parts}
        goes = {
            cut.ref: 100 * sum(prior[ref] for ref in cut.far)
            for cut in answer.cut_points
        }
        print_table(
            ("lift", "stays", "goes", "share that goes>"),
            [
                (
                    cut.ref,
                    f"{len(cut.near)} parts",
                    _some(cut.far),
                    f"{goes[cut.ref]:.0f} %",
                )
                for cut in answer.cut_points
                if goes[cut.ref] >= 0.5 or limit is None
            ],
        )
    if any(one.assumes for one in answer.parts):
        say()
        say(
            wrap(
                "Parts beyond a switch (*) count only if that switch is shorted as "
                "well, or reads so through its load."
            )
        )


def _some(refs: tuple[str, ...]) -> str:
    shown = " ".join(refs[:6])
    return shown if len(refs) <= 6 else f"{shown} and {len(refs) - 6} more"
