"""Names out of a file, made safe to show: nothing in them commands a terminal."""

__all__ = ["shown"]

#: Marks that turn the direction of text, or hide in it.
_HIDDEN = frozenset(
    chr(code)
    for code in (
        0x61C,
        *range(0x200B, 0x2010),
        *range(0x2028, 0x202F),
        *range(0x2060, 0x2070),
        0xFEFF,
    )
)


def shown(text: str) -> str:
    r"""Return text with control characters written out.

    Examples
    --------
    >>> print(shown("VBUS\x1b[31m"), shown("+5V"))
    VBUS\x1b[31m +5V
    """
    if text.isprintable():
        return text
    return "".join(
        char
        if char == " " or (char.isprintable() and char not in _HIDDEN)
        else char.encode("unicode_escape").decode("ascii")
        for char in text
    )
