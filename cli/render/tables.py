"""Tables and paragraphs for people: rich, imported only here and only when used."""

import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

from ohmtrail.cli.render.plain import shown

__all__ = ["WIDTH_MAX", "bold", "listing", "print_table", "screen_width", "wrap"]

#: Wider lines are hard to follow from half a metre.
WIDTH_MAX = 110
#: Names up to this length are not broken.
_NAME_WIDTH = 26
#: No column gets narrower than this, or than its longest cell; words up to the other
#: are not broken while there is room.
_CELL_WIDTH, _WORD_WIDTH = 9, 16
#: Blanks between columns.
_GAP = 2


def screen_width() -> int:
    """Return the width to print at: the terminal's (or COLUMNS), else 80."""
    return max(40, min(shutil.get_terminal_size((80, 24)).columns, WIDTH_MAX))


def _console() -> "Console":
    from rich.console import Console

    terminal = sys.stdout.isatty()
    return Console(
        file=sys.stdout,
        width=screen_width(),
        force_terminal=terminal,
        color_system="auto" if terminal else None,
        highlight=False,
        markup=False,
        emoji=False,
    )


def bold(text: str) -> str:
    """Return the text in bold on a terminal, as it is elsewhere."""
    import os

    text = shown(text)
    if sys.stdout.isatty() and "NO_COLOR" not in os.environ:
        return f"\x1b[1m{text}\x1b[0m"
    return text


def _widths(cells: Sequence[Sequence[str]], named: int, room: int) -> list[int]:
    """Share the room among columns: names first, then whoever needs most.

    Every column gets its longest cell where there is room for all; else names keep
    `_NAME_WIDTH`, the others a word, and what is left goes by need.
    """
    columns = list(zip(*cells, strict=True))
    wanted = [max(1, *map(len, column)) for column in columns]
    if sum(wanted) <= room:
        return wanted
    words = [
        max((len(w) for c in column for w in c.split()), default=1)
        for column in columns
    ]
    least = [
        min(
            want,
            _NAME_WIDTH
            if number == named
            else max(_CELL_WIDTH, min(word, _WORD_WIDTH)),
        )
        for number, (want, word) in enumerate(zip(wanted, words, strict=True))
    ]
    while sum(least) > room and max(least) > 1:
        least[least.index(max(least))] -= 1
    need = [want - have for want, have in zip(wanted, least, strict=True)]
    spare = max(0, room - sum(least))
    total = sum(need)
    if total:
        least = [
            have + spare * more // total for have, more in zip(least, need, strict=True)
        ]
    return least


def print_table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print rows under headings; long cells wrap inside their column.

    A heading that ends in ">" makes its column align to the right.
    """
    from rich.table import Table
    from rich.text import Text

    cells = [tuple(map(shown, row)) for row in rows]
    # Names stand first, or second after a number; a broken name is hard to type.
    named = 1 if headings and headings[0].endswith(">") else 0
    titles = tuple(heading.rstrip(">") for heading in headings)
    room = screen_width() - _GAP * (len(headings) - 1)
    widths = _widths([titles, *cells], named, room)
    table = Table(
        box=None, pad_edge=False, padding=(0, _GAP, 0, 0), header_style="bold"
    )
    for heading, title, width in zip(headings, titles, widths, strict=True):
        table.add_column(
            Text(title),
            justify="right" if heading.endswith(">") else "left",
            overflow="fold",
            width=width,
        )
    for row in cells:
        table.add_row(*(Text(cell) for cell in row))
    console = _console()
    with console.capture() as capture:
        console.print(table)
    lines = capture.get().splitlines()
    sys.stdout.write("".join(line.rstrip() + "\n" for line in lines))


def wrap(text: str, indent: str = "", first: str | None = None) -> str:
    """Wrap a paragraph to the screen; breaks no name that fits on a line."""
    return textwrap.fill(
        shown(text),
        width=screen_width(),
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_on_hyphens=False,
    )


def listing(label: str, items: Iterable[str], empty: str = "none") -> str:
    """Return ``label: a b c``, wrapped with a hanging indent."""
    words = " ".join(items) or empty
    return wrap(f"{label} {words}", indent=" " * (len(label) + 1), first="")
