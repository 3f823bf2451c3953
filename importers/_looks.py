"""What a file that nobody takes looks like, in words for an error message."""

import re

__all__ = ["looks_like"]

_MAGIC = (
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"\xd0\xcf\x11\xe0", "an OLE document (an old office file or a binary schematic)"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"\x7fELF", "a program"),
)

_TEXT = (
    (rb"\(kicad_pcb\b", "a KiCad board"),
    (rb"\(kicad_sch\b", "a KiCad schematic"),
    (rb"\(kicad_symbol_lib\b", "a KiCad symbol library"),
    (rb"\((footprint|module)\b", "a KiCad footprint"),
    (rb"\(kicad_wks\b", "a KiCad drawing sheet"),
    (rb"\(edif\b", "an EDIF netlist"),
    (rb"EESchema Schematic File", "a KiCad 4 or 5 schematic"),
    (rb"EESchema-LIBRARY", "a KiCad 4 or 5 symbol library"),
    (rb"PCBNEW-BOARD", "an old KiCad board"),
    (rb"v \d{8} \d", "a gEDA schematic"),
    (rb"v \{xschem", "an xschem schematic"),
)


def looks_like(head: bytes) -> str:
    """Say in a few words what the first bytes of a file look like.

    Parameters
    ----------
    head : bytes
        The first bytes; behind a byte order mark some of them are not blank.

    Examples
    --------
    >>> looks_like(b"%PDF-1.7")
    'a PDF document'
    >>> looks_like(b"<html><body>")
    'XML or HTML with the root <html>'
    >>> looks_like(b"R1,R2")
    "text that begins 'R1,R2'"
    """
    for magic, words in _MAGIC:
        if head.startswith(magic):
            return words
    body = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if b"\0" in head:
        return "binary data"
    for pattern, words in _TEXT:
        if re.match(pattern, body):
            return words
    if body.startswith(b"<"):
        root = re.search(rb"<([A-Za-z][\w:.-]*)", body)
        if root:
            return f"XML or HTML with the root <{root[1].decode()}>"
    line = body.splitlines()[0][:40].decode("utf-8", "ignore")
    line = " ".join(line.split())
    if not line or not line.isprintable():
        return "binary data"
    return f"text that begins {line!r}"
