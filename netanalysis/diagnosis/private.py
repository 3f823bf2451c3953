"""A bench log without what concerns nobody but its owner.

The columns that mean something to the reasoning are named in `log`; any further
column (customer, serial, price) is the owner's own, and so is its text where a note
repeats it.
"""

import re
from dataclasses import replace

from ohmtrail.netanalysis.diagnosis.log import Event, Log

__all__ = ["LEFT_OUT", "hidden", "private_texts", "without_private"]

LEFT_OUT = "[left out]"
#: Shorter texts ("A", "12") stand in any note by chance.
_LEAST = 3
#: Single words of a text count too if it is as short as a name and they are as long.
_WORDS_MAX, _WORD_LEAST = 4, 4


def private_texts(log: Log) -> tuple[str, ...]:
    """Return what must not be repeated: the owner's texts, and words of short ones.

    Returns
    -------
    tuple of str
        The longest first; texts of two letters or less are left out.
    """
    found: set[str] = set()
    for text in {text.strip() for event in log.events for _, text in event.extra}:
        words = re.findall(r"\w+", text)
        if len(text) >= _LEAST:
            found.add(text)
        if len(words) <= _WORDS_MAX:
            found.update(word for word in words if len(word) >= _WORD_LEAST)
    return tuple(sorted(found, key=lambda text: (-len(text), text)))


def hidden(text: str, private: tuple[str, ...]) -> str:
    """Return a text with `LEFT_OUT` where it repeats a private one, in any case.

    Examples
    --------
    >>> hidden("for petra, said Petrarca", ("Petra",))
    'for [left out], said Petrarca'
    """
    if not private:
        return text
    pattern = "|".join(map(re.escape, private))
    return re.sub(rf"(?<!\w)(?:{pattern})(?!\w)", LEFT_OUT, text, flags=re.IGNORECASE)


def without_private(log: Log) -> Log:
    """Return the log without its owner's columns.

    Parameters
    ----------
    log : Log
        As it was read.

    Returns
    -------
    Log
        The same events.  Where a note or a time repeats a text of those columns, or a
        word of a short one such as a name, `LEFT_OUT` stands instead; other notes are
        kept as they are.

    Notes
    -----
    A name that stands in a note alone cannot be known for one.
    O(events * distinct private texts).
    """
    private = private_texts(log)

    def bare(event: Event) -> Event:
        note, when = (hidden(text, private) for text in (event.note, event.when))
        return replace(event, note=note, when=when, extra=())

    return replace(log, events=tuple(map(bare, log.events)), extra_columns=())
