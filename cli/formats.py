"""``ohmtrail formats``: the file formats that are read."""

import click

__all__ = ["command"]


@click.command("formats")
@click.option("--json", "json", is_flag=True, help="Answer for programs.")
def command(json: bool) -> None:
    """List the file formats that are read, and what each cannot tell."""
    from ohmtrail.importers._registry import importers

    table = importers()
    if json:
        from ohmtrail.cli._json import dump, formats_json

        click.echo(dump(formats_json(table.values())))
        return
    from ohmtrail.cli.render.tables import print_table

    print_table(
        ("--format", "what", "files", "defined by", "cannot tell"),
        [
            (
                one.name,
                one.title,
                " ".join(one.suffixes),
                one.standard,
                ", ".join(one.cannot_tell),
            )
            for one in table.values()
        ],
    )
