"""What a step's range rests on, in a technician's words, two lines at most."""

import math
import re
from collections.abc import Iterable, Sequence

from ohmtrail.netanalysis.network.elements import Resistance
from ohmtrail.netanalysis.network.expectation import Expectation, ohm_text
from ohmtrail.netanalysis.network.load_classes import UNKNOWN_LOAD, is_load
from ohmtrail.netanalysis.network.scene import Element
from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = ["LETTERS_MAX", "range_words", "source_words", "unknown_words"]

#: Two lines of a screen of 80 columns.
LETTERS_MAX = 140
_REFS_MAX = 4
_NO_WAY = "nothing on the board leads from one to the other"
#: A reading nearer to its mark than this share needs no reason.
_AS_MARKED = 0.005
_PRACTICE = re.compile(r"^common practice: | ?\(common practice\)")
_SHARE = re.compile(r", \d+ of its \d+ supply pins(?=$|;)")


def range_words(low: float, high: float) -> str:
    """Return a range of ohms in a few letters: "OL", "over 1k", "17k to 58.8k"."""
    if math.isinf(low):
        return "OL"
    if math.isinf(high):
        return f"over {ohm_text(low)}"
    return f"{ohm_text(low)} to {ohm_text(high)}"


def _reason(one: Element) -> str:
    return _SHARE.sub("", _PRACTICE.sub("", one.because))


def _ends(one: Element) -> frozenset[str]:
    if isinstance(one, Resistance):
        return frozenset((one.a, one.b))
    return frozenset((one.anode, one.cathode))


def _taking_part(
    found: Expectation,
    solved: SolvedBoard,
    nodes: frozenset[str],
    beyond: frozenset[str],
) -> list[tuple[str, Element]]:
    """Return the element by which each part takes part, as far as nodes tell.

    That at the probes first, then that at the ends of what is marked: a chip has many
    paths, and the one between the same nets as the resistors is meant.
    """
    ground = {node for node in nodes if solved.scene.view.is_ground(node)}
    near = set(nodes | beyond)
    for ref in found.because:
        for one in solved.elements(ref):
            if isinstance(one, Resistance) and not one.assumed:
                near |= _ends(one)
    ground |= {node for node in near if solved.scene.view.is_ground(node)}
    near -= ground
    junctions = found.mode == "diode"
    probed = nodes - ground

    def rank(one: Element) -> tuple[int, int, int, bool]:
        ends = _ends(one)
        resists = isinstance(one, Resistance)
        at, by = len(probed & ends), len(near & ends)
        return -at, -by, int(resists == junctions), is_load(one)

    parts = []
    for ref in found.because:
        first = min(solved.elements(ref), key=rank, default=None)
        if first is not None:
            parts.append((ref, first))
    return parts


def source_words(
    found: Expectation,
    solved: SolvedBoard,
    nodes: tuple[str, str],
    own: str | None,
    beyond: frozenset[str] = frozenset(),
    room: int = LETTERS_MAX,
) -> str:
    """Return what a range rests on.

    Parameters
    ----------
    found : Expectation
        The range.
    solved : SolvedBoard
        The board that it was worked out on.
    nodes : (str, str)
        Nodes under the probes.
    own : str, optional
        The part that the step reads; its mark comes first, without its ref.
    beyond : frozenset of str
        Nodes beyond the links at the probes.
    room : int
        Letters to spend.
    """
    ends = frozenset(nodes)
    parts = _taking_part(found, solved, ends, beyond)
    mine = next(
        (
            one
            for ref, one in parts
            if ref == own
            and isinstance(one, Resistance)
            and not one.assumed
            and {one.a, one.b} == ends
        ),
        None,
    )
    if mine is None:
        return _listed(parts, room) or _NO_WAY
    others = [ref for ref, one in parts if one is not mine]
    typical = found.typical
    if (
        typical is None
        or not others
        or abs(typical - mine.ohms) < (_AS_MARKED * mine.ohms)
    ):
        return mine.because
    verb = "lies" if len(others) == 1 else "lie"
    return (
        f"{mine.because}; reads {ohm_text(typical)} here, not {ohm_text(mine.ohms)}: "
        f"{_names(others)} {verb} across it"
    )


def _names(refs: Sequence[str]) -> str:
    if len(refs) > _REFS_MAX:
        return f"{' '.join(refs[: _REFS_MAX - 1])} and {len(refs) - _REFS_MAX + 1} more"
    return " and ".join((", ".join(refs[:-1]), refs[-1])) if refs[1:] else refs[0]


def _listed(parts: Iterable[tuple[str, Element]], room: int) -> str:
    """Return the parts with their reasons, those of one reason together."""
    groups: dict[str, list[str]] = {}
    assumed = False
    for ref, one in parts:
        groups.setdefault(_reason(one), []).append(ref)
        assumed = assumed or one.assumed or bool(_PRACTICE.search(one.because))
    tail = " (common practice)" if assumed else ""
    texts: list[str] = []
    room -= len(tail) + len("; and 99 more")
    left = sum(len(refs) for refs in groups.values())
    for reason, refs in groups.items():
        names = " ".join(refs[:_REFS_MAX])
        more = f" and {len(refs) - _REFS_MAX} more" if len(refs) > _REFS_MAX else ""
        text = f"{names}{more}: {reason}"
        if texts and len("; ".join([*texts, text])) > room:
            break
        texts.append(text)
        left -= len(refs)
    rest = f"; and {left} more" if left else ""
    return "; ".join(texts) + rest + tail if texts else ""


def unknown_words(nets: Sequence[str], low: float) -> str:
    """Return why a range says so little: a load that nobody knows."""
    asked = f" (--nominal {nets[0]}=VOLTS)" if len(nets) == 1 else ""
    named = nets[0] if nets else "the load"
    if len(nets) > 1:
        named += f" and {len(nets) - 1} more"
    ohms = f"{low:.3g} ohm" if low >= 0.1 else f"{1e3 * low:.3g} milliohm"
    short = f"; under {ohms} is a short on any rail"
    least = short if 0 < low <= UNKNOWN_LOAD.low else ""
    return f"unknown: the volts of {named}{asked}{least}"
