"""One device line: its nodes, and what it is."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.spice._deck import Definition, Model
from ohmtrail.importers.spice._letters import LETTERS, MODEL_TYPES, Letter
from ohmtrail.importers.spice._lines import Line
from ohmtrail.importers.spice._numbers import spice_number
from ohmtrail.importers.spice._words import device_words

__all__ = ["Device", "read_device"]

_POLY = re.compile(r"poly\s*\(\s*(\d{1,3})\s*\)", re.I)
#: Words that say how a controlled source is controlled, in place of nodes.
_CONTROLS = (
    "value vol cur table laplace freq poly vcr vccs vcvs vcap and nand or nor".split()
)
#: Words after the model's name that are no nodes.
_FLAGS = ("off", "ic", "thermal", "tnodeout", "on")
#: What schematic programs write where they have nothing.
_UNCONNECTED = re.compile(r"<[^<>]*>")
#: Shared by all that are no instance of a subcircuit.
_NOTHING_GIVEN: Mapping[str, str] = MappingProxyType({})
_PCHANNEL = re.compile(r"\bpchan\b", re.I)


@dataclass(slots=True)
class Device:
    """A device line, read."""

    line: Line
    name: str
    #: (pin, node); the node is "" where the file has a mark for "none".
    nodes: tuple[tuple[str, str], ...]
    kind: str = ""
    description: str = ""
    #: The value: a model's name, or text after the nodes.
    value: str = ""
    #: Unit in which the value is a number, "" if it is a name.
    unit: str = ""
    #: ``m=`` as written, "" for one.
    multiply: str = ""
    fields: tuple[tuple[str, str], ...] = ()
    #: Of an instance: the subcircuit (None if there is none), what it states.
    subcircuit: Definition | None = None
    given: Mapping[str, str] = field(default_factory=dict)
    #: Something about the line that is passed over, in words.
    passed_over: str = ""


def _few(line: Line, what: str) -> ParseError:
    return ParseError(
        f"found {line.text[:50]!r}, expected {what}", line.path, line.number
    )


def _node(word: str) -> str:
    return "" if word[0] == "<" and _UNCONNECTED.fullmatch(word) else word


def _is_number(word: str) -> bool:
    return word[0] in "{'" or spice_number(word) is not None


def read_device(line: Line, home: Definition) -> Device | None:
    """Read a device line.

    Parameters
    ----------
    line : Line
        The line, which begins with a letter.
    home : Definition
        Where it stands: models and subcircuits are looked up there.

    Returns
    -------
    Device or None
        None for lines that couple others and have no nodes (``K``).

    Raises
    ------
    ParseError
        If the line is no device, or has too few nodes for its letter.
    """
    words, given = device_words(line.text)
    if not words or not words[0][0].isalpha():
        raise _few(line, "a device, a dot command or a comment")
    letter = words[0][0].upper()
    if letter == "K":
        return None
    if letter == "X":
        return _instance(line, words, given, home)
    if letter == "A":
        return _code_model(line, words, given)
    form = LETTERS.get(letter)
    blank = 0
    if "<" in line.text:
        blank = next(
            (k for k, word in enumerate(words) if k > 3 and _marks_nothing(word)), 0
        )
    if form is None or (blank and blank - 1 != len(form.pins)):
        return _by_order(line, words, given)
    if len(words) - 1 < form.least or (
        form.model and len(words) - 1 == form.least and blank_last(words)
    ):
        if blank_last(words):
            return _by_order(line, words, given)
        raise _few(line, f"{form.least} nodes of a {form.words}")
    if form.model:
        return _with_model(line, words, given, home, form)
    if letter in "EG":
        return _controlled(line, words, given, form)
    return _plain(line, words, given, home, form)


def _marks_nothing(word: str) -> bool:
    """Whether a word stands where lepton-netlist found no value."""
    return word[0] == "<" and " " in word and "valid" in word


def blank_last(words: list[str]) -> bool:
    """Whether the last word stands for a value that is not there."""
    return _marks_nothing(words[-1])


def _numbered(words: list[str]) -> tuple[tuple[str, str], ...]:
    return tuple((str(k), _node(word)) for k, word in enumerate(words, 1))


def _by_order(line: Line, words: list[str], given: dict[str, str]) -> Device:
    """Read a part that SPICE has no letter for: nodes in the order of its pins."""
    *nodes, value = words[1:] or [""]
    if not nodes:
        raise _few(line, "nodes and a model")
    return Device(
        line,
        words[0],
        _numbered(nodes),
        value="" if value[0] == "<" or value == "unknown" else value,
        multiply=given.pop("m", ""),
        fields=_fields(given),
    )


def _fields(given: dict[str, str], *more: str) -> tuple[tuple[str, str], ...]:
    words = [*more, *[f"{key}={text}" for key, text in given.items()]]
    return (("SPICE parameters", " ".join(words)),) if words else ()


def _instance(
    line: Line, words: list[str], given: dict[str, str], home: Definition
) -> Device:
    words = [word for word in words if word.lower() not in ("params:", "params")]
    if len(words) < 2:
        raise _few(line, "nodes and the name of a subcircuit")
    name, *nodes, wanted = words
    definition = home.subcircuit(wanted)
    if definition is not None and len(definition.ports) != len(nodes):
        raise ParseError(
            f"found {len(nodes)} nodes for subcircuit {wanted}, expected "
            f"{len(definition.ports)}",
            line.path,
            line.number,
        )
    multiply = given.pop("m", "")
    return Device(
        line,
        name,
        _numbered(nodes),
        "" if _is_number(wanted) else "other",  # lepton writes a crystal's "12MHz"
        f"SPICE subcircuit {wanted}",
        value=wanted,
        multiply=multiply,
        fields=_fields(given),
        subcircuit=definition,
        given=given,
    )


def _code_model(line: Line, words: list[str], given: dict[str, str]) -> Device:
    """Read an XSPICE device: ports in brackets, types among them are no nodes."""
    nodes = []
    for word in words[1:-1]:
        word = word.strip("[]~")
        if word and word[0] != "%":
            nodes.append("" if word.lower() == "null" else word)
    if len(words) < 3 or not nodes:
        raise _few(line, "nodes and a model")
    return Device(
        line,
        words[0],
        _numbered_nodes(nodes),
        "other",
        f"XSPICE code model {words[-1]}",
        words[-1],
        fields=_fields(given),
    )


def _numbered_nodes(nodes: list[str]) -> tuple[tuple[str, str], ...]:
    return tuple((str(k), node) for k, node in enumerate(nodes, 1))


def _count(words: list[str], home: Definition, form: Letter) -> int:
    """Return how many nodes stand before the model's name."""
    last = min(len(words) - 1, len(form.pins) + 1)
    for at in range(form.least + 1, last + 1):
        if home.model(words[at]) is not None:
            return at - 1
    # No model is known: the name is the last word that is no number or flag.
    at = len(words) - 1
    while at > form.least + 1 and (
        _is_number(words[at]) or words[at].lower() in _FLAGS
    ):
        at -= 1
    return max(form.least, min(at - 1, len(form.pins)))


