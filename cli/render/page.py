"""A page for people to print or read: what stands on it, not how it looks.

Whoever has something to say makes a `Page`; `page_html`, `page_pdf` and
`page_markdown` write it.  Every text is plain text: a name out of a file stays one.
"""

from dataclasses import dataclass

from ohmtrail.cli.render.drawing import Drawing

__all__ = [
    "Block",
    "Cell",
    "Heading",
    "Items",
    "Page",
    "Paragraph",
    "Picture",
    "Room",
    "Table",
    "Terms",
    "Tick",
    "Together",
]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within the page."""

    #: 2 (a chapter) to 4.
    level: int
    text: str
    #: A word set apart at the end of the line, such as the meter's mode.
    aside: str = ""
    #: Of a group of headings of its own level: a rule stands above it.
    ruled: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Tick:
    """A box to tick with what belongs to it."""

    text: str


@dataclass(frozen=True, slots=True)
class Room:
    """Room to write a reading by hand."""

    #: What goes there, for those who cannot see the page: "reading of step 7".
    label: str
    #: What was read already.
    text: str = ""


Cell = str | Tick | Room


@dataclass(frozen=True, slots=True)
class Items:
    """A list; with boxes to tick, or as warnings."""

    items: tuple[str, ...]
    #: "", "tick" or "caution".
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Terms:
    """Words and what they mean, a line each."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a head; every row has as many cells as the head."""

    #: What the table shows, for those who cannot see it.
    label: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    #: Relative widths of the columns.
    widths: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing."""

    drawing: Drawing
    #: Widest it is printed.
    width_mm: float = 180.0


@dataclass(frozen=True, slots=True)
class Together:
    """Blocks that stand on one sheet of paper where they fit on one."""

    blocks: tuple["Block", ...]


Block = Heading | Paragraph | Items | Terms | Table | Picture | Together


@dataclass(frozen=True, slots=True)
class Page:
    """A whole document."""

    title: str
    #: Below the title: what it is about, how long it is.
    subtitle: str
    blocks: tuple[Block, ...]
