"""``ohmtrail expect``: what the meter should read."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import MODES, Request, board_options, load_circuit
from ohmtrail.cli._output import say

if TYPE_CHECKING:
    from collections.abc import Callable

    from ohmtrail.netanalysis.network.expectation import Expectation
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = ["command"]


@click.command("expect")
@board_options()
@click.argument("plus", metavar="PLUS")
@click.argument("minus", metavar="MINUS")
@click.option("--mode", required=True, type=click.Choice(MODES), help="Meter mode.")
@click.option(
    "--lifted", metavar="REFS", default="", help="Parts taken off, by commas."
)
@click.option("--log", metavar="FILE", help="The bench log of this board.")
def command(
    request: Request, plus: str, minus: str, mode: str, lifted: str, log: str | None
) -> None:
    """Say what the meter should read with red on PLUS and black on MINUS.

    Both are pads (Q12.4) or nets. Readings are at the pads, leads nulled. With --log,
    parts that are off the board count as lifted, and its own readings narrow the
    range.
    """
    from ohmtrail.cli._logs import solve_beside_logs
    from ohmtrail.netanalysis.network.expect import expect
    from ohmtrail.netanalysis.network.expect_good import expect_beside

    circuit = load_circuit(request, uses=("--good", "--meter"))
    board, evidence = solve_beside_logs(request, circuit, log)
    refs = [ref for ref in lifted.replace(",", " ").split() if ref]
    if evidence is None:
        found = expect(board, mode, plus, minus, lifted=refs)
    else:
        found = expect_beside(board, evidence, mode, plus, minus, refs)
    off = sorted(board.state.lifted)
    if off:
        note = f"{', '.join(off)} off the board by the log"
        found = replace(found, notes=(*found.notes, note))
    if request.json:
        from ohmtrail.cli._json import dump, expect_json

        say(dump(expect_json(board.circuit.board, found)))
        return
    _print(found, board, refs)


def _print(found: "Expectation", board: "SolvedBoard", lifted: list[str]) -> None:
    from ohmtrail.cli.render.tables import bold, wrap
    from ohmtrail.cli.render.units import quantity, range_text

    say(bold(f"{found.mode}: red {found.plus}, black {found.minus}"))
    if lifted:
        say(wrap(f"with {', '.join(lifted)} off the board", "  "))
    if found.typical is None:
        say(wrap(found.source, "  "))
        return

    def shown(value: float) -> str:
        return quantity("OL" if math.isinf(value) else value, found.unit)

    low = "OL" if math.isinf(found.low or 0.0) else found.low
    high = "OL" if math.isinf(found.high or 0.0) else found.high
    say(wrap(_sentence(found, board, shown) + ";", "  "))
    say(wrap(f"{range_text(low, high, found.unit)} is healthy", "  "))
    if found.source:
        say(wrap(f"rests on {found.source}", "  "))
    if found.swap:
        say(wrap(found.swap, "  "))
    for note in found.notes:
        say(wrap(note, "      ", first="    - "))


def _sentence(
    found: "Expectation", board: "SolvedBoard", shown: "Callable[[float], str]"
) -> str:
    """Return "R33 reads 9.1 ohm here, not 10 ohm, because R34 and L3 lie across it"."""
    from ohmtrail.netanalysis.network.elements import Resistance

    assert found.typical is not None
    reading = f"reads {shown(found.typical)} here"
    nodes = {_net(found.plus, board), _net(found.minus, board)}
    ref = next(
        (
            ref
            for ref in found.because
            for one in board.elements(ref)
            if isinstance(one, Resistance)
            and not one.assumed
            and {one.a, one.b} == nodes
            and found.unit == "ohms"
        ),
        None,
    )
    if ref is None:
        set_by = _listed(found.because)
        return reading + (f", set by {set_by}" if set_by else "")
    marked = next(
        one.ohms
        for one in board.elements(ref)
        if isinstance(one, Resistance) and {one.a, one.b} == nodes
    )
    others = tuple(one for one in found.because if one != ref)
    if not others or abs(found.typical - marked) < 0.005 * marked:
        return f"{ref} {reading}"
    verb = "lies" if len(others) == 1 else "lie"
    return (
        f"{ref} {reading}, not {shown(marked)}, because {_listed(others)} "
        f"{verb} across it"
    )


def _net(point: str, board: "SolvedBoard") -> str | None:
    from ohmtrail.netanalysis.probe_points import find_point

    return find_point(board.circuit.board, point).net


def _listed(refs: tuple[str, ...]) -> str:
    if len(refs) > 4:
        return f"{', '.join(refs[:3])} and {len(refs) - 3} more"
    if len(refs) > 1:
        return f"{', '.join(refs[:-1])} and {refs[-1]}"
    return "".join(refs)