def _with_model(
    line: Line, words: list[str], given: dict[str, str], home: Definition, form: Letter
) -> Device:
    if len(words) < form.least + 2:
        raise _few(line, f"{form.least} nodes and a model of a {form.words}")
    count = _count(words, home, form)
    name = words[count + 1]
    model = home.model(name)
    kind, description = _kind(model, form)
    return Device(
        line,
        words[0],
        tuple(zip(form.pins, map(_node, words[1 : count + 1]), strict=False)),
        kind,
        f"{description}, SPICE model {name}",
        name,
        multiply=given.pop("m", ""),
        fields=_fields(given, *words[count + 2 :]),
    )


def _kind(model: Model | None, form: Letter) -> tuple[str, str]:
    if model is None:
        return form.kind, form.words
    if model.type == "vdmos":
        channel = "pmos" if _PCHANNEL.search(model.text) else "nmos"
        return MODEL_TYPES[channel]
    kind, words = MODEL_TYPES.get(model.type, (form.kind, form.words))
    if form.kind == "other" or (kind == "diode") != (form.kind == "diode"):
        return form.kind, words if form.kind == "other" else form.words
    return kind, words


def _controlled(
    line: Line, words: list[str], given: dict[str, str], form: Letter
) -> Device:
    """E and G: two more nodes, unless a word says what else controls them."""
    rest = words[3:]
    pins = list(zip(form.pins[:2], map(_node, words[1:3]), strict=True))
    word = rest[0].lower() if rest else ""
    poly = _POLY.search(line.text) if word == "poly" else None
    if poly is not None:
        nodes = rest[2 : 2 + 2 * int(poly[1])]
        pins += [(f"C{k}", _node(node)) for k, node in enumerate(nodes, 1)]
    elif word in ("vcr", "vccs", "vcvs", "vcap") and len(rest) > 2:
        pins += zip(form.pins[2:], map(_node, rest[1:3]), strict=True)
    elif word and word not in _CONTROLS and len(rest) > 2:
        pins += zip(form.pins[2:], map(_node, rest[:2]), strict=True)
    return _source(line, words[0], tuple(pins), given, form, 3)


def _source(
    line: Line,
    name: str,
    nodes: tuple[tuple[str, str], ...],
    given: dict[str, str],
    form: Letter,
    after: int,
) -> Device:
    """Read a source: what follows its nodes describes it."""
    pieces = line.text.split(None, after)
    text = " ".join(pieces[after].split()) if len(pieces) > after else ""
    return Device(
        line,
        name,
        nodes,
        form.kind,
        f"{form.words} {text}".strip(),
        text,
        multiply=given.pop("m", ""),
    )


def _plain(
    line: Line, words: list[str], given: dict[str, str], home: Definition, form: Letter
) -> Device:
    count = len(form.pins)
    if len(words) <= count:
        raise _few(line, f"{count} nodes of a {form.words}")
    if "<" in line.text:
        nodes = tuple(zip(form.pins, map(_node, words[1 : count + 1]), strict=True))
    else:
        nodes = tuple(zip(form.pins, words[1 : count + 1], strict=True))
    if not form.unit:
        return _source(line, words[0], nodes, given, form, count + 1)
    rest = words[count + 1 :]
    value = given.pop(words[0][0].lower(), "") if given else ""
    model = ""
    left: list[str] = []
    if len(rest) == 1 and not value and _is_number(rest[0]):
        value = rest.pop()
    for word in rest:
        if not value and (_is_number(word) or home.model(word) is None):
            value = word
        elif not model and home.model(word) is not None:
            model = word
        else:
            left.append(word)
    passed_over = "word after a value, which has no meaning" if left else ""
    more = [f"model {model}"] if model else []
    unit = form.unit if value and not _marks_nothing(value) else ""
    return Device(
        line,
        words[0],
        nodes,
        form.kind,
        "",
        value if unit else "" if value else model,
        unit,
        given.pop("m", "") if given else "",
        _fields(given, *more, *left) if given or more or left else (),
        None,
        _NOTHING_GIVEN,
        passed_over,
    )
