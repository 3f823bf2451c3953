"""A value text cut into words."""

import re
import unicodedata

__all__ = ["grouped_numbers", "normal", "words"]

#: Signs that compatibility (NFKC) leaves: micro, ohm, dashes, times, fraction bar.
_SIGNS = str.maketrans(
    {
        "\u03bc": "u",
        "\u00b5": "u",
        "\u03a9": "R",
        "\u03c9": "R",
        "\u2013": "-",
        "\u2212": "-",
        "\u00d7": "x",
        "\u2044": "/",
    }
)
#: "4,7k", "2,25": a comma that no grouping of thousands explains.
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_THOUSANDS = re.compile(r"(?<![\d.,])([1-9]\d{0,2})((?:,\d{3})+)(?![\d,])")
_SPACED_THOUSANDS = re.compile(
    r"^([1-9]\d{0,2}(?: \d{3})+)(?= ?[munpkKMG]?(?:[FRH]\b|[Oo]hm|$))"
)
_UNIT_APART = re.compile(
    r"(?<![A-Za-z0-9.])(\d+(?:\.\d+)?) +(?=(?:[NUP](?=[FH])|[munpkKMG]?)"
    r"(?:F|H|R|[Oo]hms?|OHMS?|A|V|W|Hz|%)(?![A-Za-z0-9])|[munpkKMG](?![A-Za-z0-9]))"
)
_SPLIT = re.compile(r"[\s/,;|_@()\[\]*:=]+")


def normal(text: str) -> str:
    """Return a text with one spelling of each sign: u, R, x, ± and plain digits.

    >>> normal("2,2 µF"), normal("4.7 kΩ +/- 5%"), normal("10㏀")
    ('2,2 uF', '4.7 kR ±5%', '10kR')
    """
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text).translate(_SIGNS)
    if "+" in text or "±" in text:
        text = re.sub(r" ?(?:\+ ?/? ?- ?(?=[\d.])|± ?)", " ±", text)
    return text.strip()


def grouped_numbers(text: str) -> tuple[str, ...]:
    """Return the readings of a text whose comma may group thousands.

    One reading where the comma is clear, two where it is not.

    >>> grouped_numbers("4,7k"), grouped_numbers("10,000,000")
    (('4.7k',), ('10000000',))
    >>> grouped_numbers("4,700")
    ('4.700', '4700')
    """
    if "'" in text:
        text = re.sub(r"(?<=\d)'(?=\d{3})", "", text)
    if " " in text:
        text = _SPACED_THOUSANDS.sub(lambda match: match[1].replace(" ", ""), text)
    if "," not in text:
        return (text,)
    match = _THOUSANDS.search(text)
    grouped = _THOUSANDS.sub(lambda found: found[0].replace(",", ""), text)
    if match is None:
        return (_DECIMAL_COMMA.sub(".", text),)
    if match[2].count(",") > 1:
        return (_DECIMAL_COMMA.sub(".", grouped),)
    return (_DECIMAL_COMMA.sub(".", text), _DECIMAL_COMMA.sub(".", grouped))


def words(text: str) -> list[str]:
    """Cut a normalised text into words, each number together with its unit.

    >>> words("22uF/6.3V X5R"), words("10 k 1 %"), words("0.02±1%".replace("±", " ±"))
    (['22uF', '6.3V', 'X5R'], ['10k', '1%'], ['0.02', '±1%'])
    """
    if " " in text:
        text = _UNIT_APART.sub(r"\1", text)
    return [word for word in _SPLIT.split(text) if word]
