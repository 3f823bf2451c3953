"""The ``ohmtrail`` command: one command a file, text and JSON made elsewhere."""

from collections.abc import Sequence

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        Without the program's name; by default those of the process.

    Returns
    -------
    int
        0 answered, 1 the input is bad or lacks what was asked, 2 wrong usage.
    """
    from ohmtrail.cli._errors import run
    from ohmtrail.cli._group import group

    return run(group, arguments)
