"""Names of an EAGLE bus's members: ``DATA:D[0..7],!RD,CLK``."""

import re

__all__ = ["MEMBERS_MAX", "members"]

#: A bus with more members is taken for a mistake and left alone.
MEMBERS_MAX = 1024

_RANGE = re.compile(r"([^\[\]]*)\[(\d{1,6})\.\.(\d{1,6})\]([^\[\]]*)")


def members(bus: str) -> list[str]:
    """Return the nets that a bus carries, in order; none if it names too many.

    Parameters
    ----------
    bus : str
        Name of the bus; what stands before a colon is only its title.

    Examples
    --------
    >>> members("DATA:D[1..0],CLK")
    ['D1', 'D0', 'CLK']
    >>> members("A")
    ['A']
    """
    found: list[str] = []
    for word in bus.rpartition(":")[2].split(","):
        match = _RANGE.fullmatch(word)
        if match is None:
            found.append(word)
        else:
            first, last = int(match[2]), int(match[3])
            step = 1 if last >= first else -1
            if abs(last - first) >= MEMBERS_MAX:
                return []
            found += [
                f"{match[1]}{n}{match[4]}" for n in range(first, last + step, step)
            ]
        if len(found) > MEMBERS_MAX:
            return []
    return [name for name in found if name]
