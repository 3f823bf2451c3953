"""The current's path to a rail and from it, in words."""

from collections.abc import Sequence

from ohmtrail.netanalysis.circuit import Circuit

__all__ = ["current_path"]


#: Names in a line; more say nothing from half a metre.
_SHOWN_MAX = 12


def _some(names: Sequence[str], between: str) -> str:
    shown = between.join(names[:_SHOWN_MAX])
    more = len(names) - _SHOWN_MAX
    return shown if more <= 0 else f"{shown} and {more} more"


def current_path(circuit: Circuit, net: str) -> tuple[str, ...]:
    """Return where a rail's current comes from and where it goes.

    Returns
    -------
    tuple of str
        One line up the stream, from the inlet to the rail with the part that makes
        each, and one line down it.  Empty where nothing is known.

    Notes
    -----
    O(rails) for each rail upstream.
    """
    rails = {rail.net: rail for rail in circuit.rails}
    if net not in rails:
        return ()
    above: dict[str, str] = {}
    for rail in circuit.rails:
        for fed in rail.feeds:
            above.setdefault(fed, rail.net)
    chain = [net]
    while chain[-1] in above and above[chain[-1]] not in chain:
        chain.append(above[chain[-1]])
    words = []
    for one in reversed(chain):
        source = rails[one].source if one in rails else None
        words += [source, one] if source is not None else [one]
    lines = []
    if len(words) > 1:
        lines.append("comes from: " + " > ".join(words))
    if rails[net].feeds:
        onward = [
            f"{rails[one].source} > {one}"
            if one in rails and rails[one].source is not None
            else one
            for one in rails[net].feeds
        ]
        lines.append("goes on to: " + _some(onward, ", "))
    if rails[net].loads:
        lines.append("loads: " + _some(rails[net].loads, " "))
    return tuple(lines)
