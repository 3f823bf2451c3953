"""A suggestion in a technician's words: which parts, and what is said to ail them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.diagnosis.claim_parts import (
    Focus,
    Wanted,
    parts_meant,
)
from ohmtrail.netanalysis.diagnosis.claim_scopes import scopes_of
from ohmtrail.netanalysis.diagnosis.claim_words import (
    ClaimError,
    Token,
    missing,
    tokens,
)
from ohmtrail.netanalysis.graph import CircuitView

__all__ = ["Claim", "ClaimError", "Item", "parse_claim"]


@dataclass(frozen=True, slots=True)
class Item:
    """Parts of which one is said to be faulty, or all of them."""

    parts: tuple[str, ...]
    #: In CONTRACT's words ("short", "open", "weakened" ...); None for just bad.
    fault: str | None = None
    #: True where each of the parts is said to have the fault.
    every: bool = False
    #: The pin that the fault is said to be at, by ref.
    pins: tuple[Pin, ...] = ()
    #: The nets that a solder bridge is said to join.
    nets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Claim:
    """One meaning of a suggestion: all of its items are said to hold."""

    text: str
    items: tuple[Item, ...]
    #: How nouns were narrowed to parts, in words.
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class _Clause:
    tokens: list[Token] = field(default_factory=list)
    join: str = ""


def parse_claim(
    text: str, circuit: Circuit, view: CircuitView, focus: Focus | None = None
) -> tuple[Claim, ...]:
    """Return the meanings of a suggestion, one where it is clear.

    Parameters
    ----------
    text : str
        "bad gate resistor R511", "Q12/Q13 shorted", "the load on VCORE" ...
    circuit : Circuit
    view : CircuitView
    focus : Focus, optional
        What the log turns on, for nouns that do not say whose they are.

    Raises
    ------
    ClaimError
        If words are not understood, or no part is named.  Nothing is guessed.

    Examples
    --------
    See ``docs/method.md``.
    """
    found = tokens(text, circuit.board)
    unknown = _unknown(found)
    if unknown:
        raise missing(circuit.board, *unknown)
    reader = _Reader(text, circuit, view, focus or Focus())
    meanings: list[list[Item]] = [[]]
    for options in reader.clauses(_clauses(found)):
        meanings = [[*before, *one] for before in meanings for one in options][:8]
    if not any(meanings):
        raise ClaimError(
            f"the suggestion {text.strip()!r} names no part, expected a ref or words "
            "such as 'gate resistors', 'high sides of phase 2'",
            (text.strip(),),
        )
    notes = tuple(dict.fromkeys(reader.notes))
    made = [Claim(text, _merged(circuit, items), notes) for items in meanings]
    return tuple(dict.fromkeys(made))


def _unknown(found: Sequence[Token]) -> list[str]:
    """Return words that nothing is known of; a phase's letter is known."""
    words = []
    for i, token in enumerate(found):
        if token.kind != "unknown":
            continue
        after_phase = i > 0 and found[i - 1].text in ("phase", "stage")
        before_pin = i > 0 and found[i - 1].said.casefold() == "pin"
        if after_phase or before_pin or token.said.casefold() in ("pin", "to"):
            continue
        words.append(token.said)
    return words


def _clauses(found: Sequence[Token]) -> list[_Clause]:
    made = [_Clause()]
    for i, token in enumerate(found):
        if token.kind == "join":
            high_and_low = 0 < i < len(found) - 1 and {
                found[i - 1].text,
                found[i + 1].text,
            } <= {"high", "low"}
            between = any(one.said.casefold() == "between" for one in made[-1].tokens)
            if not high_and_low and not between:
                made.append(_Clause(join=token.text))
            continue
        made[-1].tokens.append(token)
    made = [one for one in made if one.tokens]
    said = {one.join for one in made[1:]} - {","}
    for one in made[1:]:
        if one.join == ",":
            one.join = said.pop() if len(said) == 1 else "or"
            said.add(one.join)
    return made


