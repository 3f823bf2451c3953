"""``ohmtrail viewer-command``: the line to paste into the schematic editor."""

import os
import shlex
import subprocess
import sys

import click

from ohmtrail.cli._output import say

__all__ = ["broken_by_apostrophe", "command", "editor_line"]

#: Behind the name that the editor proposes for its output.
_SUFFIX = ".checklist.txt"


def editor_line(arguments: list[str], *, windows: bool | None = None) -> str:
    """Return the command line for the schematic editor's BOM dialogue.

    The editor writes its XML netlist to a file, puts that file's name in place of
    ``%I`` and the name chosen for the output, without a suffix, in place of
    ``%O``, and runs the line in a shell.  Quotes that let nothing in a name mean
    anything to the shell stand around both.  Only an apostrophe in a name ends them,
    and no line of a shell can prevent that: `broken_by_apostrophe` knows the case
    again, for ``checklist`` to name it.

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
    more = f"{join(arguments)} " if arguments else ""
    mark = '"' if windows else "'"
    return (
        f"{quoted} -m ohmtrail checklist {more}{mark}%I{mark} "
        f"--out {mark}%O{_SUFFIX}{mark}"
    )


def broken_by_apostrophe(board: str) -> bool:
    """Whether a board's name is what the shell makes of the line and of ``Ann's``.

    The first apostrophe ends the quotes, the second one begins new ones: both names
    and ``--out`` between them become one word.

    >>> broken_by_apostrophe("/home/Anns/a.xml --out /home/Anns/a.checklist.txt")
    True
    """
    return " --out " in board and board.endswith(_SUFFIX)


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

        say(dump({"command": line, "input": "%I", "output": f"%O{_SUFFIX}"}))
        return
    say(line)
