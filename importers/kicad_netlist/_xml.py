"""The XML form, read into the same lists as its s-expression twin.

``<comp ref="R1"><value>10k</value></comp>`` becomes
``["comp", ["ref", "R1"], ["value", "10k"]]``.

Expat is used bare: it is fast to start, fetches nothing, and any DOCTYPE is
refused, so that entities cannot be defined.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.parsers import expat

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.kicad_netlist._tree import Node, pack

__all__ = ["parse_xml"]

_WORDS = {
    expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS]: "end of file",
    expat.errors.codes[expat.errors.XML_ERROR_UNCLOSED_TOKEN]: (
        "end of file inside a tag"
    ),
}
_DEPTH_MAX = 32
_ELEMENTS_MAX = 8_000_000


def parse_xml(
    data: bytes, path: Path, fold: bool = False
) -> tuple[Node, Callable[[Any], int]]:
    """Parse the XML form of a netlist.

    Parameters
    ----------
    data : bytes
        The whole file.
    path : Path
        For messages.
    fold : bool
        Pack the nodes of nets; their lines are then not known.

    Returns
    -------
    tree : list
        The root element.
    line_of : callable
        Line number, from 1, of an element's list.

    Raises
    ------
    ParseError
        If it is not well-formed, has a DOCTYPE, is nested deeper than 32, has
        more than 8 million elements, or its root is not ``<export>``.

    Notes
    -----
    O(size).  Text between child elements is dropped: netlists have blanks there.
    """
    lines: dict[int, int] = {}
    top: Node = []
    stack: list[Node] = [top]
    texts: list[str] = []
    elements = 0
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.ordered_attributes = True

    def doctype(*_: object) -> None:
        raise ParseError(
            "found a DOCTYPE, expected none: netlists have no use for one",
            path,
            parser.CurrentLineNumber,
        )

    def start(tag: str, attributes: list[str]) -> None:
        line = parser.CurrentLineNumber
        if len(stack) > _DEPTH_MAX:
            raise ParseError(
                f"found elements nested deeper than {_DEPTH_MAX}", path, line
            )
        if len(stack) == 1 and tag != "export":
            raise ParseError(f"found <{tag}>, expected <export>", path, line)
        nonlocal elements
        elements += 1
        if elements > _ELEMENTS_MAX:
            raise ParseError(f"found more than {_ELEMENTS_MAX} elements", path, line)
        node: Node = [tag]
        for i in range(0, len(attributes), 2):
            node.append([attributes[i], attributes[i + 1]])
        lines[id(node)] = line
        stack[-1].append(node)
        stack.append(node)
        texts.clear()

    def end(tag: str) -> None:
        node = stack.pop()
        text = "".join(texts)
        texts.clear()
        if text.strip():
            node.append(text)
        if fold and tag == "node":
            stack[-1][-1] = pack(node)
            del lines[id(node)]

    parser.StartDoctypeDeclHandler = doctype
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = texts.append
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        message = _WORDS.get(error.code) or expat.ErrorString(error.code)
        if len(stack) > 1:
            open_node = stack[-1]
            message += f", expected </{open_node[0]}> for line {lines[id(open_node)]}"
        raise ParseError(f"found {message}", path, error.lineno) from None
    except (ValueError, LookupError) as error:  # an encoding that nobody has
        raise ParseError(f"found {error}", path, parser.CurrentLineNumber) from None
    return top[0], lambda node: lines[id(node)]
