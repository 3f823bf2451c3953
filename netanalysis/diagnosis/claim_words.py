"""The words of a suggestion: refs, nets and a technician's vocabulary."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Board, Pin
from ohmtrail.netanalysis.nearest import nearest

__all__ = ["ClaimError", "Token", "tokens"]


class ClaimError(ValueError):
    """A suggestion is not understood.  ``str()`` is one line.

    Attributes
    ----------
    words : tuple of str
        What was not understood.
    near : tuple of str
        Refs and nets of the board that look alike.
    """

    def __init__(
        self, message: str, words: Iterable[str] = (), near: Iterable[str] = ()
    ):
        super().__init__(message)
        self.message = message
        self.words = tuple(words)
        self.near = tuple(near)

    def __str__(self) -> str:
        """Return the line for people."""
        return self.message


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of a suggestion.

    ``kind`` is "ref", "pin", "net", "volts", "fault", "head", "adj", "scope",
    "many", "join", "number", "filler" or "unknown"; ``text`` is the ref, the net, or
    the vocabulary's own word; ``said`` is as typed.
    """

    kind: str
    text: str
    said: str
    plural: bool = False
    pin: Pin | None = None


#: Ways in which parts fail, by what people say.
_FAULTS = {
    "short": "short shorted shorting shortcircuit shorts",
    "open": "open opened interrupted discontinuous",
    "leaky": "leaky leaking leak leaks leakage",
    "weakened": "weak weakened degraded tired stressed aged",
    "drifted": "drifted drift drifting off-value",
    "solder bridge": "bridge bridged whisker",
    "bad": (
        "bad dead faulty defective broken burnt burned burn blown fried failed failing "
        "damaged toast toasted gone killed kaput cooked cracked faulted culprit "
        "guilty wrong died dying destroyed popped fault problem broke fail"
    ),
    "gate short": "punched punctured",
}
#: What parts are called.
_HEADS = {
    "switch": "switch fet mosfet transistor igbt bjt nfet pfet nmos pmos",
    "capacitor": "capacitor cap condenser mlcc tantalum electrolytic",
    "resistor": "resistor res",
    "inductor": "inductor coil choke",
    "diode": "diode zener tvs clamp schottky rectifier",
    "fuse": "fuse",
    "bead": "bead ferrite",
    "chip": "chip ic asic memory",
    "processor": "processor cpu soc gpu microcontroller mcu",
    "driver": "driver",
    "controller": "controller pwm",
    "load": "load consumer",
    "mate": "mate partner twin sibling",
    "pair": "pair set",
    "connector": "connector socket plug jack",
    "led": "led",
    "crystal": "crystal",
    "relay": "relay",
    "transformer": "transformer",
    "regulator": "regulator ldo",
    "shunt": "shunt",
    "snubber": "snubber",
}
_ADJECTIVES = {
    "high": "high upper top hs",
    "low": "low lower bottom ls",
    "gate": "gate",
    "input": "input inlet",
    "output": "output",
    "boot": "boot bootstrap",
    "sense": "sense sensing",
    "pulldown": "pulldown bleed bleeder",
    "big": "big biggest large largest main bulk",
    "small": "small smallest little",
    "other": "other",
}
_SCOPES = {
    "phase": "phase channel leg",
    "rail": "rail net supply line",
    "stage": "stage converter buck boost",
}
_MANY = {"all": "all every each both", "any": "any either"}
_JOINS = {"and": "and plus also", "or": "or"}
_ORDINALS = {
    "1": "first 1st one",
    "2": "second 2nd two",
    "3": "third 3rd three",
    "4": "fourth 4th four",
    "5": "fifth 5th",
    "6": "sixth 6th",
}
_FILLERS = (
    "the a an of on in at is are was were be been it its it's their his this that "
    "these those there with from by for to has have had must may might could can "
    "should maybe probably perhaps possibly surely certainly likely i we you he they "
    "think guess suspect suspected bet believe say said says my your our check replace "
    "change swap replaced changed try look looks like seems seem just only side sides "
    "part parts one ones component components somewhere near under around beside next "
    "between internally inside really very still please would will got get gets again "
    "some which what as so but"
).split()
_PHRASES = {
    ("solder", "bridge"): ("fault", "solder bridge"),
    ("solder", "ball"): ("fault", "solder bridge"),
    ("solder", "splash"): ("fault", "solder bridge"),
    ("out", "of", "value"): ("fault", "drifted"),
    ("out", "of", "tolerance"): ("fault", "drifted"),
    ("too", "high"): ("fault", "drifted"),
    ("wrong", "value"): ("fault", "drifted"),
    ("no", "good"): ("fault", "bad"),
    ("open", "circuit"): ("fault", "open"),
    ("short", "circuit"): ("fault", "short"),
    ("short", "circuited"): ("fault", "short"),
    ("pull", "down"): ("adj", "pulldown"),
    ("pull", "downs"): ("adj", "pulldown"),
    ("power", "stage"): ("scope", "stage"),
    ("field", "effect", "transistor"): ("head", "switch"),
}


