"""Reads one sheet file of a legacy schematic."""

import re
from pathlib import Path

from ohmtrail.importers.kicad_legacy._lines import Lines, quoted
from ohmtrail.importers.kicad_legacy._model import (
    GLOBAL,
    HIERARCHICAL,
    LOCAL,
    Label,
    Screen,
    Sheet,
    SheetPin,
    Symbol,
)

__all__ = ["read_screen"]

_HEADER = re.compile(r"\s*EESchema Schematic File Version\s+(\d+)")
_USE = re.compile(r'Path="([^"]*)"\s+Ref="([^"]*)"\s+Part="([^"]*)"')
_KINDS = {"Label": LOCAL, "HLabel": HIERARCHICAL, "GLabel": GLOBAL}
#: Sections that hold no connection: title block, pictures.
_SKIPPED = {
    "$Descr": "$EndDescr",
    "$Bitmap": "$EndBitmap",
    "$BITMAP": "$EndBitmap",
    "$TextDescr": "$EndTextDescr",
}
#: Lines of their own that mean nothing for connections.
_PLAIN = {"EELAYER", "NoConn", "Kmarq", "$EndSCHEMATC", "$EndSCHEMATIC", "encoding"}
_NEWEST = 5


def _section(lines: Lines, end: str) -> None:
    start = lines.number
    while True:
        line = lines.next()
        if line is None:
            raise lines.error(f"found no {end} for this section, expected one", start)
        if line.startswith(end):
            return


def _empty(text: str) -> str:
    return "" if text == "~" else text


def _symbol(lines: Lines, screen: Screen) -> Symbol:
    """Read from after ``$Comp`` to ``$EndComp``."""
    symbol = Symbol(lines.number, "", "")
    matrix: list[list[str]] = []
    while True:
        line = lines.next()
        if line is None:
            raise lines.error(
                "found no $EndComp for this part, expected one", symbol.line
            )
        head = line[:2]
        if head == "F ":
            _field(lines, symbol, line)
        elif head == "L ":
            words = line.split()
            if len(words) < 3:
                raise lines.error(f"found {line!r}, expected 'L symbol reference'")
            symbol.library, symbol.reference = words[1], words[2]
        elif head == "U ":
            words = line.split()
            symbol.unit, symbol.convert = lines.integers(
                words[1:], 2, "'U unit drawing stamp'"
            )
            symbol.stamp = words[3] if len(words) > 3 else ""
        elif head == "P ":
            x, y = lines.integers(line.split()[1:], 2, "'P x y'")
            symbol.at = (x, y)
        elif head == "AR":
            found = _USE.search(line)
            if found is None or not found[3].isdecimal():
                raise lines.error(
                    f"found {line.strip()[:60]!r}, expected 'AR Path= Ref= Part='"
                )
            symbol.uses[found[1]] = (found[2], int(found[3][:9]))
        elif line.startswith("$EndComp"):
            break
        elif line[:1] in "\t ":
            words = line.split()
            if words:
                matrix.append(words)
        elif line.startswith("$"):
            raise lines.error(f"found {line.strip()!r}, expected $EndComp")
        elif line:
            word = line.split()[0]
            screen.unknown[word] = screen.unknown.get(word, 0) + 1
    if not symbol.library:
        raise lines.error(
            "found a part without an L line, expected 'L symbol reference'",
            symbol.line,
        )
    if matrix and len(matrix[-1]) >= 4:
        a, b, c, d = lines.integers(matrix[-1], 4, "four numbers of a rotation")
        symbol.matrix = (a, b, c, d)
    return symbol


def _field(lines: Lines, symbol: Symbol, line: str) -> None:
    number = line[2:].split(None, 1)[:1]
    found = quoted(line)
    if found is None or not number or not number[0].isdecimal():
        # Very old files leave the quotes out where the text is one word.
        words = line.split()
        if len(words) < 4 or not words[1].isdecimal():
            raise lines.error(f"found {line[:60]!r}, expected 'F number \"text\"'")
        number, found = [words[1]], (words[2], "")
    key = int(number[0][:6])
    symbol.fields[key] = _empty(found[0])
    name = quoted(found[1])
    if name is not None:
        symbol.names[key] = name[0]


