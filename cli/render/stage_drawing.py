"""A switching stage as a small schematic, readings beside the parts."""

from collections.abc import Iterable

from ohmtrail.cli.render.drawing import Drawing, Line
from ohmtrail.cli.render.plain import shown
from ohmtrail.cli.render.stage_legs import draw_legs
from ohmtrail.cli.render.stage_line import draw_chip, draw_pass
from ohmtrail.cli.render.stage_readings import READING_MM, Readings, Taken
from ohmtrail.cli.render.stage_sheet import Sheet, last
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.circuit import Circuit, Stage

__all__ = ["stage_drawing"]

_WIDTH_MIN = 180.0
_COLUMN, _GAP = 42.0, 4.0
#: Steps whose readings a stage drawing has: the board cold.
_PHASES = ("cold",)


def stage_drawing(
    circuit: Circuit,
    stage: Stage,
    readings: Taken | None = None,
    *,
    steps: Iterable[Step] | None = None,
) -> Drawing:
    """Return a stage as a schematic: driver, gates, switches, coil and rails.

    Parameters
    ----------
    circuit : Circuit
        The board that the stage is on; positions are not needed.
    stage : Stage
        Of any kind.
    readings : mapping, optional
        What was read, as text, by `points_key`; a blank stands where nothing was.
    steps : iterable of Step, optional
        Of a checklist, whose numbers are then used; those of the stage are taken
        out.  Without them the stage's own checklist is made, which takes longer.

    Returns
    -------
    Drawing
        180 mm wide, or wider where many parts stand side by side.
    """
    if steps is None:
        from ohmtrail.netanalysis.checklist import make_checklist

        made = make_checklist(circuit, stage=stage)
        steps = (step for section in made.sections for step in section.steps)
    mine = [step for step in steps if step.stage == stage.id and step.phase in _PHASES]
    sheet = Sheet(circuit, stage, Readings(circuit.board, mine, readings or {}))
    if stage.switch_nodes and (stage.high_side or stage.low_side or stage.inductors):
        width, bottom = draw_legs(sheet)
    elif any(sheet.kind(ref) != "chip" for ref in (*stage.high_side, *stage.low_side)):
        width, bottom = draw_pass(sheet)
    else:
        width, bottom = draw_chip(sheet)
    width = max(width, _WIDTH_MIN)
    bottom = _blocks(sheet, bottom + 4.0, width)
    if stage.missing:
        words = [f"Not found: {'; '.join(stage.missing)}"]
        bottom = sheet.paragraph(words, 0.0, bottom + 4.0, width)
    sheet.text(0.0, 4.2, stage.id, 4.0, bold=True, width=width)
    note = "red lead \N{RIGHTWARDS ARROW} black lead, by pin; resistance unless said"
    sheet.text(0.0, bottom + 4.0, note, 2.4)
    sheet.items.append(Line(0.0, 6.4, width, 6.4, 0.3))
    title = f"Stage drawing: {shown(stage.id)}; the checklist tells the same in words"
    return Drawing(width, bottom + 6.0, tuple(sheet.items), title)


def _blocks(sheet: Sheet, top: float, width: float) -> float:
    """Draw boxes of what stands beside the power path; return their lower edge."""
    stage = sheet.stage
    wanted: list[tuple[str, tuple[str, ...]]] = []
    chip = stage.driver or stage.controller
    if stage.controller is not None and stage.controller != chip:
        wanted.append(("controller", (stage.controller,)))
    wanted += [
        ("bootstrap", stage.bootstrap),
        ("snubber", stage.snubber),
        ("current sense", stage.current_sense),
    ]
    for word, net, caps in (
        ("input", stage.input, stage.input_caps),
        ("output", stage.output, stage.output_caps),
    ):
        if not sheet.drawn.issuperset(caps):
            wanted.append((f"{word} {last(net)}", caps))
    for chain in stage.gate_chains:
        mates = (*chain.turn_off, *chain.pull_down)
        known = any(mates == refs for _, refs in wanted)
        if not known and sheet.readings.peek(mates):
            wanted.append(("turn-off and bleed", mates))
    columns = max(1, int((width + _GAP) // (_COLUMN + _GAP)))
    edges = [top] * columns
    for title, refs in wanted:
        if not refs:
            continue
        place = edges.index(min(edges))
        left = place * (_COLUMN + _GAP)
        edges[place] = sheet.block(title, refs, left, edges[place], _COLUMN) + 3.0
    rest = sheet.readings.rest()
    while rest:
        place = edges.index(min(edges))
        left = place * (_COLUMN + _GAP)
        few, rest = rest[:6], rest[6:]
        sheet.text(left + 1.5, edges[place] + 3.0, "other readings", 2.4)
        sheet.items += sheet.readings.lines(
            few, "", left + 1.5, edges[place] + 3.6, _COLUMN - 3.0
        )
        edges[place] += 5.0 + READING_MM * len(few)
    return max(edges)
