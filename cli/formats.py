"""``ohmtrail formats``: the file formats that are read."""

import click

from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("formats")
@click.option("--json", "json", is_flag=True, help="Answer for programs.")
def command(json: bool) -> None:
    """List the file formats that are read, and what each cannot tell."""
    from ohmtrail.importers._registry import importers

    table = importers()
    if json:
        from ohmtrail.cli._json import dump, formats_json

        say(dump(formats_json(table.values())))
        return
    from ohmtrail.cli.render.tables import bold, wrap

    for one in table.values():
        say(f"{bold(one.name)}  {' '.join(one.suffixes)}")
        for words, text in (
            ("", one.title),
            ("defined by: ", one.standard),
            ("cannot tell: ", ", ".join(one.cannot_tell)),
        ):
            if text:
                say(wrap(words + text, indent="    ", first="  "))
