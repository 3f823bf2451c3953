"""Where the parts of a suggestion sit: "phase 2", "the second rail", "5V"."""

import re
from collections.abc import Sequence
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.claim_parts import Focus, Wanted, phase_stages
from ohmtrail.netanalysis.diagnosis.claim_words import ClaimError, Token, missing
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["scopes_of"]


def scopes_of(
    circuit: Circuit,
    view: CircuitView,
    focus: Focus,
    words: Sequence[Token],
    before: Sequence[str],
) -> list[Wanted]:
    """Return the noun of a clause once for every meaning of its rail.

    Parameters
    ----------
    circuit : Circuit
    view : CircuitView
    focus : Focus
        The nets that the log reads, for "the second rail".
    words : sequence of Token
        One clause.
    before : sequence of str
        Parts of the clause before, which "its" is about.

    Raises
    ------
    ClaimError
        If no phase or rail is as said.
    """
    wanted = Wanted()
    rails: list[str] = []
    for i, token in enumerate(words):
        last = words[i - 1] if i else None
        after = words[i + 1] if i + 1 < len(words) else None
        _noun(wanted, token)
        if token.kind == "net":
            wanted.nets.append(token.text)
        elif token.kind == "volts":
            rails += _rails_of_volts(circuit, token.said)
        elif token.text == "phase" and token.kind == "scope":
            found = phase_stages(circuit, _label(after, last))
            known = wanted.stages
            wanted.stages = [one for one in found if known is None or one in known]
        elif token.text == "rail" and last is not None and last.kind == "number":
            net, note = _numbered_rail(circuit, view, focus, int(last.text))
            rails.append(net)
            wanted.notes.append(note)
        if token.said.casefold() in ("its", "it's", "their", "his"):
            wanted.owners = list(before)
    if not rails:
        return [wanted]
    return [replace(wanted, nets=[*wanted.nets, net]) for net in dict.fromkeys(rails)]


def _noun(wanted: Wanted, token: Token) -> None:
    if token.kind == "head":
        if wanted.head not in ("", "switch") and token.text == "pair":
            return
        if token.text != "switch" or wanted.head != "pair":
            wanted.head = token.text
        wanted.plural |= token.plural
    elif token.kind == "adj":
        wanted.adjectives.add(token.text)
        wanted.plural |= token.plural
    elif token.kind == "many" and token.text == "all":
        wanted.plural = True


def _label(after: Token | None, before: Token | None) -> str:
    if after is not None:
        text = after.said.casefold()
        if re.fullmatch(r"\d|[a-z]", text):
            return text
        if after.kind == "number":
            return after.text
    if before is not None and before.kind == "number":
        return before.text
    raise ClaimError(
        "found 'phase' in the suggestion, expected which one: 'phase 2', 'phase B'",
        ("phase",),
    )


def _rails_of_volts(circuit: Circuit, said: str) -> list[str]:
    match = re.fullmatch(r"[+-]?(\d+(?:\.\d+)?)v(\d*)", said, re.I)
    if match is None:
        raise missing(circuit.board, said)
    volts = float(f"{match[1]}.{match[2]}" if match[2] else match[1])
    rails = [
        rail
        for rail in circuit.rails
        if rail.volts is not None and abs(rail.volts - volts) < 0.01
    ]
    own = [one for one in rails if one.volts_because in ("name", "stated")]
    if not rails:
        raise missing(circuit.board, said)
    return [rail.net for rail in own or rails]


def _numbered_rail(
    circuit: Circuit, view: CircuitView, focus: Focus, number: int
) -> tuple[str, str]:
    """Return the rail meant: as the log reads them, else as the board lists them."""
    nets = focus.nets or tuple(
        rail.net for rail in circuit.rails if not view.is_ground(rail.net)
    )
    if number > len(nets):
        raise ClaimError(
            f"found rail number {number} in the suggestion; the log has read "
            f"{len(nets)}: {', '.join(nets[:6])}",
            (f"rail {number}",),
        )
    where = "read in the log" if focus.nets else "listed by 'rails'"
    net = nets[number - 1]
    return net, f"rail number {number} taken as {net}, in the order {where}"