def _table() -> dict[str, tuple[str, str]]:
    made: dict[str, tuple[str, str]] = {word: ("filler", word) for word in _FILLERS}
    groups = (
        ("fault", _FAULTS),
        ("head", _HEADS),
        ("adj", _ADJECTIVES),
        ("scope", _SCOPES),
        ("many", _MANY),
        ("join", _JOINS),
        ("number", _ORDINALS),
    )
    for kind, group in groups:
        for name, words in group.items():
            for word in words.split():
                if word not in ("one", "two", "suspect"):
                    made[word] = (kind, name)
    return made


_WORDS = _table()
_RANGE = re.compile(r"^([a-z]+)(\d+)(?:-|–|—|\.{2,})([a-z]*)(\d+)$", re.I)  # noqa: RUF001
_REF = re.compile(r"^([a-z]{1,4})(\d+)([a-z]?)$", re.I)
_VOLTS = re.compile(r"^[+-]?(\d+(?:\.\d+)?)v(\d*)$", re.I)


def tokens(text: str, board: Board) -> list[Token]:
    """Split a suggestion into what is known.

    Parameters
    ----------
    text : str
    board : Board
        Whose refs and nets may be named.

    Raises
    ------
    ClaimError
        If a range's ends are not on the board.

    Notes
    -----
    Refs and full net names come before vocabulary, vocabulary before the last
    component of a net's name.
    """
    words = _split(text)
    names = _Names(board)
    found: list[Token] = []
    i = 0
    while i < len(words):
        step = _phrase(words, i)
        if step is not None:
            token, used = step
            found.append(token)
            i += used
            continue
        found += names.read(words[i])
        i += 1
    return _joined_ranges(found, board)


def _split(text: str) -> list[str]:
    raw = re.sub(r"[,;]", " , ", text).split()
    cleaned = (_clean(word) for word in raw)
    return [word for word in cleaned if word]


def _clean(word: str) -> str:
    word = word.strip("\"'`()[]{}?!:“”‘’")  # noqa: RUF001
    word = re.sub(r"['’]s?$", "", word)  # noqa: RUF001
    return word.rstrip(".") if word != "." else ""


def _phrase(words: list[str], i: int) -> tuple[Token, int] | None:
    for size in (3, 2):
        some = words[i : i + size]
        key = tuple(word.casefold() for word in some)
        if len(some) == size and key in _PHRASES:
            kind, name = _PHRASES[key]
            return Token(kind, name, " ".join(some)), size
    key = tuple(words[i].casefold().split("-"))
    if key in _PHRASES:
        return Token(*_PHRASES[key], words[i]), 1
    return None


