"""``ohmtrail stages``: switching stages with their gate chains."""

from typing import TYPE_CHECKING

import click

from ohmtrail.cli._load import Request, board_options, load_circuit
from ohmtrail.cli._output import say

if TYPE_CHECKING:
    from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["command"]


@click.command("stages")
@board_options()
@click.option("--rail", metavar="NET", help="Only stages that this net is part of.")
def command(request: Request, rail: str | None) -> None:
    """List switching stages, each with its gate chains from driver to gate."""
    from ohmtrail.netanalysis.stages_on_net import stages_on_net

    circuit = load_circuit(request)
    stages = circuit.stages
    if rail is not None:
        from ohmtrail.netanalysis.probe_points import find_net

        net = find_net(circuit.board, rail)
        stages = stages_on_net(circuit, net)
    if request.json:
        from ohmtrail.cli._json import dump, stages_json

        say(dump(stages_json(circuit, stages)))
        return
    from ohmtrail.cli.render.tables import wrap

    if not stages:
        where = f" on {rail}" if rail is not None else ""
        say(wrap(f"no stage recognised{where}"))
    for number, stage in enumerate(stages):
        if number:
            say()
        _print(circuit, stage)


def _print(circuit: "Circuit", stage: "Stage") -> None:
    from ohmtrail.cli.render.tables import bold, wrap

    for line in wrap(stage.id).splitlines():
        say(bold(line))
    lines: list[tuple[str, str]] = []
    way = f"{stage.input or '?'} -> {stage.output or '?'}"
    if stage.switch_nodes:
        way = f"{stage.input or '?'} -> {', '.join(stage.switch_nodes)} -> "
        way += stage.output or "?"
    lines.append(("kind", stage.kind))
    lines.append(("path", way))
    rails = [stage.input_rail, stage.output_rail]
    if rails != [stage.input, stage.output] and any(rails):
        lines.append(("rails", " -> ".join(rail or "?" for rail in rails)))
    lines.append(("controller", stage.controller or ""))
    lines.append(("driver", stage.driver or ""))
    for attribute, title in (
        ("high_side", "high side"),
        ("low_side", "low side"),
        ("inductors", "inductor"),
        ("current_sense", "sense"),
        ("bootstrap", "bootstrap"),
        ("snubber", "snubber"),
        ("input_caps", "caps in"),
        ("output_caps", "caps out"),
    ):
        lines.append((title, " ".join(getattr(stage, attribute))))
    for chain in stage.gate_chains:
        text = " -> ".join((chain.driver_pin or "?", *chain.series, chain.gate))
        if chain.turn_off:
            text += f"; turn-off {' '.join(chain.turn_off)}"
        if chain.pull_down:
            text += f"; pull-down {' '.join(chain.pull_down)}"
        lines.append(("gate", text))
    for words in stage.missing:
        lines.append(("missing", words))
    for title, text in lines:
        if text:
            say(wrap(text, indent=" " * 14, first=f"  {title:<12}"))