def _sheet(lines: Lines) -> Sheet:
    """Read from after ``$Sheet`` to ``$EndSheet``."""
    sheet = Sheet(lines.number)
    while True:
        line = lines.next()
        if line is None:
            raise lines.error(
                "found no $EndSheet for this sheet, expected one", sheet.line
            )
        if line.startswith("$EndSheet"):
            break
        if line.startswith("U "):
            sheet.stamp = line[2:].strip()
        elif line.startswith("F"):
            found = quoted(line)
            number = line[1:].split(None, 1)[:1]
            if found is None or not number or not number[0].isdecimal():
                raise lines.error(f"found {line[:60]!r}, expected 'Fnumber \"text\"'")
            if int(number[0][:6]) == 0:
                sheet.name = found[0]
            elif int(number[0][:6]) == 1:
                sheet.file = found[0]
            else:
                words = found[1].split()[2:]
                x, y = lines.integers(words, 2, "'Fnumber \"pin\" type side x y'")
                sheet.pins.append(SheetPin(found[0], (x, y), lines.number))
    if not sheet.file:
        raise lines.error(
            "found a sheet without a file name, expected an F1 line", sheet.line
        )
    return sheet


def _text(lines: Lines, words: list[str], screen: Screen) -> None:
    kind = words[1] if len(words) > 1 else ""
    start = lines.number
    text = lines.need("the text on a line of its own")
    if kind == "Notes":
        return
    if kind not in _KINDS:
        raise lines.error(
            f"found text of kind {kind!r}, expected Notes, Label, HLabel or GLabel",
            start,
        )
    x, y = lines.integers(words[2:], 2, f"'Text {kind} x y'")
    what = _KINDS[kind]
    if kind == "GLabel" and screen.version == 1:
        what = HIERARCHICAL  # there was no other kind yet
    screen.labels.append(Label(what, (x, y), text.strip(), start))


def _line(lines: Lines, words: list[str], screen: Screen) -> None:
    """Read a wire, bus, entry or graphic line and its coordinates."""
    wanted = "'x y x y'"
    start = lines.number
    a, b, c, d = lines.integers(lines.need(wanted).split(), 4, wanted)
    ends = ((a, b), (c, d))
    head, layer = words[0], words[1] if len(words) > 1 else ""
    if head == "Entry":
        return  # the label on its wire says which of the bus it is
    if layer == "Wire":
        screen.wires.append(ends)
    elif layer == "Bus":
        screen.buses.append(ends)
    elif layer != "Notes":
        raise lines.error(
            f"found a line of kind {layer!r}, expected Wire, Bus or Notes", start
        )


def read_screen(path: Path) -> Screen:
    """Read a sheet file.

    Raises
    ------
    ParseError
        If it is no such file, or damaged; with the line.

    Notes
    -----
    O(size of the file).
    """
    lines = Lines(path)
    header = _HEADER.match(lines.next() or "")
    if header is None:
        raise lines.error("expected 'EESchema Schematic File Version' on line 1", 1)
    version = int(header[1][:6])
    if not 1 <= version <= _NEWEST:
        raise lines.error(f"found version {version}, expected 1 to {_NEWEST}")
    screen = Screen(path, version)
    ended = False
    while True:
        line = lines.next()
        if line is None:
            break
        words = line.split()
        if not words:
            continue
        head = words[0]
        if head in ("Wire", "Entry"):
            _line(lines, words, screen)
        elif head == "$Comp":
            screen.symbols.append(_symbol(lines, screen))
        elif head == "Text":
            _text(lines, words, screen)
        elif head == "Connection":
            x, y = lines.integers(words[2:], 2, "'Connection ~ x y'")
            screen.junctions.append((x, y))
        elif head == "$Sheet":
            screen.sheets.append(_sheet(lines))
        elif head in _SKIPPED:
            _section(lines, _SKIPPED[head])
        elif head.startswith("LIBS:"):
            screen.libraries += line.strip()[5:].split(",")
        elif head in _PLAIN:
            if head.startswith("$EndSCH"):
                ended = True
                break
        else:
            screen.unknown[head] = screen.unknown.get(head, 0) + 1
    if not ended:
        raise lines.error("found end of file, expected $EndSCHEMATC")
    return screen
