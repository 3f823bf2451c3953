"""``ohmtrail viewer-command``: the line to paste into the schematic editor."""

import os
import shlex
import subprocess
import sys

import click

from ohmtrail.cli._output import say

__all__ = ["command", "editor_line"]


def editor_line(arguments: list[str], *, windows: bool | None = None) -> str:
    """Return the command line for the schematic editor's BOM dialogue.

    The editor writes its XML netlist to a file, puts that file's name in place of
    ``%I`` and the name chosen for the output, without a suffix, in place of
    ``%O``, and runs the line in a shell.  Quotes that let nothing in a name mean
    anything to the shell stand around both; an apostrophe in a name ends them, and
    the line then fails.

    Parameters
    ----------
    arguments : list of str
        Further options of ``checklist``.
    windows : bool, optional
        Quote for Windows; by default as the running system needs.
    """
    if windows is None:
        windows = os.name == "nt"
    join = subprocess.list2cmdline if windows else shlex.join
    quoted = join([sys.executable])
    more = f" {join(arguments)}" if arguments else ""
    mark = '"' if windows else "'"
    return (
        f"{quoted} -m ohmtrail checklist {mark}%I{mark}{more} "
        f"--out {mark}%O.checklist.txt{mark}"
    )


@click.command("viewer-command")
@click.option("--rail", metavar="NET", help="Only this rail.")
@click.option("--json", "json", is_flag=True, help="Answer for programs.")
def command(rail: str | None, json: bool) -> None:
    """Print the line to paste into the schematic editor (KiCad's BOM dialogue).

    In the editor: Tools, Generate Legacy Bill of Materials, add a generator script,
    paste the line as its command line. The editor then writes its netlist, runs the
    line, and the checklist stands beside the project.
    """
    line = editor_line([] if rail is None else ["--rail", rail])
    if json:
        from ohmtrail.cli._json import dump

        say(dump({"command": line, "input": "%I", "output": "%O.checklist.txt"}))
        return
    say(line)
