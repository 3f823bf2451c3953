"""Text of a layout to its tree, with the one fault that KiCad lets pass."""

import re
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._sexpr import Grammar, Node
from ohmtrail.netanalysis.board import Unused

__all__ = ["LISTS", "parse"]

#: Groups that hold nothing about pins: artwork, copper, texts' looks, models.
_SKIP = (
    "arc", "bezier", "component_classes", "descr", "dimension", "drill", "effects",
    "embedded_files", "fp_arc", "fp_circle", "fp_curve", "fp_line", "fp_poly",
    "fp_rect", "fp_text_box", "general", "generated", "gr_bbox",
    "gr_text",
    "gr_text_box", "gr_vector", "group", "image", "model", "net_class", "options",
    "primitives", "rect_delta", "render_cache", "segment", "setup", "table",
    "tags", "target", "teardrops", "tedit", "tenting", "title_block", "tstamp",
    "units", "uuid", "via", "zone",
)  # fmt: skip

LISTS = Grammar(skip=_SKIP)

_GLUED = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"|(\))(?=[a-z_]++\s)', re.DOTALL)


def _mend(text: str) -> tuple[str, list[int]]:
    """Put the missing "(" into ``(curved_edges no)filter_ratio 0.9)``."""
    offsets: list[int] = []

    def one(match: re.Match[str]) -> str:
        if match[1] is None:
            return match[0]
        offsets.append(match.start())
        return ")("

    return _GLUED.sub(one, text), offsets


def parse(text: str, path: Path) -> tuple[str, Node, list[Unused]]:
    """Return the text as parsed, its tree, and what had to be mended.

    Some releases of KiCad wrote ``(curved_edges no)filter_ratio 0.9)`` with no
    bracket between, and read it without complaint.  Where a file does not parse,
    a word glued to a closing bracket is taken to have lost its opening one.

    Parameters
    ----------
    text : str
        Whole file.
    path : Path
        For messages.

    Raises
    ------
    ParseError
        If the file cannot be parsed, mended or not.

    Notes
    -----
    O(length), twice or three times that for a file to be mended.
    """
    try:
        return text, LISTS.parse(text, path), []
    except ParseError as error:
        mended, offsets = _mend(text)
        if not offsets:
            raise
        try:
            tree = LISTS.parse(mended, path)
        except ParseError:
            raise error from None
    line = text.count("\n", 0, offsets[0]) + 1
    what = "missing '(' behind a ')', read as if it were there"
    return mended, tree, [Unused(what, f"{path.name}:{line}", len(offsets))]
