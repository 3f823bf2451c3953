"""Where a document goes: stdout, or the file that ``--out`` names."""

import sys
from pathlib import Path

import click

__all__ = ["say", "write_document"]


def say(text: str = "") -> None:
    """Print text and a line feed as the terminal's own encoding has it.

    Unlike ``click.echo``, which takes an ASCII terminal for UTF-8.
    """
    sys.stdout.write(text + "\n")


def write_document(text: str, out: str | None) -> None:
    """Write a document to stdout, or to a file, in UTF-8, with line feeds.

    Raises
    ------
    click.ClickException
        If the file cannot be written.
    """
    if out is None:
        say(text.removesuffix("\n"))
        sys.stdout.flush()
        return
    if not text.endswith("\n"):
        text += "\n"
    try:
        Path(out).write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise click.ClickException(f"{out}: {reason} (--out)") from error
