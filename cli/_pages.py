"""Pages to print or read: where they go, and the drawings that stand on them."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ohmtrail.cli.render.drawing import Drawing
    from ohmtrail.cli.render.page import Page
    from ohmtrail.netanalysis.checklist.model import Checklist
    from ohmtrail.netanalysis.circuit import Circuit

__all__ = ["paper_option", "pictures_of", "split_formats", "write_page"]

paper_option = click.option(
    "--paper",
    type=click.Choice(("a4", "letter")),
    default="a4",
    show_default=True,
    help="The paper of a PDF.",
)


def split_formats(
    names: tuple[str, ...], documents: tuple[str, ...], default: str
) -> tuple[str, str | None]:
    """Tell the document's format from the board's: both are ``--format``.

    Raises
    ------
    click.UsageError
        If two of one kind are given.
    """
    document: str | None = None
    board: str | None = None
    for name in names:
        other = document if name in documents else board
        if other not in (None, name):
            raise click.UsageError(f"--format {name} and {other} exclude each other")
        if name in documents:
            document = name
        else:
            board = name
    return document or default, board


def write_page(page: "Page", form: str, paper: str, out: str | None) -> None:
    """Write a page as "md", "html" or "pdf" to stdout, or to the file of ``--out``."""
    from ohmtrail.cli._output import write_bytes, write_document

    if form == "pdf":
        from ohmtrail.cli.render.page_pdf import page_pdf

        write_bytes(page_pdf(page, paper), out, "a PDF")
    elif form == "html":
        from ohmtrail.cli.render.page_html import page_html

        write_document(page_html(page), out)
    else:
        from ohmtrail.cli.render.page_markdown import page_markdown

        write_document(page_markdown(page), out)


def pictures_of(
    circuit: "Circuit", checklist: "Checklist", read: Mapping[int, str]
) -> "tuple[tuple[Drawing, ...], Callable[[str], Drawing | None]]":
    """Return the maps of a checklist's points, and what draws a stage by its id.

    ``read`` is what was read already, by the number of the step.
    """
    from ohmtrail.cli.render.map_drawing import map_drawings
    from ohmtrail.cli.render.stage_drawing import stage_drawing
    from ohmtrail.cli.render.stage_readings import points_key

    steps = [step for section in checklist.sections for step in section.steps]
    taken = {
        points_key(step.mode or "", step.plus or "", step.minus or ""): read[step.n]
        for step in steps
        if step.n in read
    }
    stages = {stage.id: stage for stage in circuit.stages}

    def draw(name: str) -> "Drawing | None":
        stage = stages.get(name)
        return stage_drawing(circuit, stage, taken, steps=steps) if stage else None

    return tuple(map_drawings(circuit, steps)), draw