class _Names:
    """What the board calls its parts and nets."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.refs: dict[str, str] = {}
        for part in board.parts:
            self.refs.setdefault(part.ref.casefold(), part.ref)
        self.nets: dict[str, list[str]] = {}
        self.last: dict[str, list[str]] = {}
        for net in board.nets:
            self.nets.setdefault(net.name.casefold(), []).append(net.name)
            tail = net.name.rstrip("/").rpartition("/")[2].casefold()
            self.last.setdefault(tail, []).append(net.name)

    def read(self, word: str) -> Iterator[Token]:
        """Yield the tokens of one typed word."""
        if word == ",":
            yield Token("join", ",", word)
            return
        named = self._named(word)
        if named is not None:
            yield from named
            return
        known = _known(word)
        if known is not None:
            yield known
            return
        net = self._net(word, self.last)
        if net is not None:
            yield net
            return
        if _VOLTS.match(word):
            yield Token("volts", word, word)
            return
        yield from self._pieces(word)

    def _named(self, word: str) -> list[Token] | None:
        folded = word.casefold()
        if folded in self.refs:
            return [Token("ref", self.refs[folded], word)]
        ref, dot, number = folded.rpartition(".")
        if dot and ref in self.refs:
            part = self.board.part_by_ref[self.refs[ref]]
            for pin in part.pins:
                if pin.number.casefold() == number:
                    return [Token("pin", part.ref, word, pin=pin)]
        net = self._net(word, self.nets)
        if net is not None:
            return [net]
        match = _RANGE.match(word)
        if match is not None and match[3].casefold() in ("", match[1].casefold()):
            ends = f"{match[1]}{match[2]}", f"{match[1]}{match[4]}"
            return _range(self.board, *ends, word)
        return None

    def _net(self, word: str, table: dict[str, list[str]]) -> Token | None:
        nets = table.get(word.casefold(), [])
        if word in nets:
            return Token("net", word, word)
        if len(nets) == 1:
            return Token("net", nets[0], word)
        return None

    def _pieces(self, word: str) -> Iterator[Token]:
        """Yield "Q12/13" as two refs, "high-side" as two words."""
        for mark in ("/", "&", "+", "-"):
            if mark not in word.strip(mark):
                continue
            before = ""
            for i, piece in enumerate(word.strip(mark).split(mark)):
                if i and mark != "-":
                    yield Token("join", "or" if mark == "/" else "and", mark)
                match = _REF.match(piece)
                before = match[1] if match else before
                yield from self.read(before + piece if piece.isdigit() else piece)
            return
        yield Token("unknown", word, word)


def _known(word: str) -> Token | None:
    folded = word.casefold()
    if folded in _WORDS:
        return Token(*_WORDS[folded], word)
    for end, instead in (("ies", "y"), ("es", ""), ("s", "")):
        if folded.endswith(end):
            single = folded[: -len(end)] + instead
            if single in _WORDS:
                return Token(*_WORDS[single], word, plural=True)
    return None


def _range(board: Board, first: str, last: str, said: str) -> list[Token]:
    one, two = _REF.match(first), _REF.match(last)
    if one is None or two is None:
        return [Token("unknown", said, said)]
    low, high = sorted((int(one[2]), int(two[2])))
    made = []
    refs = {part.ref.casefold() for part in board.parts}
    for end in (first, last):
        if end.casefold() not in refs:
            raise missing(board, end)
    for part in board.parts:
        match = _REF.match(part.ref)
        if match is None or match[3] or match[1].casefold() != one[1].casefold():
            continue
        if low <= int(match[2]) <= high:
            made.append(Token("ref", part.ref, said))
    return made


def _joined_ranges(found: list[Token], board: Board) -> list[Token]:
    """Replace "C5 to C9" by all refs between."""
    made: list[Token] = []
    for token in found:
        if (
            token.kind == "ref"
            and len(made) >= 2
            and made[-1].kind in ("filler", "unknown")
            and made[-1].said.casefold() in ("to", "through", "thru", "until", "-", "–")  # noqa: RUF001
            and made[-2].kind == "ref"
        ):
            one, two = _REF.match(made[-2].text), _REF.match(token.text)
            if one and two and one[1].casefold() == two[1].casefold():
                first = made[-2].text
                del made[-2:]
                made += _range(board, first, token.text, f"{first} to {token.text}")
                continue
        made.append(token)
    return made


def missing(board: Board, *words: str) -> ClaimError:
    """Return the error for words that nothing on the board answers to."""
    near: dict[str, None] = {}
    for word in words:
        ref = any(c.isdigit() for c in word)
        near.update(dict.fromkeys(nearest(word, board.part_by_ref, always=ref)))
        near.update(dict.fromkeys(nearest(word, board.net_by_name, 2)))
    shown = ", ".join(repr(word) for word in words)
    hint = f"; nearest on the board: {', '.join(list(near)[:5])}" if near else ""
    return ClaimError(
        f"found {shown} in the suggestion, expected a ref, a net, or words such as "
        f"'gate resistors', 'high sides of phase 2', 'shorted'{hint}",
        words,
        near,
    )
