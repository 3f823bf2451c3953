"""A page as Markdown."""

from collections.abc import Iterable

from ohmtrail.cli.render.page import (
    Block,
    Cell,
    Heading,
    Items,
    Page,
    Paragraph,
    Picture,
    Room,
    Table,
    Terms,
    Tick,
)
from ohmtrail.cli.render.plain import shown

__all__ = ["page_markdown"]

_ESCAPED = "\\`*_{}[]<>#|~!$&"


def _text(text: str) -> str:
    """Return text that Markdown shows as it is, whatever a file calls its nets."""
    text = shown(" ".join(text.split()))
    text = "".join(f"\\{c}" if c in _ESCAPED else c for c in text)
    # A line that begins as a list does.
    return f"\\{text}" if text[:1] in ("-", "+") else text


def _cell(cell: Cell) -> str:
    if isinstance(cell, Tick):
        return f"[ ] {_text(cell.text)}"
    return (_text(cell.text) or " ") if isinstance(cell, Room) else _text(cell)


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _lines(block: Block) -> list[str]:
    if isinstance(block, Heading):
        aside = f" ({_text(block.aside)})" if block.aside else ""
        return ["", f"{'#' * block.level} {_text(block.text)}{aside}", ""]
    if isinstance(block, Paragraph):
        text = _text(block.text)
        return [f"**{text}**" if block.strong else text, ""]
    if isinstance(block, Items):
        mark = "- [ ]" if block.mark == "tick" else "-"
        return [*(f"{mark} {_text(item)}" for item in block.items), ""]
    if isinstance(block, Terms):
        return [*(f"- {_text(word)}: {_text(text)}" for word, text in block.rows), ""]
    if isinstance(block, Table):
        lines = [_row(map(_text, block.head)), "|" + "---|" * len(block.head)]
        return [*lines, *(_row(map(_cell, row)) for row in block.rows), ""]
    if isinstance(block, Picture):
        title = _text(block.drawing.title)
        return [f"(Drawing in the HTML and PDF forms: {title})", ""]
    return [line for one in block.blocks for line in _lines(one)]


def page_markdown(page: Page) -> str:
    """Return a page as Markdown; drawings are named, not drawn."""
    lines = [f"# {_text(page.title)}", "", _text(page.subtitle), ""]
    for block in page.blocks:
        lines += _lines(block)
    text = "\n".join(lines)
    while "\n\n\n" in text:
        text = text.replace("\n\n\n", "\n\n")
    return text.rstrip() + "\n"