class _Reader:
    """Turns clauses into items."""

    def __init__(
        self, text: str, circuit: Circuit, view: CircuitView, focus: Focus
    ) -> None:
        self.text = text
        self.circuit = circuit
        self.view = view
        self.focus = focus
        self.notes: list[str] = []
        self.last_parts: tuple[str, ...] = ()

    def clauses(self, clauses: Sequence[_Clause]) -> list[list[list[Item]]]:
        """Return, by clause, its possible items."""
        faults = [self._fault(one) for one in clauses]
        said = [i for i, one in enumerate(faults) if one is not None]
        made: list[list[list[Item]]] = []
        for i, clause in enumerate(clauses):
            fault = faults[i]
            if fault is None and said:
                later = [j for j in said if j > i]
                fault = faults[later[0] if later else said[-1]]
            every = any(t.kind == "many" and t.text == "all" for t in clause.tokens)
            options = self._items(clause, fault, every)
            if not options:
                continue
            if clause.join == "or" and made:
                made[-1] = [
                    [_either(one[-1], other[0])]
                    if one[-1].fault == other[0].fault
                    and one[-1].parts
                    and other[0].parts
                    else [*one, *other]
                    for one in made[-1]
                    for other in options
                ]
            else:
                made.append(options)
        return made

    def _fault(self, clause: _Clause) -> str | None:
        """Return the fault that a clause speaks of; "" for bad, None for no word."""
        said = [one.text for one in clause.tokens if one.kind == "fault"]
        specific = [one for one in said if one != "bad"]
        if specific:
            gate = any(one.text == "gate" for one in clause.tokens)
            head = any(one.kind == "head" for one in clause.tokens)
            refs = any(
                one.kind == "ref" and self.view.kind(one.text) != "resistor"
                for one in clause.tokens
            )
            if gate and specific[0] in ("short", "leaky") and (refs or not head):
                return "gate short"
            return specific[0]
        return "" if said else None

    def _items(
        self, clause: _Clause, fault: str | None, every: bool
    ) -> list[list[Item]]:
        refs = [one.text for one in clause.tokens if one.kind in ("ref", "pin")]
        pins = tuple(one.pin for one in clause.tokens if one.pin is not None)
        pins += self._pins_said(clause, refs)
        scopes = scopes_of(
            self.circuit, self.view, self.focus, clause.tokens, self.last_parts
        )
        for one in scopes:
            self.notes += one.notes
        named: str | None = fault or None
        if named == "solder bridge" and not refs and scopes[0].nets:
            return [[Item((), named, nets=tuple(dict.fromkeys(scopes[0].nets)))]]
        made = []
        problem: ClaimError | None = None
        for wanted in scopes:
            try:
                parts, name = self._parts(wanted, refs, named)
            except ClaimError as error:
                problem = error
                continue
            if not parts:
                continue
            for ref in parts:
                if not self.view.fitted(ref):
                    raise ClaimError(
                        f"{ref} is not fitted on this board, expected a fitted part",
                        (ref,),
                    )
            pins += self._outputs(wanted, parts)
            made.append([Item(parts, name, every and name is not None, pins)])
        if problem is not None and not made:
            raise problem
        if made:
            self.last_parts = made[0][0].parts
        return made

    def _parts(
        self, wanted: Wanted, refs: Sequence[str], fault: str | None
    ) -> tuple[tuple[str, ...], str | None]:
        wanted = self._for_refs(wanted, refs)
        if wanted.head == "driver" and fault is None:
            fault = "driver output dead"
        if not wanted.named:
            return tuple(dict.fromkeys(refs)), fault
        parts, note = parts_meant(self.circuit, self.view, wanted, self.focus)
        if note:
            self.notes.append(note)
        return parts, fault

    def _outputs(self, wanted: Wanted, parts: Sequence[str]) -> tuple[Pin, ...]:
        """Return the outputs of "its driver": those that drive the part meant."""
        owners = set(wanted.owners)
        if not owners and wanted.stages is None and not wanted.nets:
            owners = set(self.focus.levels[0][1]) if self.focus.levels else set()
        if wanted.head != "driver" or not owners:
            return ()
        found = []
        for stage in self.circuit.stages:
            for chain in stage.gate_chains:
                ref, _, number = (chain.driver_pin or "").rpartition(".")
                if chain.switch in owners and ref in parts:
                    found.append(self.circuit.board.part_by_ref[ref].pin(number))
        return tuple(pin for pin in found if pin is not None)

    def _for_refs(self, wanted: Wanted, refs: Sequence[str]) -> Wanted:
        """Return the noun with its owners; no noun where the refs are it."""
        if not refs:
            if wanted.owners:
                wanted.owners = list(self.last_parts) or wanted.owners
            return wanted
        if not wanted.head and wanted.adjectives <= {"gate", "high", "low", "big"}:
            return Wanted()
        if self._describes(wanted, refs):
            return Wanted()
        wanted.owners = list(refs)
        return wanted

    def _describes(self, wanted: Wanted, refs: Sequence[str]) -> bool:
        """Whether "gate resistor R511" names R511 itself."""
        if wanted.head == "mate" or "other" in wanted.adjectives:
            return False
        if wanted.head == "pair":
            return len(refs) > 1
        kinds = {self.view.kind(ref) for ref in refs}
        same = {
            "switch": {"mosfet", "igbt", "bipolar"},
            "diode": {"diode", "zener", "tvs"},
            "shunt": {"resistor"},
            "load": {"chip"},
            "processor": {"chip"},
            "driver": {"chip"},
            "controller": {"chip"},
            "regulator": {"chip"},
            "snubber": {"resistor", "capacitor"},
            "": {"resistor", "capacitor", "diode", "inductor"},
        }.get(wanted.head, {wanted.head})
        return kinds <= same

    def _pins_said(self, clause: _Clause, refs: Sequence[str]) -> tuple[Pin, ...]:
        found = []
        said = [one.said for one in clause.tokens]
        for i, word in enumerate(said[:-1]):
            if word.casefold() == "pin" and len(refs) == 1:
                pin = self.circuit.board.part_by_ref[refs[0]].pin(said[i + 1])
                if pin is None:
                    raise ClaimError(
                        f"found pin {said[i + 1]} of {refs[0]} in the suggestion; "
                        "the part has no such pin",
                        (said[i + 1],),
                    )
                found.append(pin)
        return tuple(found)


