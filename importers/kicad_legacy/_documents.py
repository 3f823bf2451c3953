"""Reads ``.dcm`` files: what a library says of its symbols, in words."""

from pathlib import Path

from ohmtrail.importers.kicad_legacy._lines import Lines

__all__ = ["read_documents"]

_HEADER = "EESchema-DOCLIB"


def read_documents(path: Path) -> dict[str, tuple[str, str]]:
    """Return description and keywords by name; nothing from other files.

    Raises
    ------
    ImporterError
        If the file cannot be read, or ends inside a symbol's record.

    Notes
    -----
    O(size of the file).
    """
    lines = Lines(path)
    found: dict[str, tuple[str, str]] = {}
    if not (lines.next() or "").lstrip().startswith(_HEADER):
        return found
    name, description, keywords, start = "", "", "", 0
    while True:
        line = lines.next()
        if line is None:
            break
        if line.startswith("$CMP"):
            name, description, keywords = line[4:].strip(), "", ""
            start = lines.number
        elif line.startswith("D "):
            description = line[2:].strip()
        elif line.startswith("K "):
            keywords = line[2:].strip()
        elif line.startswith("$ENDCMP"):
            found.setdefault(name.removeprefix("~"), (description, keywords))
            start = 0
    if start:
        raise lines.error("found no $ENDCMP for this symbol, expected one", start)
    return found
