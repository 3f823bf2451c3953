"""``ohmtrail demo``: the demo board in a folder."""

import shlex
from pathlib import Path

import click

from ohmtrail.cli._output import say

__all__ = ["command"]


@click.command("demo")
@click.argument("folder", metavar="DIR")
@click.option("--json", "json", is_flag=True, help="Answer for programs.")
def command(folder: str, json: bool) -> None:
    """Write the demo board into folder DIR and say what to type next."""
    from ohmtrail.fixtures import write_demo

    try:
        written = write_demo(Path(folder))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise click.ClickException(f"{error.filename or folder}: {reason}") from error
    if json:
        from ohmtrail.cli._json import dump

        say(dump({"root": str(written[0]), "files": [str(path) for path in written]}))
        return
    root = shlex.quote(str(written[0]))
    say(f"wrote {len(written)} files into {folder}; the board is {root}")
    say("next:")
    for line in (
        f"ohmtrail checklist {root} --rail VMAIN",
        f"ohmtrail short {root} VMAIN",
        f"ohmtrail stages {root}",
        f"ohmtrail summary {root}",
    ):
        say(f"  {line}")
