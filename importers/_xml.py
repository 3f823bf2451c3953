"""XML from strangers: read whole, without entities, network, or a DTD.

Two parsers look at every file.  Expat reads the prolog alone and says what the
DOCTYPE is; libxml2 then builds the tree, with its limits on depth and length on.
"""

import itertools
import math
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, cast
from xml.parsers import expat

from ohmtrail.importers._errors import ParseError

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = [
    "ELEMENTS_MAX",
    "ElementError",
    "find",
    "line_of",
    "number",
    "parse_xml",
    "required",
    "root_tag",
]

#: Files with more elements are refused: each takes some 300 bytes of memory.
ELEMENTS_MAX = 2_000_000
#: Elements and attributes that a small file may have, and bytes for each one more.
_NODES_LEAST = 1_300_000
_NODE_BYTES = 14


class ElementError(ValueError):
    """An element does not hold what it should; its line is found later."""

    def __init__(self, message: str, element: "Element") -> None:
        super().__init__(message)
        self.message = message
        self.element = element


class _Done(Exception):
    """The prolog has been read."""


def root_tag(head: bytes) -> str:
    """Return the name of the root element as written, "" where none begins.

    Parameters
    ----------
    head : bytes
        The first bytes of a file; they may end anywhere.

    Examples
    --------
    >>> root_tag(b'<?xml version="1.0"?><!DOCTYPE eagle SYSTEM "x.dtd"><eagle a="b')
    ''
    >>> root_tag(b'<!-- by hand --><eagle version="6.0">')
    'eagle'
    """
    body = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if not body.startswith((b"<", b"\xff\xfe", b"\xfe\xff")):
        return ""
    found: list[str] = []

    def start(tag: str, _: object) -> None:
        found.append(tag)
        raise _Done

    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    try:
        parser.Parse(body, False)
    except (_Done, expat.ExpatError, ValueError, LookupError):
        pass
    return found[0] if found else ""


def _check_prolog(data: bytes, path: Path, root: str, dtd: str | None) -> None:
    """Refuse entities, a DOCTYPE other than the one allowed, and another root."""
    parser = expat.ParserCreate()

    def doctype(name: str, system: str | None, public: str | None, inner: int) -> None:
        line = parser.CurrentLineNumber
        if dtd is None:
            raise ParseError("found a DOCTYPE, expected none", path, line)
        if inner or public is not None or name != root or system != dtd:
            raise ParseError(
                f'found another DOCTYPE than <!DOCTYPE {root} SYSTEM "{dtd}">',
                path,
                line,
            )

    def start(tag: str, _: object) -> None:
        if tag.rpartition(":")[2] != root:
            raise ParseError(
                f"found <{tag[:40]}>, expected <{root}>", path, parser.CurrentLineNumber
            )
        raise _Done

    parser.StartDoctypeDeclHandler = doctype
    parser.StartElementHandler = start
    try:
        parser.Parse(data, True)
    except _Done:
        return
    except expat.ExpatError as error:
        message = expat.ErrorString(error.code)
        if error.code == expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS]:
            message = f"end of file, expected <{root}>"
        raise ParseError(f"found {message}", path, error.lineno) from None
    except (ValueError, LookupError) as error:  # an encoding that nobody has
        raise ParseError(f"found {error}", path, parser.CurrentLineNumber) from None


def _without_doctype(data: bytes, root: str, dtd: str) -> bytes:
    """Blank the DOCTYPE: without one, an unknown entity is an error."""
    pattern = rf"<!DOCTYPE\s+{root}\s+SYSTEM\s+[\"']{re.escape(dtd)}[\"']\s*>"
    match = re.search(pattern.encode(), data[:4096])
    if match is None:
        return data
    blank = re.sub(rb"[^\r\n]", b" ", match[0])
    return data[: match.start()] + blank + data[match.end() :]


def parse_xml(data: bytes, path: Path, root: str, dtd: str | None = None) -> "Element":
    """Parse a whole XML file.

    Parameters
    ----------
    data : bytes
        The file.
    path : Path
        For messages.
    root : str
        Name of the root element, without a namespace prefix.
    dtd : str, optional
        System identifier of a DOCTYPE that the file may carry; it is never loaded.

    Returns
    -------
    Element
        The root.

    Raises
    ------
    ParseError
        If it is not well-formed, has another root or DOCTYPE, is nested deeper
        than 256 or has more than `ELEMENTS_MAX` elements, or more attributes than
        programs write.

    Notes
    -----
    O(size).
    """
    _check_prolog(data, path, root, dtd)
    if data.count(b"<") - data.count(b"</") > ELEMENTS_MAX:
        raise ParseError(f"found more than {ELEMENTS_MAX} elements", path)
    most = _NODES_LEAST + len(data) // _NODE_BYTES
    if data.count(b"=") + data.count(b"<") - data.count(b"</") > most:
        raise ParseError(f"found more than {most} elements and attributes", path)
    from lxml import etree

    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    if dtd is not None:
        data = _without_doctype(data, root, dtd)
    try:
        tree = etree.fromstring(data, parser)
        if tree.getroottree().docinfo.internalDTD is not None:
            raise ParseError("found a DOCTYPE that is not plain UTF-8", path)
        return tree
    except etree.XMLSyntaxError as error:
        message = (error.msg or "no XML").rpartition(", line ")[0] or str(error.msg)
        message = message.partition(", try XML_PARSE_HUGE")[0]
        line = error.lineno if error.lineno else None
        raise ParseError(f"found no well-formed XML: {message}", path, line) from None


def find(element: "Element", *path: str) -> Iterator["Element"]:
    """Give the children of children of these names, ``find(e, "nets", "net")``.

    Names are local: a namespace is disregarded.
    """
    level: Iterable[Element] = (element,)
    for name in path:
        level = _children(level, "{*}" + name)
    return iter(level)


def _children(elements: Iterable["Element"], tag: str) -> Iterator["Element"]:
    for element in elements:
        yield from element.iterchildren(tag)


def required(element: "Element", name: str) -> str:
    """Return an attribute that must be there.

    Raises
    ------
    ElementError
        If it is not.
    """
    text: str | None = element.get(name)
    if text is None:
        tag = str(element.tag).rpartition("}")[2]
        raise ElementError(f"found <{tag}> without {name}=", element)
    return text


def number(element: "Element", name: str) -> float:
    """Return an attribute that must be a finite number.

    Raises
    ------
    ElementError
        If it is not.
    """
    text = required(element, name)
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ElementError(f"found {name}={text[:40]!r}, expected a number", element)
    return value


def line_of(element: "Element", data: bytes) -> int | None:
    """Return the line, from 1, on which an element's start tag ends.

    libxml2 keeps lines up to 65535 only; beyond, the file is read again.
    """
    line = cast("int | None", element.sourceline)
    if line is None or line < 65535:
        return line
    place = next(i for i, e in enumerate(element.getroottree().iter()) if e is element)
    counter = itertools.count()
    parser = expat.ParserCreate()
    found: list[int] = []

    def start(_: str, __: object) -> None:
        if next(counter) == place:
            found.append(parser.CurrentLineNumber)
            raise _Done

    parser.StartElementHandler = start
    try:
        parser.Parse(data, True)
    except (_Done, expat.ExpatError):
        pass
    return found[0] if found else None
