"""A page as one HTML file: no scripts, nothing fetched, every name plain text."""

from collections.abc import Iterable, Iterator
from html import escape

from ohmtrail.cli.render.drawing_svg import svg_text
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
from ohmtrail.cli.render.page_style import STYLE
from ohmtrail.cli.render.plain import shown

__all__ = ["page_html"]

#: Whatever slipped through, a browser runs and fetches nothing.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'"
#: From so many chapters on, a list of them stands at the head.
_CHAPTERS = 4


def _text(text: str) -> str:
    return escape(shown(" ".join(text.split())))


class _Writer:
    """Writes blocks; numbers the chapters."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.chapters: list[tuple[str, str]] = []

    def blocks(self, blocks: Iterable[Block]) -> None:
        for block in blocks:
            self.block(block)

    def block(self, block: Block) -> None:
        add = self.lines.append
        if isinstance(block, Heading):
            self.heading(block)
        elif isinstance(block, Paragraph):
            text = _text(block.text)
            add(f"<p><strong>{text}</strong></p>" if block.strong else f"<p>{text}</p>")
        elif isinstance(block, Items):
            self.items(block)
        elif isinstance(block, Terms):
            add("<dl>")
            for word, text in block.rows:
                add(f"<div><dt>{_text(word)}</dt><dd>{_text(text)}</dd></div>")
            add("</dl>")
        elif isinstance(block, Table):
            self.lines += _table(block)
        elif isinstance(block, Picture):
            add(f'<figure tabindex="0" style="max-width:{block.width_mm:g}mm">')
            add(f"{svg_text(block.drawing)}</figure>")
        else:
            add('<div class="together">')
            self.blocks(block.blocks)
            add("</div>")

    def heading(self, block: Heading) -> None:
        aside = f' <span class="aside">{_text(block.aside)}</span>' * bool(block.aside)
        name = ' class="ruled"' if block.ruled else ""
        if block.level == 2:
            anchor = f"c{len(self.chapters) + 1}"
            self.chapters.append((anchor, block.text))
            name += f' id="{anchor}"'
        tag = f"h{block.level}"
        self.lines.append(f"<{tag}{name}>{_text(block.text)}{aside}</{tag}>")

    def items(self, block: Items) -> None:
        kind = f' class="{block.mark}"' if block.mark else ""
        self.lines.append(f"<ul{kind}>")
        for item in block.items:
            text = _box(item) if block.mark == "tick" else _text(item)
            self.lines.append(f"<li>{text}</li>")
        self.lines.append("</ul>")


def _box(text: str) -> str:
    return f'<label><input type="checkbox"> {_text(text)}</label>'


def _cell(cell: Cell) -> str:
    if isinstance(cell, Tick):
        return _box(cell.text)
    if isinstance(cell, Room):
        label = _text(cell.label)
        return (
            f'<input class="room" type="text" autocomplete="off" aria-label="{label}">'
        )
    return _text(cell)


def _table(table: Table) -> Iterator[str]:
    """Give a table's lines; the roles stay when a narrow screen stacks the cells."""
    yield f'<table role="table" aria-label="{_text(table.label)}">'
    total = sum(table.widths)
    for width in table.widths:
        yield f'<col style="width:{100 * width / total:.3g}%">'
    heads = "".join(
        f'<th role="columnheader" scope="col">{_text(head)}</th>' for head in table.head
    )
    yield f'<thead role="rowgroup"><tr role="row">{heads}</tr></thead>'
    yield '<tbody role="rowgroup">'
    labels = [_text(head) for head in table.head]
    for row in table.rows:
        cells = "".join(
            f'<td role="cell" data-label="{label}">{_cell(cell)}</td>'
            if cell != ""
            else '<td role="cell" class="none"></td>'
            for label, cell in zip(labels, row, strict=True)
        )
        yield f'<tr role="row">{cells}</tr>'
    yield "</tbody></table>"


def page_html(page: Page) -> str:
    """Return a page as HTML.

    Parameters
    ----------
    page : Page
        What to write.

    Returns
    -------
    str
        One file that fetches nothing and holds no script; it reads on a phone and
        on a wide screen, and prints on A4 and Letter.

    Notes
    -----
    O(size).  Boxes and fields keep nothing: the page is for paper and for a glance.
    """
    writer = _Writer()
    writer.blocks(page.blocks)
    title = _text(page.title)
    contents = ""
    if len(writer.chapters) >= _CHAPTERS:
        links = "".join(
            f'<li><a href="#{anchor}">{_text(text)}</a></li>'
            for anchor, text in writer.chapters
        )
        contents = f'<nav aria-label="Contents"><ul>{links}</ul></nav>\n'
    body = "\n".join(writer.lines)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n"
        f"<header><h1>{title}</h1>\n<p>{_text(page.subtitle)}</p></header>\n"
        f"{contents}<main>\n{body}\n</main>\n</body>\n</html>\n"
    )
