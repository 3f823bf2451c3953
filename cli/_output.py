"""Where a document goes: stdout, or the file that ``--out`` names."""

import sys
from pathlib import Path

import click

__all__ = ["say", "write_bytes", "write_document"]


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
    _write(text.encode("utf-8", "backslashreplace"), out)


def write_bytes(data: bytes, out: str | None, what: str) -> None:
    """Write a file that is no text to stdout, or to the file that ``--out`` names.

    Raises
    ------
    click.ClickException
        If the file cannot be written.
    click.UsageError
        If it would go to a terminal.
    """
    if out is not None:
        _write(data, out)
        return
    if sys.stdout.isatty():
        raise click.UsageError(f"{what} is no text: name a file with --out")
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()


def _write(data: bytes, out: str) -> None:
    try:
        Path(out).write_bytes(data)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise click.ClickException(f"{out}: {reason} (--out)") from error
    except ValueError as error:  # a null byte in the name
        raise click.ClickException(f"{out!r}: no such folder (--out)") from error
