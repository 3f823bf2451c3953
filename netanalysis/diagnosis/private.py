"""A bench log without what concerns nobody but its owner.

The columns that mean something to the reasoning are named in `log`; any further
column (customer, serial, price) is the owner's own, and so is its text where a note
repeats it.
"""

import re
from dataclasses import replace

from ohmtrail.netanalysis.diagnosis.log import Event, Log

__all__ = ["LEFT_OUT", "private_texts", "without_private"]

LEFT_OUT = "[left out]"
#: Shorter texts ("A", "12") stand in any note by chance.
_LEAST = 3


def private_texts(log: Log) -> tuple[str, ...]:
    """Return what stands in the owner's own columns, the longest text first."""
    found = {text.strip() for event in log.events for _, text in event.extra}
    return tuple(sorted(found, key=lambda text: (-len(text), text)))


def without_private(log: Log) -> Log:
    """Return the log without its owner's columns.

    Parameters
    ----------
    log : Log
        As it was read.

    Returns
    -------
    Log
        The same events.  Where a note or a time repeats a text of those columns (of
        three letters or more, in any case) `LEFT_OUT` stands instead; other
        notes are kept as they are.

    Notes
    -----
    A name that stands in a note alone cannot be known for one.
    O(events * distinct private texts).
    """
    texts = [re.escape(text) for text in private_texts(log) if len(text) >= _LEAST]
    hidden = re.compile("|".join(texts), re.IGNORECASE) if texts else None

    def bare(event: Event) -> Event:
        note, when = event.note, event.when
        if hidden is not None:
            note, when = (hidden.sub(LEFT_OUT, text) for text in (note, when))
        return replace(event, note=note, when=when, extra=())

    return replace(log, events=tuple(map(bare, log.events)), extra_columns=())
