"""``ohmtrail table``: a table to fill in while tracing by eye."""

import click

__all__ = ["command"]


@click.command("table")
@click.option("--stage", metavar="KIND", help="Stage kind, e.g. 'synchronous buck'.")
@click.option("--phases", default=1, show_default=True, metavar="N", help="How many.")
@click.option("--out", metavar="FILE", help="Write to FILE, not to stdout.")
@click.option("--json", "json", is_flag=True, help="Answer for programs.")
def command(stage: str | None, phases: int, out: str | None, json: bool) -> None:
    """Write a table to fill in while tracing a stage by eye.

    The filled table opens as a BOARD and gives the same help as a schematic.
    """
    from ohmtrail.cli._output import write_document
    from ohmtrail.importers.pin_table.blank import blank_table

    try:
        text = blank_table(stage, phases)
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    if json:
        from ohmtrail.cli._json import dump

        text = dump({"stage": stage, "phases": phases, "table": text})
    write_document(text, out)
