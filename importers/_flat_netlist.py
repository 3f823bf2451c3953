"""Boards from plain net lists: a list of parts, and nets that list pins."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._bounds import PARTS_MAX, PINS_MAX
from ohmtrail.importers._errors import ParseError
from ohmtrail.netanalysis.board import Board, Part, Pin, Unused, make_board

__all__ = ["NO_FOOTPRINT", "FlatNetlist"]

#: What gnetlist and lepton-netlist write for a part without a footprint.
NO_FOOTPRINT = ("unknown", "pattern", "none")


@dataclass(slots=True)
class _Pin:
    net: str
    line: int
    name: str = ""


@dataclass(slots=True)
class _Entry:
    line: int
    listed: bool
    value: str = ""
    library: str = ""
    footprint: str = ""
    pins: dict[str, _Pin] = field(default_factory=dict)
    fields: dict[str, str] = field(default_factory=dict)


class FlatNetlist:
    """Collects parts and pins in the order of a file, and checks them.

    Parameters
    ----------
    path : Path
        For messages.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.unused: dict[str, Unused] = {}
        self._parts: dict[str, _Entry] = {}
        self._nets: dict[str, None] = {}
        self._pins = 0

    def error(self, message: str, line: int) -> ParseError:
        """Return an error about a line."""
        return ParseError(message, self.path, line)

    def pass_over(self, what: str, line: int) -> None:
        """Count something that is not used."""
        known = self.unused.get(what)
        if known is None:
            self.unused[what] = Unused(what, f"line {line}")
        else:
            self.unused[what] = Unused(what, known.where, known.count + 1)

    def listed(self, ref: str) -> bool:
        """Whether the list of parts has this ref."""
        return ref in self._parts

    def entry(self, ref: str, line: int) -> _Entry:
        """Return what is known of a part, made if need be."""
        found = self._parts.get(ref)
        if found is None:
            found = self._parts[ref] = _Entry(line, False)
            if len(self._parts) > PARTS_MAX:
                raise self.error(
                    f"found more than {PARTS_MAX} parts, expected a board", line
                )
        return found

    def bounded(self, count: int, line: int) -> None:
        """Refuse more pins or nets than any board has.

        Raises
        ------
        ParseError
            If there are more than a million.
        """
        if count > PINS_MAX:
            raise self.error(
                f"found more than {PINS_MAX} pins or nets, expected a board", line
            )

    def add_part(
        self, ref: str, line: int, value: str = "", library: str = "", shape: str = ""
    ) -> None:
        """Add a part of the list of parts.

        Raises
        ------
        ParseError
            If it is listed already.
        """
        entry = self.entry(ref, line)
        if entry.listed:
            raise self.error(f"found {ref} again, first in line {entry.line}", line)
        entry.listed = True
        entry.value, entry.library = value, library
        entry.footprint = "" if shape.casefold() in NO_FOOTPRINT else shape

    def add_net(self, name: str, line: int) -> None:
        """Add a net, with or without pins."""
        self._nets.setdefault(name)
        self.bounded(len(self._nets), line)

    def add_pin(self, net: str, ref: str, number: str, line: int) -> None:
        """Add a pin to a net.

        Raises
        ------
        ParseError
            If it is in another net already.
        """
        self.add_net(net, line)
        pins = self.entry(ref, line).pins
        known = pins.get(number)
        if known is None:
            known = pins[number] = _Pin(net, line)
            self._pins += 1
            self.bounded(max(self._pins, len(self._nets)), line)
        if known.net != net:
            raise self.error(
                f"found {ref}.{number} in net {net}, but line {known.line} has it in "
                f"net {known.net}",
                line,
            )

    def split(self, text: str, mark: str, line: int) -> tuple[str, str]:
        """Part ``C1-2`` into ref and pin; both may hold the mark.

        The last mark counts, unless only another leaves a ref of the list.

        Raises
        ------
        ParseError
            If there is no mark, or nothing before or after it.
        """
        ref, found, number = text.rpartition(mark)
        if not (found and ref and number):
            raise self.error(
                f"found {text[:40]!r}, expected a pin as in 'C1{mark}2'", line
            )
        if ref in self._parts:
            return ref, number
        at = text.rfind(mark, 0, len(ref))
        tries = 0
        while at > 0 and tries < 8:
            if text[:at] in self._parts:
                return text[:at], text[at + 1 :]
            at = text.rfind(mark, 0, at)
            tries += 1
        return ref, number

    def board(self, format: str, version: str) -> Board:
        """Return the board.

        Notes
        -----
        A part that only the nets know is kept and counted in ``unused``.
        """
        return make_board(
            name=self.path.name.split(".", 1)[0],
            format=format,
            version=version,
            parts=self._made(),
            net_order=self._nets,
            unused=self.unused.values(),
        )

    def _made(self) -> Iterable[Part]:
        parts = []
        for ref, entry in self._parts.items():
            if not entry.listed:
                what = "part in the nets that is not in the list of parts"
                self.pass_over(what, entry.line)
            parts.append(
                Part(
                    ref,
                    entry.value,
                    tuple(
                        Pin(ref, number, pin.net, pin.name)
                        for number, pin in entry.pins.items()
                    ),
                    library=entry.library,
                    footprint=entry.footprint,
                    fields=tuple(entry.fields.items()),
                )
            )
        return parts
