"""``ohmtrail unmark``: the marks of a marked copy taken out."""

from pathlib import Path

import click

from ohmtrail.cli._errors import warn
from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("unmark")
@click.argument("root", metavar="ROOT")
@click.option("--json", "json", is_flag=True, help="Answer for programs.")
def command(root: str, json: bool) -> None:
    """Take the marks out of a copy that 'mark' wrote, in place.

    ROOT is the copy's root file, or its folder. Files are then as the original was,
    byte for byte. A file that the viewer has saved since loses the marks and nothing
    else, and is named.
    """
    from ohmtrail.cli.marks.project_copy import unmark

    plain, changed = unmark(Path(root))
    for path in changed:
        warn(f"{path}: changed since it was marked; only the marks were taken out")
    if json:
        from ohmtrail.cli._json import dump

        say(
            dump(
                {
                    "original": [str(path) for path in plain],
                    "changed": [str(path) for path in changed],
                }
            )
        )
        return
    files = "1 file is" if len(plain) == 1 else f"{len(plain)} files are"
    say(f"{files} as the original was")
