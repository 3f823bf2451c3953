"""How wide a text becomes, before it is on any page."""

from ohmtrail.cli.render.plain import shown

__all__ = ["cut", "text_width", "wrapped"]

#: Thousandths of the size, from the space on (Adobe's metrics of Helvetica).
_WIDTHS = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 "
    "556 556 556 556 556 556 278 278 584 584 584 556 1015 667 667 722 722 667 611 778 "
    "722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 667 667 611 278 "
    "278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 "
    "556 556 333 500 278 556 500 722 500 500 500 334 260 334 584"
)
_WIDTH = {chr(32 + n): int(w) for n, w in enumerate(_WIDTHS.split())}
#: Letters outside ASCII: as wide as the widest common ones, or full width.
_OTHER, _FULL = 800, 1000
_BOLD = 1.07


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a line of text, in the unit of its size.

    Examples
    --------
    >>> round(text_width("R12", 10.0), 2)
    18.34
    """
    total = 0
    for char in shown(text):
        total += _WIDTH.get(char) or (_FULL if ord(char) > 0x1100 else _OTHER)
    return total * size / 1000 * (_BOLD if bold else 1.0)


def cut(text: str, size: float, width: float, *, bold: bool = False) -> str:
    """Return the text, or its beginning with dots, not wider than a width.

    Examples
    --------
    >>> cut("a long name of a net", 2.0, 10.0)
    'a long na...'
    """
    text = shown(text)
    if text_width(text, size, bold=bold) <= width:
        return text
    left = text[: max(1, int(width / size * 5))]
    while left and text_width(left + "...", size, bold=bold) > width:
        left = left[:-1]
    return left + "..."


def wrapped(text: str, size: float, width: float) -> list[str]:
    """Return the text in lines not wider than a width; long words are cut up."""
    lines: list[str] = []
    line = ""
    for word in shown(text).split():
        longer = f"{line} {word}" if line else word
        if text_width(longer, size) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while text_width(word, size) > width and len(word) > 1:
            keep = len(word) - 1
            while keep > 1 and text_width(word[:keep], size) > width:
                keep -= 1
            lines.append(word[:keep])
            word = word[keep:]
        line = word
    if line:
        lines.append(line)
    return lines
