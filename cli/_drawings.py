"""Drawings to files: SVG, one a drawing, or one PDF."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ohmtrail.cli._load import Request
    from ohmtrail.cli.render.drawing import Drawing

__all__ = ["check_out", "tell_files", "write_drawings"]

_KINDS = (".svg", ".pdf")


def check_out(out: str) -> None:
    """Refuse a name that does not say which kind of file is wanted.

    Raises
    ------
    click.UsageError
        If it ends in neither ".svg" nor ".pdf".
    """
    if Path(out).suffix.casefold() not in _KINDS:
        raise click.UsageError(f"--out: found {out!r}, expected FILE.svg or FILE.pdf")


def write_drawings(drawings: "Sequence[Drawing]", out: str) -> list[Path]:
    """Write drawings and return the files.

    Parameters
    ----------
    drawings : sequence of Drawing
        At least one.
    out : str
        "x.pdf" takes all, a page each; "x.svg" the first, "x-2.svg" the second ...

    Raises
    ------
    click.ClickException
        If a file cannot be written.
    """
    path = Path(out)
    made: list[tuple[Path, bytes]] = []
    if path.suffix.casefold() == ".pdf":
        from ohmtrail.cli.render.drawing_pdf import sheet_bytes

        made.append((path, sheet_bytes(drawings)))
    else:
        from ohmtrail.cli.render.drawing_svg import svg_text

        for number, drawing in enumerate(drawings, 1):
            name = path.name if number == 1 else f"{path.stem}-{number}{path.suffix}"
            made.append((path.with_name(name), svg_text(drawing).encode()))
    for file, data in made:
        try:
            file.write_bytes(data)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise click.ClickException(f"{file}: {reason} (--out)") from error
    return [file for file, _ in made]


def tell_files(
    request: "Request", drawings: "Sequence[Drawing]", written: Sequence[Path]
) -> None:
    """Print the names of files, or for programs what the pages show too."""
    from ohmtrail.cli._output import say

    if not request.json:
        for path in written:
            say(str(path))
        return
    from ohmtrail.cli._json import dump

    titles = [drawing.title for drawing in drawings]
    say(dump({"files": [str(path) for path in written], "pages": titles}))
