"""Files beside the board: a log, a meter's description, suggestions."""

from pathlib import Path

import click

__all__ = ["read_file"]


def read_file(path: Path, bytes_max: int, option: str = "") -> bytes:
    """Return the bytes of a file, opened as boards are.

    Parameters
    ----------
    path : Path
        The file.
    bytes_max : int
        At most so many bytes are read.
    option : str
        The option that names the file, for the message.

    Raises
    ------
    click.ClickException
        If it cannot be read, or is a pipe or a device, which might never end.
    """
    from ohmtrail.importers._errors import ImporterError
    from ohmtrail.importers._text import first_bytes

    try:
        return first_bytes(path, bytes_max)
    except ImporterError as error:
        named = f" ({option})" if option else ""
        raise click.ClickException(f"{error}{named}") from error
