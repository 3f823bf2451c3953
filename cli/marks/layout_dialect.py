"""Lines and texts as each version of KiCad writes them in a layout.

Only ``gr_line`` and ``gr_text``, which every version from 4 on reads.

References
----------
KiCad, *Board file format*, dev-docs.kicad.org/en/file-formats/sexpr-pcb, and the list
of versions in KiCad's reader of boards.
"""

import re
import uuid
from dataclasses import dataclass

from ohmtrail.cli.marks.kicad_dialect import TAG, number, quoted

__all__ = ["OUR_DRAWING", "LayoutDialect", "layout_dialect_of", "user_layers"]

#: From these versions on: layer names in quotes and long identifiers; ``(stroke ...)``
#: for ``(width ...)``; ``uuid``, in quotes, for ``tstamp``.
_LONG, _STROKES, _UUID = 20200829, 20211229, 20231014
#: From this version on a bar over a text is ``~{...}``, and a lone tilde is a tilde.
_TILDE = 20210606
#: Layers that are free for people; first those that KiCad's own colours show well on
#: dark and on white (blue), last those that people use most.
_FREE = (
    *("Cmts.User", "User.2", "User.6", "User.4", "User.8"),
    *("User.1", "User.3", "User.5", "User.7", "User.9"),
    *("Eco2.User", "Eco1.User", "Dwgs.User"),
)
_INSIDE = rb'(?:[^()"]|"(?:[^"\\]|\\.)*")*'
_TABLE = re.compile(rb"\(\s*layers\s*((?:\(" + _INSIDE + rb"\)\s*)+)\)", re.DOTALL)
_ROW = re.compile(
    rb'\(\s*\d+\s+"?((?:User\.[1-9]|(?:Cmts|Eco[12]|Dwgs)\.User))"?\s'
    rb"(" + _INSIDE + rb")\)",
    re.DOTALL,
)


#: A mark, in any version: before version 6 an identifier was a time of day in seconds,
#: and ours is one of March 2029; later versions write it on with zeros before it.
OUR_DRAWING = re.compile(
    rb'\(gr_(?:line|text)\b(?:[^"]|"(?:[^"\\]|\\.)*")*?\((?:uuid|tstamp)\s+"?(?:'
    + f"{TAG[:8]}-{TAG[8:]}-8[-0-9a-f]+|".encode()
    + rb"(?:00000000-0000-0000-0000-0000)?"
    + TAG[:4].encode()
    + rb'[0-9A-F]{4})"?\s*\)',
    re.DOTALL | re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class LayoutDialect:
    """How one file writes."""

    version: int
    newline: str
    indent: str

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        layer: str,
        width_mm: float,
        name: str,
    ) -> str:
        """Return a straight line; its identifier is made from ``name``."""
        width = number(width_mm, 3)
        stroke = (
            f"(stroke (width {width}) (type solid)) {self._layer(layer)}"
            if self.version >= _STROKES
            else f"{self._layer(layer)} (width {width})"
        )
        ends = f"(start {_place(start)}) (end {_place(end)})"
        return f"(gr_line {ends} {stroke}{self._identifier(name)})"

    def text(
        self,
        text: str,
        place: tuple[float, float],
        layer: str,
        size_mm: float,
        name: str,
        *,
        mirrored: bool,
    ) -> str:
        """Return a line of text that begins at a place, half above and half below it.

        A mirrored one runs to the left, and is read with the board turned over.
        """
        size, thick = number(size_mm, 3), number(size_mm * 0.15, 3)
        if self.version < _TILDE:
            text = text.replace("~", "~~")
        just = "left mirror" if mirrored else "left"
        return (
            f"(gr_text {quoted(text)} (at {_place(place)}) {self._layer(layer)}"
            f"{self._identifier(name)} (effects (font (size {size} {size}) "
            f"(thickness {thick})) (justify {just})))"
        )

    def _layer(self, layer: str) -> str:
        return f'(layer "{layer}")' if self.version >= _LONG else f"(layer {layer})"

    def _identifier(self, name: str) -> str:
        digits = uuid.uuid5(uuid.NAMESPACE_OID, name).hex
        if self.version < _LONG:
            return f" (tstamp {TAG[:4].upper()}{digits[:4].upper()})"
        long = uuid.UUID(f"{TAG}8{digits[13:16]}8{digits[17:]}")
        if self.version >= _UUID:
            return f' (uuid "{long}")'
        return f" (tstamp {long})"


def _place(place: tuple[float, float]) -> str:
    return f"{number(place[0], 3)} {number(place[1], 3)}"


def layout_dialect_of(data: bytes, version: int) -> LayoutDialect:
    """Return how a file writes.

    Parameters
    ----------
    data : bytes
        The whole file.
    version : int
        Of its syntax.
    """
    return LayoutDialect(
        version,
        "\r\n" if b"\r\n" in data else "\n",
        "\t" if b"\n\t(" in data else "  ",
    )


def user_layers(data: bytes) -> tuple[str, str] | None:
    """Return the layers for marks on top and below, of those that the file has.

    Layers on which nothing is drawn come first, and not those that the file hides;
    with one such layer both sides share it.  Where all are drawn on, the first takes
    the marks as well.

    Returns
    -------
    (str, str) or None
        None if the file has no layer that is free for people.

    Notes
    -----
    O(length), once a layer.
    """
    table = _TABLE.search(data)
    if table is None:
        return None
    hidden: dict[str, bool] = {
        row[1].decode(): b"hide" in row[2].split() for row in _ROW.finditer(table[1])
    }
    known = sorted((name for name in _FREE if name in hidden), key=hidden.__getitem__)
    if not known:
        return None
    rest = data[table.end() :]
    shown = [name for name in known if not hidden[name]] or known
    free = [name for name in shown if not _drawn_on(rest, name)] or shown[:1]
    return free[0], free[1 % len(free)]


def _drawn_on(data: bytes, layer: str) -> bool:
    name = re.escape(layer.encode())
    return re.search(rb'\(layers?[^()]*\s"?' + name + rb'"?[\s)]', data) is not None
