"""Which formats there are, and which of them a file is in."""

import difflib
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

from ohmtrail.importers._errors import ImporterError, UnknownFormatError
from ohmtrail.importers._importer import Importer
from ohmtrail.importers._looks import looks_like
from ohmtrail.importers._pause import no_collection
from ohmtrail.importers._text import read_head
from ohmtrail.importers._trace import note_foreign
from ohmtrail.netanalysis.board import Board

__all__ = ["BUILT_IN", "GROUP", "importers", "load", "recognise"]

#: Modules whose ``IMPORTER`` is built in.  A new format is one more line here.
BUILT_IN = (
    "ohmtrail.importers.kicad_schematic",
    "ohmtrail.importers.kicad_legacy",
    "ohmtrail.importers.kicad_netlist",
    "ohmtrail.importers.kicad_layout",
    "ohmtrail.importers.eagle",
    "ohmtrail.importers.lepton",
    "ohmtrail.importers.xschem",
    "ohmtrail.importers.ipc_d356",
    "ohmtrail.importers.ipc_2581",
    "ohmtrail.importers.pin_table",
    "ohmtrail.importers.edif",
    "ohmtrail.importers.spice",
    "ohmtrail.importers.tedax",
    "ohmtrail.importers.tango",
    "ohmtrail.importers.pads_netlist",
    "ohmtrail.importers.shared_case",
)

#: Entry-point group by which an installed package adds a format.
GROUP = "ohmtrail.importers"

_HEAD_BYTES = 64 * 1024


def _found() -> Iterator[tuple[Importer, str]]:
    """Give every importer with where it comes from."""
    for name in BUILT_IN:
        importer = getattr(import_module(name), "IMPORTER", None)
        if importer is not None:
            yield importer, "ohmtrail itself"
    from importlib.metadata import entry_points

    for entry in entry_points(group=GROUP):
        origin = f"entry point {entry.name!r}"
        if entry.dist is not None:
            origin += f" of {entry.dist.name}"
        try:
            thing = entry.load()
        except (ImportError, AttributeError) as error:
            raise ImporterError(
                f"{origin}: cannot load {entry.value}: {error}"
            ) from error
        importer = getattr(thing, "IMPORTER", thing)
        if not isinstance(importer, Importer):
            raise ImporterError(
                f"{origin}: found {type(importer).__name__}, expected an Importer"
            )
        yield importer, origin


def importers() -> dict[str, Importer]:
    """Return every importer by name: the built-in ones, then those installed.

    Returns
    -------
    dict
        Name for ``--format`` -> importer.

    Raises
    ------
    ImporterError
        If two have one name, or an installed one cannot be loaded.

    Notes
    -----
    Looks through the metadata of installed packages (some 10 ms): call it when a
    file is loaded or formats are listed, not before.
    """
    table: dict[str, Importer] = {}
    origins: dict[str, str] = {}
    for importer, origin in _found():
        name = importer.name
        if name in table:
            raise ImporterError(
                f"importer {name!r} is registered twice: by {origins[name]} "
                f"and by {origin}"
            )
        table[name] = importer
        origins[name] = origin
    return table


def recognise(path: str | Path) -> Importer:
    """Return the importer that takes a file, by content.

    Suffixes only break ties.

    Parameters
    ----------
    path : str or Path
        The file.

    Raises
    ------
    UnknownFormatError
        If no importer takes the file, or several do.
    ImporterError
        If the file cannot be read.
    """
    path = Path(path)
    head = read_head(path, _HEAD_BYTES)
    table = importers()
    _not_empty(head, path)
    claims = [importer for importer in table.values() if importer.sniff(head)]
    if len(claims) > 1:
        suffixes = [s.lower() for s in path.suffixes]
        if suffixes and suffixes[-1] == ".gz":
            suffixes.pop()
        last = suffixes[-1] if suffixes else ""
        claims = [c for c in claims if last in c.suffixes] or claims
    if len(claims) > 1:
        names = " and ".join(c.name for c in claims)
        raise UnknownFormatError(
            f"{path}: {names} both claim this file; choose one with --format"
        )
    if not claims:
        raise UnknownFormatError(
            f"{path}: found {looks_like(head)}, expected one of {', '.join(table)}"
        )
    return claims[0]


def load(path: str | Path, format: str | None = None) -> Board:
    """Read a design file of any supported format.

    Parameters
    ----------
    path : str or Path
        The file; for a hierarchical schematic its root.
    format : str, optional
        Name of an importer, which then is not recognised but taken.

    Returns
    -------
    Board
        What the file says.

    Raises
    ------
    ImporterError
        If the file cannot be read, no format or several take it, or it does not
        hold what its format promises.  The text is one line.
    """
    path = Path(path)
    if format is None:
        return _read(recognise(path), path)
    table = importers()
    if format not in table:
        near = difflib.get_close_matches(format, table, 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise UnknownFormatError(
            f"no format {format!r}; there are {', '.join(table)}{hint}"
        )
    _not_empty(read_head(path, _HEAD_BYTES), path)
    return _read(table[format], path)


def _not_empty(head: bytes, path: Path) -> None:
    """Refuse a file of blanks, or of a byte order mark alone."""
    if not head.removeprefix(b"\xef\xbb\xbf").strip():
        raise ImporterError(f"{path}: found an empty file, expected a design")


def _read(importer: Importer, path: Path) -> Board:
    if f"ohmtrail.importers.{importer.name}" not in BUILT_IN:
        note_foreign()
    with no_collection():
        return importer.read(path)