def _either(one: Item, other: Item) -> Item:
    return Item(
        tuple(dict.fromkeys((*one.parts, *other.parts))),
        one.fault,
        False,
        (*one.pins, *other.pins),
    )


def _merged(circuit: Circuit, items: Iterable[Item]) -> tuple[Item, ...]:
    """Join items that say the same of parts of one kind.

    A fault that is named is said of each of them.  Mates that are only said to be
    bad are one suspicion, since a dead switch takes its set along.
    """
    made: list[Item] = []
    for item in items:
        before = made[-1] if made else None
        if before is None or before.fault != item.fault or before.nets or item.nets:
            made.append(item)
            continue
        parts = tuple(dict.fromkeys((*before.parts, *item.parts)))
        joined = (
            _one_set(circuit, parts)
            if item.fault is None
            else _one_sort(circuit, parts)
            and all(len(one.parts) == 1 or one.every for one in (before, item))
        )
        if not joined:
            made.append(item)
            continue
        pins = (*before.pins, *item.pins)
        made[-1] = Item(parts, item.fault, item.fault is not None, pins)
    return tuple(made)


def _one_sort(circuit: Circuit, parts: Sequence[str]) -> bool:
    kinds = {circuit.kinds[ref].kind for ref in parts if ref in circuit.kinds}
    return len(kinds) == 1


def _one_set(circuit: Circuit, parts: Sequence[str]) -> bool:
    return any(set(parts) <= set(one.parts) for one in circuit.parallel_sets)
